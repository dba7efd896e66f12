import { planHolding } from "../holding/index.ts";
import type { SideName } from "../holding/types.ts";
import { makeNeck } from "../neck/index.ts";
import { cutsAhead, type PlannedCut, planCuts } from "../paths/index.ts";
import type { CutPlan } from "../paths/types.ts";
import {
  beginSide,
  type Comparison,
  cuspOf,
  emptyMap,
  joinParts,
  joinRemoved,
  joinSide,
  type Measured,
  PARTS,
  type Proof,
  proveBoth,
} from "../proof/index.ts";
import type { ProofInput, ProofProgram, SideProof } from "../proof/types.ts";
import type { CutterSpec, OrderSpec, ShopSpec } from "../spec/types.ts";
import type { ProofFile } from "./files.ts";
import { cutterOf, jobCutter } from "./job-file.ts";
import type { Pool, Progress } from "./pool.ts";
import type { CutInput, GivenSlabs, RemovedBand } from "./tasks.ts";

const SIDES: readonly SideName[] = ["board", "carve"];

/** The cuts of both sides in the order of work: each planned on its own, several at the same time, and then put together. */
export async function planBothSides(order: OrderSpec, shop: ShopSpec, pool: Pool, progress: Progress): Promise<CutPlan> {
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const ahead = cutsAhead(neck, SIDES);
  const total = ahead.reduce((sum, c) => sum + c.weight, 0);
  let done = 0;
  const planned = new Map<string, PlannedCut>();
  await Promise.all(
    ahead.map(async ({ name, weight }) => {
      const side = SIDES.find((s) => name.startsWith(s))!;
      const cut = await plannedCut({ order, shop, side, name }, pool);
      planned.set(name, cut);
      done += weight;
      progress(done / total, cut.cut === null ? `${side} side` : cut.cut.title);
    }),
  );
  return planCuts(neck, holding, shop, { remember: (name, ctx, _side, plan) => planned.get(name) ?? plan(ctx) });
}

/** One cut; slabs of its clearings that need not wait for each other are planned at the same time. */
async function plannedCut(cut: Omit<CutInput, "given">, pool: Pool): Promise<PlannedCut> {
  const given: GivenSlabs[] = [];
  for (;;) {
    // what goes on with slabs goes before cuts that have not begun
    const got = await pool.run("cut", { ...cut, given }, undefined, given.length > 0);
    if ("planned" in got) return got.planned;
    const { key, count, first } = got;
    // of the first the others need no passes
    const bare = { ...first, stretches: [] };
    const others = Array.from({ length: count - 1 }, (_, k) =>
      pool.run("slab", { ...cut, key, number: k + 2, first: bare }, undefined, true),
    );
    given.push({ key, slabs: [first, ...(await Promise.all(others))] });
  }
}

export const cuttersUsed = (groups: readonly { readonly cutter: number }[], shop: ShopSpec): CutterSpec[] => {
  const used = new Set(groups.map((g) => g.cutter));
  return shop.cutters.filter((c) => used.has(c.number)).sort((a, b) => a.number - b.number);
};

export interface ProveSidesInput extends Pick<ProofInput, "sides" | "programs" | "steps" | "cusps" | "engagement" | "cell"> {
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
}

/** Shares of a side's proof, in parts of its whole: as measured on the demo order. */
const SHARES = { remove: 0.45, measure: 0.3, compare: 0.25 } as const;

