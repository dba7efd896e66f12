import { neckBudget } from "../holding/budget/neck.ts";
import type { OutcomeBudget } from "../holding/budget/types.ts";
import { readScribe, readTouched, type Scribed } from "../holding/correct/scribe.ts";
import type { StationReading } from "../holding/correct/types.ts";
import { planHolding } from "../holding/index.ts";
import { type BlankPlacement, bestInBlank, type InBlank, marginInBlank, upOf } from "../holding/placement/neck.ts";
import { makeNeck } from "../neck/index.ts";
import type { Neck } from "../neck/types.ts";
import { setInJson } from "../spec/set-json.ts";
import { writeCorrections } from "../spec/write.ts";
import { type Finding, isStop } from "../units/index.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { type OrderCorrection, placementEntry } from "./readings.ts";
import { type Rewrite, rewriteBy } from "./rewrite.ts";
import { readOrder, readShop, type Source } from "./source.ts";

export type { StationReading };

interface Opened {
  readonly neck: Neck;
  readonly at: InBlank;
}

/** The neck of an order and where its blank has it. Throws InputError on an order that cannot be read. */
function open(order: Source, shop: Source): Opened & { readonly machine: Parameters<typeof planHolding>[1] } {
  const o = readOrder(order);
  const s = readShop(shop);
  const first = [...o.findings, ...s.findings].find(isStop);
  if (o.value === null)
    throw new InputError(order.path, first?.says ?? "this order cannot be read", "run check on it and mend what it finds");
  if (s.value === null)
    throw new InputError(shop.path, first?.says ?? "this shop cannot be read", "run check with it and mend what it finds");
  const neck = makeNeck(o.value);
  const { machine } = s.value;
  const plan = planHolding(neck, machine);
  return { neck, machine, at: { rotation: 0, ...plan.placement } };
}

export interface PlaceResult {
  readonly needed: number;
  readonly at: InBlank;
  readonly now: number;
  readonly along: BlankPlacement;
  readonly turned: BlankPlacement;
}

/** Where the neck lies in the order's blank, and where it would lie best: along the datum edge, and turned as far as the grain lets it. */
export function placeInBlank(order: Source, shop: Source): PlaceResult {
  const { neck, at } = open(order, shop);
  return {
    needed: neck.order.blank.margin,
    at,
    now: marginInBlank(neck, at).margin,
    along: bestInBlank(neck, true),
    turned: bestInBlank(neck, false),
  };
}

/** What distances measured after the scribe say. Throws InputError with the sentence when they cannot be. */
export function placeScribed(
  order: Source,
  shop: Source,
  readings: readonly StationReading[],
): { readonly needed: number; readonly at: InBlank; readonly found: Scribed } {
  const { neck, at } = open(order, shop);
  const found = readScribe(neck, at, readings);
  if (!found.ok) throw new InputError("--at", found.says.replace(/\.$/, ""), found.tryThis);
  return { needed: neck.order.blank.margin, at, found: found.value };
}

/** What three touch-offs say, in the board side's program frame. Throws InputError with the sentence when they cannot be. */
export function placeTouched(
  order: Source,
  shop: Source,
  touches: readonly (readonly [number, number])[],
): {
  readonly needed: number;
  readonly at: InBlank;
  readonly found: Pick<Scribed, "now" | "slid" | "turned">;
} {
  const { neck, at, machine } = open(order, shop);
  const up = upOf(neck);
  // the program's frame as the blank sees it: a machine whose long axis is y has it turned by a quarter
  const seen = touches.map(([x, y]): readonly [number, number] => (machine.along === "y" ? [y, -up * x] : [x, up * y]));
  const found = readTouched(neck, at, seen);
  if (!found.ok) throw new InputError("--touch", found.says.replace(/\.$/, ""), found.tryThis);
  return { needed: neck.order.blank.margin, at, found: found.value };
}

/**
 * Adds the placement to the order's corrections, with date and reason; nothing else in the file changes. It is checked that the new
 * text is read as an order with the neck there; the file is written whole or not at all.
 */
export async function storePlacement(
  order: Source,
  to: InBlank,
  said: { readonly date: string; readonly reason: string },
  disk: Disk | Rewrite,
): Promise<void> {
  const before = readOrder(order);
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(order.bytes);
  const entry = { ...placementEntry(to), ...said } as OrderCorrection & { readonly kind: "placement" };
  const entries = writeCorrections([...(before.value?.corrections ?? []), entry]);
  const bytes = new TextEncoder().encode(setInJson(text, ["corrections"], entries));
  const after = readOrder({ ...order, bytes });
  if (after.value === null || after.value.blank.tipFromEnd !== entry.tipFromEnd)
    throw new InputError(
      order.path,
      after.findings.find(isStop)?.says ?? "the corrected order cannot be read",
      "mend the order first; it was left as it is",
    );
  await rewriteBy(disk)(order, bytes);
}

/** Marks the last correction of the order that counts as undone; gives back its reason, or null when there is none. */
export async function undoCorrection(order: Source, date: string, disk: Disk | Rewrite): Promise<string | null> {
  const entries = readOrder(order).value?.corrections ?? [];
  const last = entries.findLastIndex((e) => e.undone === undefined);
  if (last < 0) return null;
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(order.bytes);
  const marked = writeCorrections(entries.map((e, k) => (k === last ? { ...e, undone: date } : e)));
  const bytes = new TextEncoder().encode(setInJson(text, ["corrections"], marked));
  await rewriteBy(disk)(order, bytes);
  return entries[last].reason;
}

/** The error budget of an order in a shop. */
export function budgetOfJob(
  order: Source,
  shop: Source,
): { readonly outcomes: readonly OutcomeBudget[]; readonly findings: readonly Finding[] } {
  const { neck, machine } = open(order, shop);
  return neckBudget(neck, machine);
}
