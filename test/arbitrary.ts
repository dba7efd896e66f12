import fc from "fast-check";
import type { Node } from "../src/spec/json-schema.ts";
import { orderSchema, shopSchema } from "../src/spec/json-schema.ts";
import { parseOrderObject } from "../src/spec/order.ts";
import type { OrderSpec } from "../src/spec/types.ts";
import { isStop } from "../src/units/index.ts";

/*
 * Random orders, shops and files for property tests and campaigns.
 *   anyOrder, anyShop   anything the schema allows, independently key by key: mostly nonsense, to try parsers and checks
 *   likelyOrder         an instrument's defaults, varied as makers vary them: mostly buildable
 *   soundOrder          a likely order, complete, without any stop
 *   hostileText         what is not an order: broken, cut off, binary, or valid JSON of something else
 */

const round = (v: number): number => Math.round(v * 1000) / 1000;

const between = (min: number, max: number): fc.Arbitrary<number> =>
  fc.oneof(fc.double({ min, max, noNaN: true }), fc.constantFrom(min, max, round((min + max) / 2)));

/** A length, angle or feed: mostly a plain number, sometimes a text in the key's unit or in inches. */
function quantity(node: Node): fc.Arbitrary<unknown> {
  const { minimum: min, maximum: max, unit } = node;
  if (min === undefined || max === undefined) {
    return fc.oneof(
      fc.double({ min: -300, max: 1200, noNaN: true }),
      fc.nat({ max: 30 }).map((n) => `fret ${n}`),
    );
  }
  const inner = fc.double({ min: min + (max - min) * 1e-6, max: max - (max - min) * 1e-6, noNaN: true }).map((v) => v.toFixed(4));
  const texts: fc.Arbitrary<unknown>[] = [inner.filter((t) => Number(t) >= min && Number(t) <= max).map((t) => `${t} ${unit}`)];
  if (unit === "mm" && max > 2) {
    const low = Math.max(min, 0.01) / 25.4;
    texts.push(
      fc
        .double({ min: low, max: max / 25.4, noNaN: true })
        .map((v) => `${Math.min(Math.max(v, low * 1.001), (max / 25.4) * 0.999).toFixed(6)} in`),
    );
  }
  const plain = unit === "deg" ? between(min, max).map((v) => Math.round(v * 1e9) / 1e9) : between(min, max);
  return fc.oneof({ weight: 5, arbitrary: plain }, ...texts.map((arbitrary) => ({ weight: 1, arbitrary })));
}

/** Values that a node of this project's JSON Schemas allows. */
export function fromSchema(node: Node): fc.Arbitrary<unknown> {
  if (node.const !== undefined) return fc.constant(node.const);
  if (node.enum !== undefined) return fc.constantFrom(...node.enum);
  if (node.anyOf !== undefined) return fc.oneof(...node.anyOf.map(fromSchema));
  if (node.properties !== undefined) {
    const model = Object.fromEntries(Object.entries(node.properties).map(([key, child]) => [key, fromSchema(child)]));
    return fc.record(model, { requiredKeys: [...(node.required ?? [])] });
  }
  if (node.items !== undefined) {
    const least = Number(node.minItems ?? 0);
    return fc.array(fromSchema(node.items), { minLength: least, maxLength: Math.max(least, Math.min(12, Number(node.maxItems ?? 12))) });
  }
  if (Array.isArray(node.type)) return quantity(node);
  if (node.type === "boolean") return fc.boolean();
  if (node.type === "integer") return fc.integer({ min: node.minimum ?? 0, max: node.maximum ?? 100 });
  if (node.type === "number") return between(node.minimum ?? 0, node.maximum ?? 1);
  if (node.pattern?.toString().includes("(board|carve)")) return fc.constantFrom("board-scribe", "carve-carve-finish", "board-nothing");
  if (node.pattern?.toString().includes("\\d{4}")) return fc.constantFrom("2026-03-31", "2025-11-02");
  if (node.pattern?.toString().includes("[sS][vV][gG]")) return fc.constantFrom("head.svg", "drawings/head of mine.DXF");
  if (typeof node.pattern === "string")
    return node.pattern.includes("A-Z") ? fc.constantFrom("NK-001", "SP-131") : fc.constantFrom("loan-one", "a", "b-2");
  return fc.string({ minLength: 1, maxLength: 20 });
}

/** Order objects within the schema's ranges; every key may be missing that may. */
export const anyOrder = (): fc.Arbitrary<unknown> => fromSchema(orderSchema());
/** Shop objects within the schema's ranges. */
export const anyShop = (): fc.Arbitrary<unknown> => fromSchema(shopSchema());

/** Leaves each key out half of the time. */
const some = <T extends Record<string, fc.Arbitrary<unknown>>>(model: T): fc.Arbitrary<unknown> => fc.record(model, { requiredKeys: [] });
const mm = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true }).map(round);

