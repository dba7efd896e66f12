import { planHolding } from "../holding/index.ts";
import type { SideName } from "../holding/types.ts";
import { makeNeck } from "../neck/index.ts";
import { planCuts } from "../paths/index.ts";
import type { CutPlan } from "../paths/types.ts";
import { proveSide } from "../proof/index.ts";
import type { ProofInput, SideProof } from "../proof/types.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { rememberCuts } from "./cache/cuts.ts";
import type { Keeper } from "./cache/keeper.ts";

/*
 * The work that goes to other threads. Inputs and outputs are plain data: a neck has functions, so each thread makes its own
 * from the order, which gives the same neck.
 */

export interface PlanInput {
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
  readonly side: SideName;
}

export interface ProveInput extends Omit<ProofInput, "neck" | "progress"> {
  readonly order: OrderSpec;
  readonly side: SideName;
}

type Report = (share: number, says: string) => void;

/** The cuts of one side. */
function plan({ order, shop, side }: PlanInput, progress: Report, keeper: Keeper | null): CutPlan {
  const neck = makeNeck(order);
  const remember = keeper === null ? {} : { remember: rememberCuts(keeper) };
  return planCuts(neck, planHolding(neck, shop.machine), shop, { sides: [side], progress, ...remember });
}

/** The proof of one side, from the text of its programs. */
function prove({ order, side, ...rest }: ProveInput, progress: Report): SideProof {
  return proveSide({ ...rest, neck: makeNeck(order), progress }, side);
}

export interface Tasks {
  readonly plan: (input: PlanInput, progress: Report, keeper: Keeper | null) => CutPlan;
  readonly prove: (input: ProveInput, progress: Report, keeper: Keeper | null) => SideProof;
}

export type TaskName = keyof Tasks;
export type TaskInput<K extends TaskName> = Parameters<Tasks[K]>[0];
export type TaskOutput<K extends TaskName> = ReturnType<Tasks[K]>;

export const TASKS: Tasks = { plan, prove };
