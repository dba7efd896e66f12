import type { Finding } from "../units/index.ts";
import { finding } from "../units/index.ts";
import { issuesToFindings } from "./issues.ts";
import { readJson } from "./json.ts";
import { migrate } from "./migrate.ts";
import { checkOrder } from "./order-check.ts";
import { fillOrder } from "./order-defaults.ts";
import type { OrderFile } from "./order-file.ts";
import { ORDER_FILE } from "./order-schema.ts";
import { INSTRUMENT_OTHER } from "./rules.ts";
import type { OrderSpec } from "./types.ts";

/** A value with what was found, or findings of which at least one is a stop and no value could be made. */
export type Parsed<T> =
  | { readonly value: T; readonly findings: readonly Finding[] }
  | { readonly value?: undefined; readonly findings: readonly Finding[] };

/**
 * Reads an order file. With a value, the order is complete (defaults filled in, mm, radians) and the findings are those of the
 * order's own sense (some may be stops that a maker can override); without one, the file could not be understood.
 * Never throws, whatever the bytes.
 */
export function parseOrder(input: string | Uint8Array): Parsed<OrderSpec> {
  const read = readJson(input);
  if (read.value === undefined) return { findings: read.findings };
  const parsed = parseOrderObject(read.value);
  return { ...parsed, findings: [...read.findings, ...parsed.findings] };
}

/** The same for an order that is already an object (a form, another program). Only plain data is looked at. */
export function parseOrderObject(input: unknown): Parsed<OrderSpec> {
  const migrated = migrate("order", input);
  if (!migrated.ok) return { findings: [migrated.finding] };
  const result = ORDER_FILE.safeParse(migrated.doc, { reportInput: true });
  if (!result.success) return { findings: issuesToFindings(result.error.issues, ORDER_FILE) };
  const needed = neededOf(result.data.instrument, result.data.scale, result.data.strings?.count);
  if (needed.length > 0) return { findings: needed };
  const value = fillOrder(result.data);
  return { value, findings: checkOrder(value) };
}

function neededOf(instrument: OrderSpec["instrument"], scale: OrderFile["scale"], count: number | undefined): Finding[] {
  if (instrument !== "other") return [];
  const out: Finding[] = [];
  for (const [where, value] of [
    ["scale", scale],
    ["strings.count", count],
  ] as const) {
    if (value !== undefined) continue;
    out.push(
      finding(INSTRUMENT_OTHER, {
        where,
        value: null,
        limit: null,
        unit: where === "scale" ? "mm" : "",
        says: `An instrument "other" has no usual ${where}.`,
        tryThis: `Give ${where}, or choose guitar, bass or ukulele.`,
      }),
    );
  }
  return out;
}