interface Usual {
  readonly scale: readonly [number, number];
  readonly frets: readonly [number, number];
  readonly nut: readonly [number, number];
  readonly end: readonly [number, number];
  readonly board: readonly [number, number];
  readonly first: readonly [number, number];
  readonly twelfth: readonly [number, number];
  readonly drop: readonly [number, number];
}
const USUAL: Readonly<Record<"guitar" | "bass" | "ukulele", Usual>> = {
  guitar: {
    scale: [610, 660],
    frets: [20, 24],
    nut: [42.5, 45],
    end: [56, 59],
    board: [5.8, 7],
    first: [20.8, 22.5],
    twelfth: [22, 25],
    drop: [4, 6],
  },
  bass: {
    scale: [760, 890],
    frets: [19, 24],
    nut: [40, 45],
    end: [60, 66],
    board: [6, 7],
    first: [21.2, 23],
    twelfth: [23, 26],
    drop: [4, 6],
  },
  ukulele: {
    scale: [425, 440],
    frets: [16, 19],
    nut: [35.5, 38],
    end: [45, 48],
    board: [4.6, 5.5],
    first: [15, 17],
    twelfth: [17, 19],
    drop: [2.5, 4],
  },
};

/** Orders as makers vary them around an instrument's defaults. */
export const likelyOrder = (): fc.Arbitrary<Record<string, unknown>> =>
  fc.constantFrom("guitar" as const, "bass" as const, "ukulele" as const).chain((instrument) => {
    const u = USUAL[instrument];
    const radius = fc.oneof(
      fc.constant("flat"),
      mm(184, 508),
      fc.tuple(mm(240, 320), mm(320, 450)).map(([nut, end]) => ({ nut, end })),
    );
    const exponent = fc.oneof(mm(1.8, 3), fc.record({ bass: mm(1.8, 3), treble: mm(1.8, 3) }));
    return fc.record(
      {
        neckwright: fc.constant("order/1"),
        name: fc.constant(`random-${instrument}`),
        instrument: fc.constant(instrument),
        hand: fc.constantFrom("right", "left"),
        scale: mm(...u.scale),
        frets: some({
          count: fc.integer({ min: u.frets[0], max: u.frets[1] }),
          ends: fc.constantFrom("through", "blind"),
          blindMargin: mm(1, 3),
        }),
        nut: some({ kind: fc.constantFrom("seat", "shelf"), width: mm(3.1, 4), land: mm(3, 4.5) }),
        board: some({
          thickness: mm(...u.board),
          radius,
          width: fc.oneof(fc.record({ nut: mm(...u.nut), end: mm(...u.end) }), fc.record({ margin: mm(3, 4.2) })),
          pastLastFret: mm(6, 14),
          end: fc.oneof(fc.constant("square"), fc.record({ bow: mm(0.5, 5) })),
          overhang: fc.oneof(fc.constant(0), mm(0, 5)),
        }),
        carve: fc.record({
          stations: fc.tuple(mm(...u.first), exponent, mm(...u.twelfth), exponent).map(([t1, e1, t2, e2]) => [
            { at: "fret 1", thickness: t1, exponent: e1 },
            { at: "fret 12", thickness: t2, exponent: e2 },
          ]),
        }),
        headstock: some({ drop: mm(...u.drop), roundness: mm(0, 1), rampRadius: mm(18, 24), throat: mm(30, 34) }),
      },
      { requiredKeys: ["neckwright", "name", "instrument"] },
    ) as fc.Arbitrary<Record<string, unknown>>;
  });

/** Complete orders without any stop of the order's own rules. */
export const soundOrder = (): fc.Arbitrary<OrderSpec> =>
  likelyOrder()
    .map(parseOrderObject)
    .filter((p) => p.value !== undefined && !p.findings.some(isStop))
    .map((p) => p.value as OrderSpec);

/** Texts and bytes that are no order: cut off, with a character changed, JSON of something else, or noise. */
export const hostileText = (valid: string): fc.Arbitrary<string | Uint8Array> =>
  fc.oneof(
    fc.nat({ max: valid.length }).map((n) => valid.slice(0, n)),
    fc
      .tuple(fc.nat({ max: valid.length }), fc.string({ maxLength: 3 }), fc.nat({ max: 3 }))
      .map(([at, put, cut]) => valid.slice(0, at) + put + valid.slice(at + cut)),
    fc.json(),
    fc.string(),
    fc.uint8Array({ maxLength: 200 }),
    fc.constantFrom(
      '{"__proto__": {"neckwright": "order/1"}}',
      '{"neckwright":"order/1","neckwright":"order/1"}',
      "NaN",
      "[",
      "{",
      '"',
      "[[[[[[[[[[",
      "\u0000",
      "\ufeff",
      "\ufeff{}",
    ),
  );
