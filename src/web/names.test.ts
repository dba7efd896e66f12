import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { expect, test } from "vitest";
import { figuresOf, neckOf, orderSchema } from "../job/live.ts";
import type { Drawing } from "../sheet/draw/types.ts";
import { stationDrawing, stripDrawings, wholeNeck } from "../sheet/drawings/strips.ts";
import { readField } from "./field-value.ts";
import { namesDe } from "./names-de.ts";
import type { Node } from "./schema.ts";
import { nameIn } from "./words.ts";
import { de } from "./words-de.ts";
import { en } from "./words-en.ts";

/** Every node of the schema, however deep. */
function nodesOf(node: Node): Node[] {
  const below = [
    ...Object.values(node.properties ?? {}),
    ...(node.anyOf ?? []),
    ...(node.oneOf ?? []),
    ...(node.items ? [node.items] : []),
  ];
  return [node, ...below.flatMap(nodesOf)];
}
const schema = nodesOf(orderSchema() as Node);
const isWords = (v: unknown): v is string => typeof v === "string" && /[a-z]/i.test(v);

test("every word of the screen is said in German, with the same places to fill in", () => {
  const places = (text: string): string[] => [...text.matchAll(/\{\d\}/g)].map((m) => m[0]).sort();
  for (const [key, text] of Object.entries(en)) {
    const said = de[key as keyof typeof en];
    expect(said, key).toMatch(/\S/);
    expect(places(said), key).toEqual(places(text));
  }
  expect(Object.keys(de).sort()).toEqual(Object.keys(en).sort());
});

test("every title of an order's values, every word that stands for one and every default in words is said in German", () => {
  expect(schema.length).toBeGreaterThan(300);
  const titles = schema.flatMap((n) => n.title ?? []);
  const choices = schema.flatMap((n) => (n.enum ?? []).filter(isWords));
  const defaults = schema.flatMap((n) => (typeof n.defaults === "string" && /[a-z]{3}/.test(n.defaults) ? [n.defaults] : []));
  const missing = [...new Set([...titles, ...choices, ...defaults])].filter((t) => !Object.hasOwn(namesDe, t));
  expect(missing).toEqual([]);
});

test("what nobody has put into German stays as it is, and a number in a phrase is kept", () => {
  expect(nameIn("de", "no such text")).toBe("no such text");
  expect(nameIn("de", "Section at x = 12.5 mm")).toBe("Schnitt bei x = 12.5 mm");
  expect(nameIn("en", "Scale length")).toBe("Scale length");
  expect(nameIn("de", "toString")).toBe("toString");
});

test("every word in the drawings and figures of the screen is said in German, whatever example is drawn", () => {
  const examples = readdirSync("examples").filter((f) => f.endsWith(".order.json"));
  const left = new Set<string>();
  let said = 0;
  for (const f of examples) {
    const neck = neckOf(JSON.parse(readFileSync(`examples/${f}`, "utf8")));
    if (neck === null) continue;
    const window = wholeNeck(neck, 180, [24, 37, 24], 2);
    const { tip, carveEnd, heelFront, shaftEnd, end } = neck.places;
    const drawings = [
      ...[false, true].flatMap((along) => Object.values(stripDrawings(neck, window, along)) as readonly Drawing[]),
      ...[tip + 20, 0, neck.fretAt(5), carveEnd, heelFront + 5, shaftEnd - 10, end].map((x) => stationDrawing(neck, x, 66, 70)),
    ];
    for (const d of drawings)
      for (const text of [d.title, d.says, ...d.items.flatMap((i) => (i.kind === "text" ? [i.text] : []))]) {
        if (!/[a-z]{2}/i.test(text)) continue;
        said++;
        if (nameIn("de", text) === text) left.add(text);
      }
    for (const { what } of figuresOf(neck).figures) if (nameIn("de", what) === what) left.add(what);
  }
  expect([...left]).toEqual([]);
  expect(said).toBeGreaterThan(20 * examples.length);
});

test("why a typed number is not taken, and what to write instead, is said in German whatever was typed", () => {
  const pieces = [
    "12",
    "1 1/2",
    "3/4",
    "5/4",
    "1/0",
    " in",
    "mm",
    " parsec",
    "-",
    "+",
    "*",
    "/",
    "(",
    ")",
    ",",
    ".",
    "1.2.3",
    "1,234",
    "2e9",
    " ",
    "fret",
    '"',
    "x",
  ];
  const kinds = ["mm", "deg", "mm/min", "N", ""].flatMap((unit) =>
    [true, false].map((whole) => ({ unit, min: -5, max: 500, whole, place: false, inches: false })),
  );
  let refused = 0;
  // neither as it was nor with English left in it, what was typed left out
  const english = (text: string): boolean =>
    /\b(?:is|has|can|cannot|stands|too|Write|Use)\b/.test(nameIn("de", text).replaceAll(/"(?:\\.|[^"])*"/g, ""));
  const left = new Set<string>();
  fc.assert(
    fc.property(fc.array(fc.constantFrom(...pieces), { minLength: 1, maxLength: 7 }), fc.constantFrom(...kinds), (parts, kind) => {
      const read = readField(parts.join(""), kind);
      if (read.ok || read.outside) return;
      refused++;
      for (const text of [read.says, read.tryThis]) if (english(text)) left.add(text);
    }),
    { seed: 20260101, numRuns: 4000 },
  );
  for (const typed of [
    "9".repeat(60),
    "1".repeat(90),
    `${"(".repeat(50)}1`,
    "1 mm * 1 mm",
    "1 / 1 mm",
    "1 mm + 1",
    "(1 mm",
    "1e400",
    "1 mm / 0",
  ]) {
    const read = readField(typed, kinds[0]!);
    if (!read.ok && !read.outside) for (const text of [read.says, read.tryThis]) if (english(text)) left.add(text);
  }
  expect([...left]).toEqual([]);
  expect(refused).toBeGreaterThan(1000);
  expect(nameIn("de", '"1 mm * 2 mm": a length times a length is not a length.')).toBe(
    '"1 mm * 2 mm": eine Länge mal eine Länge ist keine Länge.',
  );
});
