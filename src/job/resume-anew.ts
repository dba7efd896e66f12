import { whatIsWrong } from "../cutting/shape.ts";
import type { Cutter } from "../cutting/types.ts";
import { planHolding } from "../holding/index.ts";
import { planCuts } from "../paths/index.ts";
import { proveSide } from "../proof/index.ts";
import type { ProofProgram, SideProof } from "../proof/types.ts";
import { type Finding, isStop } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { cuspsOf, engagementOf } from "./job-file.ts";
import type { MadeJob } from "./made.ts";
import type { Prepared } from "./resume.ts";
import { writePrograms } from "./write-programs.ts";

/*
 * A cutter of another diameter cannot follow the old path. The cut that stopped, and what follows it in its program, are planned anew with
 * it, from their beginning; and the whole side is proved against the neck: as it was cut up to the stop, the new program, all that follows.
 */

export interface Anew {
  readonly program: ProofProgram;
  readonly proof: SideProof;
  readonly seconds: number;
  readonly findings: readonly Finding[];
}

/** The program up to a line, closed: what was cut of it before it stopped. */
export function cutShort(text: Uint8Array, line: number, safeZ: number, decimals: number): Uint8Array {
  let at = 0;
  for (let n = 1; n < line && at < text.length; at++) if (text[at] === 10) n++;
  const end = new TextEncoder().encode(`G0 Z${safeZ.toFixed(decimals)}\nM5\nM2\n`);
  const out = new Uint8Array(at + end.length);
  out.set(text.subarray(0, at));
  out.set(end, at);
  return out;
}

/** Plans, writes and proves; the cutter has a number of its own. Throws InputError, with the reason, where the cut cannot be made with this cutter. */
export function planAnew(
  made: MadeJob,
  open: Prepared,
  from: { readonly cut: number; readonly line: number },
  cutter: Cutter,
  file: string,
): Anew {
  const { shop, order, neck, job } = made;
  const { program, side, written } = open;
  const where = `--cutter ${cutter.number}`;
  const wrong = whatIsWrong(cutter);
  if (cutter.number === program.cutter)
    throw new InputError(
      where,
      "a cutter of another size has the number of the one that was in use",
      "give it a number of its own in the shop",
    );
  if (wrong !== null) throw new InputError(where, wrong.says, "give the cutter as it is");
  // it stands where the old one stood; the old one is not to be had any more
  const cutters = shop.cutters.filter((c) => c.number !== cutter.number).map((c) => (c.number === program.cutter ? cutter : c));
  const now = { ...shop, cutters };
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const plan = planCuts(neck, holding, now, { sides: [side.name] });
  const cuts = written.cuts.slice(from.cut).map((old) => {
    const cut = plan.cuts.find((c) => c.id === old.id);
    const said = plan.findings.filter((f) => isStop(f) && (f.where.includes(old.id) || cut === undefined)).map((f) => f.says);
    if (cut === undefined)
      throw new InputError(
        where,
        `with this cutter there is no way to make the cut ${old.id}. ${said.slice(0, 2).join(" ")}`.trim(),
        "take a cutter of the old size",
      );
    if (cut.cutter !== cutter.number)
      throw new InputError(
        where,
        `the cut ${old.id} cannot be made with this cutter (diameter ${cutter.diameter} mm); cutter ${cut.cutter} of the shop could make it`,
        `take cutter ${cut.cutter}, or one of the old size`,
      );
    return cut;
  });
  const group = {
    file,
    side: side.name,
    cutter: cutter.number,
    cuts,
    ...(program.section === undefined ? {} : { section: program.section }),
  };
  const posted = writePrograms([group], order, job.order.sha256, now, holding);
  const fresh = posted.programs[0];
  const before: ProofProgram = {
    ...program,
    file: `${program.file} up to line ${from.line}`,
    text: cutShort(program.text, from.line, side.safeZ, shop.machine.controller.decimals),
  };
  const others = made.programs.filter((p) => p.file !== program.file);
  const proof = proveSide(
    {
      neck,
      machine: shop.machine,
      cutters: [...made.cutters.filter((c) => c.number !== cutter.number), cutter],
      sides: job.sides,
      programs: [...others, before, fresh],
      steps: job.steps.flatMap((s) =>
        "program" in s && s.program === program.file ? [{ program: before.file }, { program: fresh.file }] : [s],
      ),
      cusps: { ...job.cusps, ...cuspsOf(plan) },
      engagement: { ...job.engagement, ...engagementOf({ cuts }) },
      cell: job.cell,
    },
    side.name,
  );
  const seconds = proof.programs.find((p) => p.file === fresh.file)?.seconds ?? 0;
  return {
    program: fresh,
    proof,
    seconds,
    findings: [...plan.findings.filter((f) => cuts.some((c) => f.where.includes(c.id))), ...posted.findings, ...proof.findings],
  };
}
