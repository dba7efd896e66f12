import { expect, test } from "vitest";
import { orderSchema } from "../job/live.ts";
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
