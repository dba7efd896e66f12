import { planHolding } from "../holding/index.ts";
import type { SideName } from "../holding/types.ts";
import { makeNeck } from "../neck/index.ts";
import { cutsAhead, type PlannedCut, planCuts } from "../paths/index.ts";
import type { CutPlan } from "../paths/types.ts";
import { type Proof, proveBoth } from "../proof/index.ts";
import type { ProofInput, ProofProgram, SideProof } from "../proof/types.ts";
import type { CutterSpec, OrderSpec, ShopSpec } from "../spec/types.ts";
import { digest } from "./cache/digest.ts";
import { type PackedSide, packSide, unpackSide } from "./cache/pack.ts";
import type { ProofFile } from "./files.ts";
import { cutterOf, jobCutter } from "./job-file.ts";
import type { Pool, Progress } from "./pool.ts";

const SIDES: readonly SideName[] = ["board", "carve"];

/** The cuts of both sides in the order of work: each planned on its own, several at the same time, and then put together. */
export async function planBothSides(order: OrderSpec, shop: ShopSpec, pool: Pool, progress: Progress): Promise<CutPlan> {
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine);
  const ahead = cutsAhead(neck, SIDES);
  const total = ahead.reduce((sum, c) => sum + c.weight, 0);
  let done = 0;
  const planned = new Map<string, PlannedCut>();
  await Promise.all(
    ahead.map(async ({ name, weight }) => {
      const side = SIDES.find((s) => name.startsWith(s))!;
      const cut = await pool.run("cut", { order, shop, side, name });
      planned.set(name, cut);
      done += weight;
      progress(done / total, cut.cut === null ? `${side} side` : cut.cut.title);
    }),
  );
  return planCuts(neck, holding, shop, { remember: (name) => planned.get(name)! });
}

/** Joins the shares of two tasks into one. */
function bothShares(progress: Progress): (k: number) => Progress {
  const shares = SIDES.map(() => 0);
  return (k) => (share, says) => {
    shares[k] = share;
    progress(shares.reduce((a, b) => a + b, 0) / SIDES.length, says);
  };
}

export const cuttersUsed = (groups: readonly { readonly cutter: number }[], shop: ShopSpec): CutterSpec[] => {
  const used = new Set(groups.map((g) => g.cutter));
  return shop.cutters.filter((c) => used.has(c.number)).sort((a, b) => a.number - b.number);
};

export interface ProveSidesInput extends Pick<ProofInput, "sides" | "programs" | "steps" | "cusps" | "engagement" | "cell"> {
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
}

/** The proof of single sides from the text of the programs, one task for each. */
export async function proveSides(
  input: ProveSidesInput,
  pool: Pool,
  progress: Progress,
  which: readonly SideName[] = SIDES,
): Promise<readonly SideProof[]> {
  const { order, shop, sides, programs, steps, cusps, engagement, cell } = input;
  const both = bothShares(progress);
  const cutters = cuttersUsed(programs, shop).map((c) => cutterOf(jobCutter(c), c));
  // the carve side is cut last, so its proof looks at both sides' programs
  const inputs = which.map((side) => ({
    order,
    side,
    machine: shop.machine,
    cutters,
    sides,
    programs: side === "board" ? textOf(programs, side) : programs,
    steps,
    cusps,
    ...(engagement && { engagement }),
    cell,
  }));
  const { keeper } = pool;
  return Promise.all(
    inputs.map(async (one, k) => {
      // a proof is taken again only for the same bytes of every program, and the same everything else
      const key = keeper === null ? "" : digest(one);
      const found = keeper?.get<PackedSide>("side", key) ?? null;
      if (found !== null) {
        both(k)(1, `${which[k]} side, as proved before`);
        return unpackSide(found);
      }
      const proof = await pool.run("prove", one, (share, says) => both(k)(share, `${which[k]} side, ${says}`));
      keeper?.put("side", key, packSide(proof));
      return proof;
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
