import { planHolding } from "../holding/index.ts";
import type { Holding, SideName } from "../holding/types.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import { makeNeck } from "../neck/index.ts";
import type { Neck } from "../neck/types.ts";
import { type Context, contextOf, inTurn, type PlannedCut, planCut, type Slab, type SlabsAhead } from "../paths/index.ts";
import {
  type BandCut,
  compareSidePart,
  frameOf,
  type Measured,
  measureSide,
  partOf,
  putPart,
  removeBand,
  type Tally,
} from "../proof/index.ts";
import type { ProofInput, ProofSide } from "../proof/types.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { rememberCuts, rememberOfNeck } from "./cache/cuts.ts";
import { digest } from "./cache/digest.ts";
import type { Keeper } from "./cache/keeper.ts";
import { type Packed, pack, unpack } from "./cache/pack.ts";
import type { Exported, ExportKind } from "./export.ts";
import type { Paper, PaperInput, Papers } from "./papers.ts";
import type { Source } from "./source.ts";

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
  /** Slabs of its clearings that were planned already. */
  readonly given: readonly GivenSlabs[];
}

export interface GivenSlabs {
  readonly key: string;
  readonly slabs: readonly Slab[];
}

/** The cut, or what it waits for: slabs that may be planned at the same time, all but the first of them. */
export type CutOutput = { readonly planned: PlannedCut } | { readonly key: string; readonly count: number; readonly first: Slab };

/** Slab `number` of the clearing `key` of a cut. */
export interface SlabInput extends Omit<CutInput, "given"> {
  readonly key: string;
  readonly number: number;
  readonly first: Slab;
}

/** What the programs of one side leave of one band of its wood: that side alone, its programs and its steps. */
export interface RemoveInput extends Omit<ProofInput, "neck" | "progress" | "cusps" | "engagement"> {
  readonly order: OrderSpec;
  readonly side: SideName;
  readonly band: number;
  /** Shared: the heights of the whole side; every band writes its own rows. */
  readonly into: Float32Array;
}

/** What is measured from the moves of a side; of the other side's programs their text too where it is looked at. */
export interface MeasureInput extends Omit<ProofInput, "neck" | "progress"> {
  readonly order: OrderSpec;
  readonly side: SideName;
}

/** One of the parts in which what is left is compared with the neck. */
export interface CompareInput {
  readonly order: OrderSpec;
  readonly side: SideName;
  /** As the job states it. */
  readonly stated: ProofSide;
  readonly cusp: number;
  readonly map: HeightMap;
  readonly filled: readonly string[];
  /** Hash of what the map was made from. */
  readonly made: string;
  readonly part: number;
  /** Shared: every part writes its own cells. */
  readonly deviation: Float32Array;
}

type Report = (share: number, says: string) => void;

/** What the cuts of one order have in common; a worker plans many of them. */
let begun: { readonly key: string; readonly holding: Holding; readonly contexts: ReadonlyMap<SideName, Context> } | null = null;

function beginning(order: OrderSpec, shop: ShopSpec): NonNullable<typeof begun> {
  const key = digest([order, shop]);
  if (begun?.key !== key) {
    const neck = makeNeck(order);
    const holding = planHolding(neck, shop.machine, shop.cutters);
    const sides = ["board", "carve"] as const;
    begun = { key, holding, contexts: new Map(sides.map((side) => [side, contextOf(neck, holding.sides[side], shop)])) };
  }
  return begun;
}

/** Leaves the planning of a cut with what it has met. */
class Met {
  readonly ahead: SlabsAhead;
  constructor(ahead: SlabsAhead) {
    this.ahead = ahead;
  }
}

/** Fewer slabs than this are planned with the cut: of two the second waits for the first. */
const FEW_SLABS = 3;

/** The slabs that a cut of this thread has met last: their fields are ready. */
let met: { readonly of: string; readonly ahead: SlabsAhead } | null = null;

const cutKey = ({ order, shop, side, name }: Omit<CutInput, "given">): string => digest([order, shop, side, name]);

/** Plans a cut up to where `leave` says that its slabs are met; null when it comes to its end. */
function upTo(
  input: Omit<CutInput, "given">,
  given: readonly GivenSlabs[],
  leave: (ahead: SlabsAhead) => boolean,
  keeper: Keeper | null,
): PlannedCut | SlabsAhead {
  const { order, shop, side, name } = input;
  const { holding, contexts } = beginning(order, shop);
  const slabs = (ahead: SlabsAhead): readonly Slab[] => {
    const there = given.find((g) => g.key === ahead.key);
    if (there !== undefined) return there.slabs;
    if (leave(ahead)) throw new Met(ahead);
    return inTurn(ahead);
  };
  try {
    return planCut(name, { ...contexts.get(side)!, slabs }, holding.sides[side], keeper === null ? undefined : rememberCuts(keeper));
  } catch (e) {
    if (e instanceof Met) return e.ahead;
    throw e;
  }
}

