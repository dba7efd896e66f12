import * as z from "zod";
import { parseOrderObject } from "./order.ts";
import { ORDER_FILE } from "./order-schema.ts";
import { SHOP_FILE } from "./shop-schema.ts";
import { writeOrder } from "./write.ts";

/*
 * JSON Schemas (2020-12) of the two files, from the schemas that read them, with titles, units, ranges and reasons; and with
 * the defaults the program really uses: they are read off orders that say nothing but their instrument.
 */

export interface Node {
  readonly [key: string]: unknown;
  readonly type?: string | readonly string[];
  readonly title?: string;
  readonly description?: string;
  readonly unit?: string;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly enum?: readonly string[];
  readonly const?: unknown;
  readonly default?: unknown;
  /** Default by instrument, or in words. */
  readonly defaults?: Readonly<Record<string, unknown>> | string;
  readonly properties?: Readonly<Record<string, Node>>;
  readonly required?: readonly string[];
  readonly items?: Node;
  readonly anyOf?: readonly Node[];
}

const INSTRUMENTS = ["guitar", "bass", "ukulele"] as const;

/** The order that says nothing but its instrument, complete and in its file's form. */
function silentOrder(instrument: (typeof INSTRUMENTS)[number]): unknown {
  const parsed = parseOrderObject({ neckwright: "order/1", name: "silent", instrument });
  if (parsed.value === undefined) throw new Error(`The defaults of ${instrument} do not make an order.`);
  return writeOrder(parsed.value);
}

const toSchema = (schema: z.ZodType): Node => z.toJSONSchema(schema, { io: "input" }) as Node;

/** The JSON Schema of order/1. */
export function orderSchema(): Node {
  const silent = INSTRUMENTS.map(silentOrder);
  return stamp(withDefaults(toSchema(ORDER_FILE), silent), "order");
}

/** The JSON Schema of shop/1. */
export function shopSchema(): Node {
  return stamp(withDefaults(toSchema(SHOP_FILE), []), "shop");
}

function stamp(node: Node, kind: string): Node {
  const { $schema, ...rest } = node;
  return { $schema, $id: `${kind}.schema.json`, ...rest };
}

/** `derived` (a default in words) becomes `defaults`; plain defaults are looked up in the silent orders. */
function withDefaults(node: Node, silent: readonly unknown[]): Node {
  const out: Record<string, unknown> = {};
  for (const [key, value] of Object.entries(node)) {
    if (key === "derived" || key === "$schema") continue;
    out[key] = value;
  }
  if (node.$schema !== undefined) out.$schema = node.$schema;
  if (node.properties !== undefined) {
    const required = new Set(node.required ?? []);
    out.properties = Object.fromEntries(
      Object.entries(node.properties).map(([key, child]) => {
        const inner = silent.map((s) => (isRecord(s) ? s[key] : undefined));
        return [key, { ...withDefaults(child, inner), ...(required.has(key) ? {} : defaultOf(child, inner)) }];
      }),
    );
  }
  if (node.items !== undefined) out.items = withDefaults(node.items, []);
  if (node.anyOf !== undefined) out.anyOf = node.anyOf.map((member) => withDefaults(member, silent));
  return out as Node;
}

function defaultOf(child: Node, values: readonly unknown[]): { default?: unknown; defaults?: unknown } {
  if (child.derived !== undefined) return { defaults: child.derived };
  const known = values.filter((v) => v !== undefined);
  if (child.properties !== undefined || known.length === 0) return {};
  const objects = child.anyOf?.some((m) => m.properties !== undefined) && values.some(isRecord);
  if (objects && child.title !== "Board width") return {};
  if (known.every((v) => JSON.stringify(v) === JSON.stringify(known[0]))) return { default: known[0] };
  return { defaults: Object.fromEntries(INSTRUMENTS.map((name, i) => [name, values[i] ?? "none"])) };
}

const isRecord = (v: unknown): v is Record<string, unknown> => typeof v === "object" && v !== null && !Array.isArray(v);
