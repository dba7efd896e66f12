import { planHolding } from "../holding/index.ts";
import type { Holding, SideName } from "../holding/types.ts";
import { makeNeck } from "../neck/index.ts";
import { type Context, contextOf, type PlannedCut, planCut } from "../paths/index.ts";
import { proveSide } from "../proof/index.ts";
import type { ProofInput, SideProof } from "../proof/types.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { rememberCuts } from "./cache/cuts.ts";
import { digest } from "./cache/digest.ts";
import type { Keeper } from "./cache/keeper.ts";

/*
 * The work that goes to other threads. Inputs and outputs are plain data: a neck has functions, so each thread makes its own
 * from the order, which gives the same neck.
 */

/** One cut, by the name that `cutsAhead` gives it. */
export interface CutInput {
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
  readonly side: SideName;
  readonly name: string;
}

export interface ProveInput extends Omit<ProofInput, "neck" | "progress"> {
  readonly order: OrderSpec;
  readonly side: SideName;
}

type Report = (share: number, says: string) => void;

/** What the cuts of one order have in common; a worker plans many of them. */
let begun: { readonly key: string; readonly holding: Holding; readonly contexts: ReadonlyMap<SideName, Context> } | null = null;

function beginning(order: OrderSpec, shop: ShopSpec): NonNullable<typeof begun> {
  const key = digest([order, shop]);
  if (begun?.key !== key) {
    const neck = makeNeck(order);
    const holding = planHolding(neck, shop.machine);
    const sides = ["board", "carve"] as const;
    begun = { key, holding, contexts: new Map(sides.map((side) => [side, contextOf(neck, holding.sides[side], shop)])) };
  }
  return begun;
}

function cut({ order, shop, side, name }: CutInput, _progress: Report, keeper: Keeper | null): PlannedCut {
  const { holding, contexts } = beginning(order, shop);
  return planCut(name, contexts.get(side)!, holding.sides[side], keeper === null ? undefined : rememberCuts(keeper));
}

/** The proof of one side, from the text of its programs. */
function prove({ order, side, ...rest }: ProveInput, progress: Report): SideProof {
  return proveSide({ ...rest, neck: makeNeck(order), progress }, side);
}

export interface Tasks {
  readonly cut: (input: CutInput, progress: Report, keeper: Keeper | null) => PlannedCut;
  readonly prove: (input: ProveInput, progress: Report, keeper: Keeper | null) => SideProof;
}

export type TaskName = keyof Tasks;
export type TaskInput<K extends TaskName> = Parameters<Tasks[K]>[0];
export type TaskOutput<K extends TaskName> = ReturnType<Tasks[K]>;

export const TASKS: Tasks = { cut, prove };
