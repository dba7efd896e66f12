import type { Holding, SideName } from "../src/holding/types.ts";
import { rememberCuts } from "../src/job/cache/cuts.ts";
import { digest } from "../src/job/cache/digest.ts";
import { type Keeper, keeperOf } from "../src/job/cache/keeper.ts";
import { type PackedSide, packSide, unpackSide } from "../src/job/cache/pack.ts";
import { defaultCache, openCache } from "../src/job/cache/store.ts";
import type { Neck } from "../src/neck/types.ts";
import { type PlanOptions, planCuts } from "../src/paths/plan.ts";
import type { CutPlan } from "../src/paths/types.ts";
import { type Proof, proveBoth, proveSide } from "../src/proof/index.ts";
import type { ProofInput, SideProof } from "../src/proof/types.ts";
import type { ShopSpec } from "../src/spec/types.ts";

/*
 * Many tests begin with the plan or the proof of the same necks. `npm test` gives every run a new folder (NECKWRIGHT_CACHE) in which
 * each is made once; a test that must see it made itself uses planCuts and proveSide. Without such a folder all is made anew.
 */

const asked = process.env.NECKWRIGHT_CACHE === undefined ? null : defaultCache();
const keeper: Keeper | null = asked === null ? null : keeperOf(openCache(asked));

export function planKept(neck: Neck, holding: Holding, shop: ShopSpec, options: PlanOptions = {}): CutPlan {
  return planCuts(neck, holding, shop, keeper === null ? options : { ...options, remember: rememberCuts(keeper) });
}

export function proveSideKept(input: ProofInput, side: SideName): SideProof {
  if (keeper === null) return proveSide(input, side);
  const { neck, progress: _progress, ...rest } = input;
  const key = digest([neck.order, rest, side]);
  const found = keeper.get<PackedSide>("side", key);
  if (found !== null) return unpackSide(found);
  const proof = proveSide(input, side);
  keeper.put("side", key, packSide(proof));
  return proof;
}

export function proveKept(input: ProofInput): Proof {
  const sides = (["board", "carve"] as const).map((side) => proveSideKept(input, side));
  const both = proveBoth(input, sides);
  return { sides, measures: both.measures, findings: [...sides.flatMap((s) => s.findings), ...both.findings] };
}
