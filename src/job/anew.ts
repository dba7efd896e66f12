import { showsOf } from "../cutting/conditions.ts";
import { neckBudget } from "../holding/budget/neck.ts";
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { fitRecesses } from "../paths/index.ts";
import type { CutPlan } from "../paths/types.ts";
import type { Proof } from "../proof/index.ts";
import type { ProofProgram, SideProof } from "../proof/types.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { InputError, throwIfCancelled } from "./errors.ts";
import { jobFeatures } from "./features.ts";
import { type JobFile, type JobProgram, jsonBytes, type ProofFile } from "./files.ts";
import { sha256 } from "./hash.ts";
import { clearOf, cuspsOf, engagementOf, jobCutter, jobSides } from "./job-file.ts";
import type { Built, Made, MakeOptions } from "./make.ts";
import { papers } from "./papers.ts";
import { countBlocks, groupCuts } from "./programs.ts";
import { cuttersUsed, planBothSides, proofFile, proveAll } from "./sides.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import { judge, unusedOverrides } from "./verdict.ts";
import type { OutFile } from "./write.ts";
import { writePrograms } from "./write-programs.ts";

/** All the stages, one after the other. */
export async function makeAnew(orderSource: Source, shopSource: Source, options: MakeOptions): Promise<Made> {
  const progress = options.progress ?? (() => undefined);
  progress(0, "reading the order");
  const order = readOrder(orderSource);
  const shop = readShop(shopSource);
  const findings: Finding[] = [...order.findings, ...shop.findings];
  if (order.value === null || shop.value === null) {
    return { files: null, job: null, proof: null, findings, blocking: findings, overridden: [] };
  }
  options.pool.warm();
  const asked = fitRecesses(order.value, shop.value);
  findings.push(...asked.findings);
  const ordered = asked.order;
  const { overrides } = ordered;
  const stopped = (): boolean => judge(findings, overrides).blocking.length > 0;

  const neck = makeNeck(ordered);
  findings.push(...neck.findings);
  const holding = planHolding(neck, shop.value.machine, shop.value.cutters);
  findings.push(...holding.findings);
  const planning = stopped()
    ? null
    : planBothSides(ordered, shop.value, options.pool, (share, says) => progress(0.02 + 0.38 * share, `planning, ${says}`));
  // awaited below, also when something fails before
  planning?.catch(() => undefined);
  // while other threads plan. The sheets show the error budget: a limit that it says is likely to be broken stands among the findings too
  const budget = neckBudget(neck, shop.value.machine);
  findings.push(...budget.findings);

  let plan: CutPlan | null = null;
  if (planning !== null) {
    const planned = await planning;
    if (!stopped()) {
      plan = planned;
      findings.push(...plan.findings);
    }
  }
  throwIfCancelled(options.signal);

  let { groups, steps }: ReturnType<typeof groupCuts> = { groups: [], steps: [] };
  let programs: readonly ProofProgram[] = [];
  let proved: Proof | null = null;
  if (plan !== null && !stopped()) {
    ({ groups, steps } = groupCuts(plan));
    progress(0.4, "writing the programs");
    const written = writePrograms(groups, ordered, order.sha256, shop.value, holding);
    programs = written.programs;
    findings.push(...written.findings);
    proved = await proveAll(
      {
        order: ordered,
        shop: shop.value,
        // as job.json will state them, so that a later proof of the folder measures the same
        sides: jobSides(holding),
        programs,
        steps,
        cusps: cuspsOf(plan),
        engagement: engagementOf(plan),
        cell: options.cell,
      },
      options.pool,
      (share, says) => progress(0.42 + 0.5 * share, `proving, ${says}`),
    );
  }
  throwIfCancelled(options.signal);

  const proofFindings = proved?.findings ?? [];
  if (proved !== null) findings.push(...unusedOverrides([...findings, ...proofFindings], overrides));
  const name = { name: ordered.name, sha256: order.sha256 };
  const proof: ProofFile | null = proved === null ? null : proofFile(name, options.cell, proved);
  const jobPrograms = programs.flatMap((p) => jobProgram(p, proved?.sides ?? [], plan));

  progress(0.93, "drawing the sheets");
  const built: Built = {
    order: ordered,
    shop: shop.value,
    orderHash: order.sha256,
    neck,
    holding,
    budget: budget.outcomes,
    plan,
    steps,
    programs: jobPrograms,
    proof: proved,
  };
  const judged = judge([...findings, ...proofFindings], overrides);
  const paper = await papers(built, judged, options.paper, (input) => options.pool.run("paper", input));
  throwIfCancelled(options.signal);
  findings.push(...paper.findings);
  const verdict = judge([...findings, ...proofFindings], overrides);
  const isStopped = verdict.blocking.length > 0;
  if (!isStopped && jobPrograms.length !== programs.length) throw new Error("the proof is sound, but it has not run every program");
  const drawing = drawingFile(ordered, orderSource, paper.files);
  const outs: OutFile[] = [
    { path: "order.json", bytes: orderSource.bytes },
    ...drawing,
    { path: "shop.json", bytes: shopSource.bytes },
    ...(isStopped ? [] : programs.map((p) => ({ path: p.file, bytes: p.text }))),
    ...(proof === null ? [] : [{ path: "proof.json", bytes: jsonBytes(proof) }]),
    ...paper.files.filter((f) => !isStopped || !f.path.startsWith("sheets/")),
  ];
  const job: JobFile = {
    format: "neckwright-job/1",
    units: "mm",
    order: { ...name, ...(drawing.length > 0 ? { drawing: { file: drawing[0].path, sha256: sha256(drawing[0].bytes) } } : {}) },
    shop: { name: shop.value.name, sha256: shop.sha256 },
    stopped: isStopped,
    overridden: verdict.overridden,
    blank: holding.blank,
    placement: holding.placement,
    sides: jobSides(holding),
    cutters: cuttersUsed(groups, shop.value).map(jobCutter),
    programs: isStopped ? [] : jobPrograms,
    steps: isStopped ? [] : steps,
    work: explained(plan),
    cusps: plan === null ? {} : cuspsOf(plan),
    engagement: plan === null ? {} : engagementOf(plan),
    clear: plan === null ? [] : clearOf(plan),
    cell: options.cell,
    features: jobFeatures(neck),
    findings,
    files: outs.map((f) => ({ file: f.path, sha256: sha256(f.bytes) })),
  };
  outs.push({ path: "job.json", bytes: jsonBytes(job) });
  progress(1, "done");
  return { files: outs, job, proof, findings: verdict.findings, blocking: verdict.blocking, overridden: verdict.overridden };
}

