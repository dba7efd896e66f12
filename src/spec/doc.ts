import type { Node } from "./json-schema.ts";
import { orderSchema, shopSchema } from "./json-schema.ts";

/* docs/order.md: every key of both files with unit, default, range and reason, from the JSON Schemas. */

const INTRO = `# How to write an order and a shop

<!-- Written by \`npm run schemas\`. Change the schemas in src/spec/, not this page. -->

An order (\`NAME.order.json\`) says what is to be built; a shop (\`NAME.shop.json\`) says what it is built with. Both are JSON.
Everything but a few keys may be left out. The smallest order:

\`\`\`json
{ "neckwright": "order/1", "name": "my-neck", "instrument": "guitar" }
\`\`\`

Four orders and two shops to start from lie in \`examples/\`. An editor that knows JSON Schema completes the keys when the file says
\`"$schema": "../schemas/order.schema.json"\` (or \`shop\`).

**Lengths** are numbers in mm, or texts with a unit: \`648\`, \`"648 mm"\`, \`"64.8 cm"\`, \`"42,5 mm"\`, \`"25.5 in"\`, \`"25 1/2 in"\`, \`"1 11/16 in"\`.
A fraction names its unit. A comma is a decimal mark unless exactly three digits follow it (\`"1,234"\` could be two numbers): then the text is refused.
**Angles** are numbers in degrees, or texts: \`"12 deg"\`, \`"0.2 rad"\`. **Feeds** are numbers in mm/min, or texts: \`"3000 mm/min"\`, \`"50 mm/s"\`.
**Places** along the neck are lengths from the nut (bridge positive, headstock negative) or frets: \`"fret 12"\`.
Nothing is clamped: what lies outside its range is refused, and so is a key that is not known (the nearest one is named).

Defaults and ranges are common practice among makers, without a source and partly from memory. They are where to start, not what is right for
your instrument; measure your hardware. Where a default differs by instrument it is given as guitar / bass / ukulele. The ranges are wide: they
catch a wrong unit or a slipped digit; whether the neck can be built is for the checks (RULES.md).
`;

/** The whole page. */
export function orderDoc(): string {
  return [INTRO, "## The order\n", ...sections(orderSchema(), ""), "## The shop\n", ...sections(shopSchema(), "")].join("\n");
}

/** One table per object, its own keys first, then the objects in it. */
function sections(node: Node, path: string): string[] {
  const out: string[] = [];
  const rows: string[] = [];
  const inner: [string, Node][] = [];
  for (const [key, child] of Object.entries(node.properties ?? {})) {
    rows.push(row(key, child, node.required?.includes(key) ?? false));
    const at = path === "" ? key : `${path}.${key}`;
    for (const object of objectsIn(child)) inner.push([object.list ? `${at}[]` : at, object.node]);
  }
  if (path !== "") out.push(`### \`${path}\``, "", ...(node.description === undefined ? [] : [node.description, ""]));
  if (rows.length > 0) out.push("| key | unit | default | range | what and why |", "|---|---|---|---|---|", ...rows, "");
  const seen = new Set<string>();
  for (const [at, child] of inner) {
    out.push(...sections(child, seen.has(at) ? `${at} (or)` : at));
    seen.add(at);
  }
  return out;
}

function objectsIn(node: Node): { node: Node; list: boolean }[] {
  if (node.properties !== undefined) return [{ node, list: false }];
  if (node.items !== undefined) return objectsIn(node.items).map((o) => ({ ...o, list: true }));
  return (node.anyOf ?? []).flatMap(objectsIn);
}

function row(key: string, node: Node, required: boolean): string {
  const unit = node.unit ?? unitOf(node);
  const fallback = required ? "**needed**" : defaultText(node);
  const title = node.title === undefined ? "" : `**${node.title}.** `;
  return `| \`${key}\` | ${unit} | ${cell(fallback)} | ${cell(rangeText(node))} | ${cell(title + (node.description ?? ""))} |`;
}

const cell = (s: string): string => s.replaceAll("|", "\\|").replaceAll("\n", " ");

function unitOf(node: Node): string {
  for (const member of node.anyOf ?? []) {
    const u = member.unit ?? unitOf(member);
    if (u !== "") return u;
  }
  return node.items === undefined ? "" : (node.items.unit ?? "");
}

const plain = (v: unknown): string =>
  Array.isArray(v) ? (v.length === 0 ? "none" : v.join(" ")) : typeof v === "object" ? JSON.stringify(v).replaceAll('"', "") : String(v);

function defaultText(node: Node): string {
  if (node.default !== undefined) return plain(node.default);
  if (typeof node.defaults === "string") return node.defaults;
  if (node.defaults !== undefined) return Object.values(node.defaults).map(plain).join(" / ");
  return objectsIn(node).length > 0 ? "see below" : "";
}

function rangeText(node: Node): string {
  if (node.enum !== undefined) return node.enum.join(", ");
  if (node.const !== undefined) return `"${String(node.const)}"`;
  if (node.type === "boolean") return "true, false";
  if (node.minimum !== undefined && node.maximum !== undefined) return `${node.minimum} to ${node.maximum}`;
  if (node.items !== undefined) return `list: ${rangeText(node.items) || "see below"}`;
  if (node.anyOf !== undefined)
    return node.anyOf
      .map((m) => rangeText(m) || (m.properties === undefined ? "" : "object"))
      .filter((s) => s !== "")
      .join(", or ");
  return "";
}