/** The proof of single sides from the text of the programs, in pieces that the pool's threads take as they come free. */
export async function proveSides(
  input: ProveSidesInput,
  pool: Pool,
  progress: Progress,
  which: readonly SideName[] = SIDES,
): Promise<readonly SideProof[]> {
  const { order, shop, sides, programs, steps, cusps, engagement, cell } = input;
  const cutters = cuttersUsed(programs, shop).map((c) => cutterOf(jobCutter(c), c));
  const neck = makeNeck(order);
  const shares = new Map<string, number>();
  const tell = (side: SideName, piece: keyof typeof SHARES, at: string, share: number, says: string): void => {
    shares.set(`${side} ${piece} ${at}`, share * SHARES[piece]);
    progress([...shares.values()].reduce((a, b) => a + b, 0) / which.length, `${side} side, ${says}`);
  };
  return Promise.all(
    which.map(async (side) => {
      // the carve side is cut last, so its proof looks at both sides' programs
      const one = {
        machine: shop.machine,
        cutters,
        sides,
        programs: side === "board" ? textOf(programs, side) : programs,
        steps,
        cusps,
        ...(engagement && { engagement }),
        cell,
      };
      const { findings, bad } = beginSide({ ...one, neck }, side);
      const stated = sides.find((s) => s.name === side);
      if (bad || stated === undefined) return joinSide(side, findings, null, null, null);
      const mine = programs.filter((p) => p.side === side);
      const alone = {
        order,
        side,
        machine: shop.machine,
        cutters: cutters.filter((c) => mine.some((p) => p.cutter === c.number)),
        sides: [stated],
        programs: mine,
        steps: steps.filter((s) => ("program" in s ? mine.some((p) => p.file === s.program) : s.side === side)),
        cell,
      };
      const measure = (): Promise<Measured | null> =>
        pool.run("measure", { order, side, ...one }, (share, says) => tell(side, "measure", "", share, says));
      const { map, bands } = emptyMap(stated, cell, (bytes) => new SharedArrayBuffer(bytes));
      const remove = (): Promise<readonly RemovedBand[]> =>
        Promise.all(
          Array.from({ length: bands }, async (_, band) => {
            const of = (share: number, says: string): void => tell(side, "remove", String(band), share / bands, says);
            const cut = await pool.run("remove", { ...alone, band, into: map.z }, (share, says) => of(share / 0.8, says));
            of(1, "cut");
            return cut;
          }),
        );
      // in turn about, so that of two threads one measures and one removes: each runs in what it has run already
      const early = which.indexOf(side) % 2 === 0 ? measure() : null;
      const cutting = remove();
      const measuring = early ?? measure();
      const removing = cutting.then((cut) => {
        const removed = joinRemoved(
          stated,
          cell,
          map,
          cut.map((c) => c.cut),
        );
        return { removed, made: cut.map((c) => c.made).join(" ") };
      });
      const comparing = removing.then(async ({ removed, made }): Promise<Comparison | null> => {
        if (!removed.whole) return null;
        const { filled } = removed;
        const deviation = new Float32Array(new SharedArrayBuffer(map.z.byteLength)).fill(Number.NaN);
        const cusp = cuspOf({ ...one, neck }, side);
        const parts = Array.from({ length: PARTS }, async (_, part) => {
          const tallies = await pool.run("compare", { order, side, stated, cusp, map, filled, made, part, deviation });
          tell(side, "compare", String(part), 1 / PARTS, "comparing with the neck");
          return tallies;
        });
        return joinParts(neck, side, await Promise.all(parts), deviation);
      });
      const [{ removed }, measured, compared] = await Promise.all([removing, measuring, comparing]);
      return joinSide(side, findings, removed, measured, compared);
    }),
  );
}

/** The proof of both sides, and of what only both together show. */
export async function proveAll(input: ProveSidesInput, pool: Pool, progress: Progress): Promise<Proof> {
  const sides = await proveSides(input, pool, progress);
  const both = proveBoth({ neck: makeNeck(input.order), sides: input.sides, cusps: input.cusps, programs: input.programs }, sides);
  return { sides, measures: both.measures, findings: [...sides.flatMap((s) => s.findings), ...both.findings] };
}

/** Of the other side's programs everything but their text. */
const textOf = (programs: readonly ProofProgram[], side: SideName): readonly ProofProgram[] =>
  programs.map((p) => (p.side === side ? p : { ...p, text: new Uint8Array(0) }));

export function proofFile(order: { readonly name: string; readonly sha256: string }, cell: number, proof: Proof): ProofFile {
  return {
    format: "neckwright-proof/1",
    units: "mm",
    order,
    cell,
    sound: !proof.findings.some((f) => f.severity === "stop"),
    sides: proof.sides.map((s) => ({ side: s.side, programs: s.programs, regions: s.regions, measures: s.measures })),
    both: { measures: proof.measures },
    findings: proof.findings,
  };
}