/** The order's drawing, under the name by which the order asks for it. */
function drawingFile(order: OrderSpec, source: Source, others: readonly OutFile[]): OutFile[] {
  const path = order.headstock.outline?.drawing;
  if (path === undefined || source.drawing === undefined) return [];
  if (others.some((f) => f.path.toLowerCase() === path.toLowerCase())) {
    throw new InputError(path, "the job folder has a drawing of this name of its own", "give the order's drawing another name");
  }
  return [{ path, bytes: source.drawing }];
}

/** The cuts in the order of work, each with why it stands there. */
const explained = (plan: CutPlan | null): NonNullable<JobFile["work"]> =>
  (plan?.steps ?? []).flatMap((s) => {
    const cut = s.kind === "cut" ? plan?.cuts.find((c) => c.id === s.cut) : undefined;
    if (cut === undefined) return [];
    const { conditions: q } = cut;
    const asks = {
      depth: q.depth,
      step: q.step,
      rpm: q.rpm,
      feed: q.feed * 60,
      chip: q.chip,
      force: q.force,
      bend: showsOf(q),
      power: q.power,
      limitedBy: q.limitedBy,
    };
    return [{ cut: cut.id, title: cut.title, why: cut.why, cutter: cut.cutter, asks }];
  });

/** The program with the figures of the proof; none when the proof did not come as far as to run it. */
function jobProgram(p: ProofProgram, sides: readonly SideProof[], plan: CutPlan | null): JobProgram[] {
  return sides
    .flatMap((s) => s.programs)
    .filter((figure) => figure.file === p.file)
    .map((figure) => ({
      file: p.file,
      sha256: sha256(p.text),
      side: p.side,
      cutter: p.cutter,
      cuts: p.cuts,
      ...(p.section === undefined ? {} : { section: p.section }),
      feedLength: figure.feedLength,
      seconds: figure.seconds,
      bounds: { min: figure.min, max: figure.max },
      blocks: countBlocks(p.text),
      points: (plan?.cuts ?? []).reduce((n, c) => n + (p.cuts.includes(c.id) ? (c.points ?? c.moves.count) : 0), 0),
    }));
}