function cut(input: CutInput, _progress: Report, keeper: Keeper | null): CutOutput {
  const found = upTo(input, input.given, (ahead) => ahead.count >= FEW_SLABS, keeper);
  if ("findings" in found) {
    met = null;
    return { planned: found };
  }
  met = { of: cutKey(input), ahead: found };
  return { key: found.key, count: found.count, first: found.plan(1, null) };
}

function slab(input: SlabInput): Slab {
  const { key, number, first } = input;
  const of = cutKey(input);
  if (met?.of !== of || met.ahead.key !== key) {
    // the clearing of this key and no other: a second cutter's has another
    const found = upTo(input, [], (ahead) => ahead.key === key, null);
    if ("findings" in found) throw new Error(`the cut ${input.name} has no clearing ${key}`);
    met = { of, ahead: found };
  }
  return met.ahead.plan(number, first);
}

function remove({ order, side, band, into, ...rest }: RemoveInput, progress: Report, keeper: Keeper | null): RemovedBand {
  const neck = makeNeck(order);
  // of the neck only what hand steps fill is looked at
  const fills = rest.steps.some((s) => "hand" in s && s.fills.length > 0) ? [neck.features.markers, neck.features.rod] : null;
  const key = keeper === null ? "" : digest([side, band, rest, fills]);
  const found = keeper?.get<PackedBand>("removed", key) ?? null;
  if (found !== null) {
    into.set(unpack(found.heights), found.cut.cells[0]);
    return { cut: found.cut, made: key };
  }
  const cut = removeBand({ ...rest, neck, cusps: {}, progress }, side, band, into);
  keeper?.put("removed", key, { cut, heights: pack(into.subarray(...cut.cells)) } satisfies PackedBand);
  return { cut, made: key };
}

/** With the hash of what it was made from; empty without a cache. */
export interface RemovedBand {
  readonly cut: BandCut;
  readonly made: string;
}

interface PackedBand {
  readonly cut: BandCut;
  readonly heights: Packed;
}

function measure({ order, side, ...rest }: MeasureInput, progress: Report, keeper: Keeper | null): Measured | null {
  const key = keeper === null ? "" : digest([order, side, rest]);
  const found = keeper?.get<Measured>("measured", key) ?? null;
  if (found !== null) return found;
  const measured = measureSide({ ...rest, neck: makeNeck(order), progress }, side);
  keeper?.put("measured", key, measured);
  return measured;
}

let last: { readonly key: string; readonly neck: Neck } | null = null;

/** The neck of the order that was asked for last is kept: many small tasks begin with it. */
function neckOf(order: OrderSpec): Neck {
  const key = digest(order);
  if (last?.key !== key) last = { key, neck: makeNeck(order) };
  return last.neck;
}

function compare(input: CompareInput, _progress: Report, keeper: Keeper | null): readonly Tally[] {
  const { order, side, stated, cusp, map, filled, made, part, deviation } = input;
  const neck = neckOf(order);
  const run = (n: Neck): readonly Tally[] => compareSidePart(n, stated, cusp, map, filled, part, deviation);
  if (keeper === null) return run(neck);
  let anew = false;
  const { tallies, cells } = rememberOfNeck(keeper, "compared", [side, stated, cusp, filled, made, part], neck, (n) => {
    anew = true;
    return { tallies: run(n), cells: pack(partOf(frameOf(stated), map, part, deviation)) };
  });
  if (!anew) putPart(frameOf(stated), map, part, deviation, unpack(cells));
  return tallies;
}

/** The sheets are loaded with the first of them: planning and proof do without. */
async function paper(input: PaperInput): Promise<Papers> {
  const { paperHalf: make } = await import("./paper-half.ts");
  return make(input, neckOf(input.order));
}

export interface ExportedInput {
  readonly order: Source;
  readonly shop: Source | null;
  readonly kinds: readonly ExportKind[];
  readonly paper: Paper;
}

/** Writers of sheets and solids are loaded where something is exported. */
async function exported(input: ExportedInput): Promise<Exported> {
  const { exportOrder } = await import("./export.ts");
  return exportOrder(input.order, input.shop, input.kinds, input.paper);
}

/** All take plain data and give plain data, some of them later. */
export interface Tasks {
  readonly cut: (input: CutInput, progress: Report, keeper: Keeper | null) => CutOutput;
  readonly slab: (input: SlabInput) => Slab;
  readonly remove: (input: RemoveInput, progress: Report, keeper: Keeper | null) => RemovedBand;
  readonly measure: (input: MeasureInput, progress: Report, keeper: Keeper | null) => Measured | null;
  readonly compare: (input: CompareInput, progress: Report, keeper: Keeper | null) => readonly Tally[];
  readonly paper: (input: PaperInput, progress: Report, keeper: Keeper | null) => ReturnType<typeof paper>;
  readonly exported: (input: ExportedInput) => Promise<Exported>;
}

export type TaskName = keyof Tasks;
export type TaskInput<K extends TaskName> = Parameters<Tasks[K]>[0];
export type TaskOutput<K extends TaskName> = Awaited<ReturnType<Tasks[K]>>;

export const TASKS: Tasks = { cut, slab, remove, measure, compare, paper, exported };
