import type { Json, Path } from "./document.ts";

/** A node of the order's JSON Schema, as far as the bench reads it. */
export interface Node {
  readonly type?: string | readonly string[];
  readonly title?: string;
  readonly description?: string;
  readonly unit?: string;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly default?: Json;
  readonly defaults?: { readonly [instrument: string]: Json } | string;
  readonly enum?: readonly Json[];
  readonly const?: Json;
  readonly properties?: { readonly [key: string]: Node };
  readonly required?: readonly string[];
  readonly anyOf?: readonly Node[];
  readonly oneOf?: readonly Node[];
  readonly items?: Node;
}

/** What stands where nothing was written: text in words, or the value. */
export function defaultOf(node: Node, instrument: string): { readonly value: Json } | { readonly says: string } | null {
  if (node.default !== undefined) return { value: node.default };
  if (typeof node.defaults === "string") return { says: node.defaults };
  if (node.defaults !== undefined) {
    const v = node.defaults[instrument];
    return v === undefined ? null : { value: v };
  }
  return null;
}

/** How a place can be edited: a quantity, a whole or plain number, one of some words, text, or yes and no; "other" only as a file. */
export type Kind = "quantity" | "number" | "integer" | "choice" | "text" | "switch" | "group" | "other";

export function kindOf(node: Node): Kind {
  if (node.properties !== undefined) return "group";
  if (node.enum !== undefined) return "choice";
  const types = typeof node.type === "string" ? [node.type] : (node.type ?? []);
  if (node.unit !== undefined && types.includes("string") && types.includes("number")) return "quantity";
  if (types.length === 1 && types[0] === "integer") return "integer";
  if (types.length === 1 && types[0] === "number") return "number";
  if (types.length === 1 && types[0] === "boolean") return "switch";
  if (types.length === 1 && types[0] === "string") return "text";
  return "other";
}

/** The member of a union that fits what stands there, else its first that can be edited. */
export function memberOf(node: Node, value: Json | undefined): Node {
  const all = node.anyOf ?? node.oneOf;
  if (all === undefined) return node;
  const rest: Partial<Node> = { ...node };
  delete (rest as { anyOf?: unknown }).anyOf;
  delete (rest as { oneOf?: unknown }).oneOf;
  const fits = all.find((n) => value !== undefined && accepts(n, value)) ?? all.find((n) => kindOf(n) !== "other") ?? all[0];
  const merged = { ...rest, ...fits } as Node;
  return node.title === undefined
    ? merged
    : { ...merged, title: node.title, ...(node.description ? { description: node.description } : {}) };
}

function accepts(node: Node, value: Json): boolean {
  const kind = kindOf(node);
  if (kind === "group") return value !== null && typeof value === "object" && !Array.isArray(value);
  if (kind === "choice") return node.enum!.includes(value);
  if (node.const !== undefined) return node.const === value;
  if (kind === "quantity") return typeof value === "number" || (typeof value === "string" && /\d/.test(value));
  if (kind === "number" || kind === "integer") return typeof value === "number";
  if (kind === "text") return typeof value === "string";
  if (kind === "switch") return typeof value === "boolean";
  return Array.isArray(value);
}

export interface Place {
  readonly path: Path;
  readonly node: Node;
}

/** Every place below a node, groups opened, in the order of the schema. */
export function placesBelow(node: Node, path: Path, valueAt: (p: Path) => Json | undefined): Place[] {
  const member = memberOf(node, valueAt(path));
  if (kindOf(member) !== "group") return [{ path, node: member }];
  return Object.entries(member.properties ?? {}).flatMap(([key, child]) => placesBelow(child, [...path, key], valueAt));
}

/** The titles of a place and of what it lies in, the outermost first; a key or a place in a list where the schema has none. */
export function titleOf(schema: Node, path: Path, file: Json): string[] {
  const said: string[] = [];
  let node: Node | undefined = schema;
  let here: Json | undefined = file;
  for (const key of path) {
    const member: Node | undefined = node === undefined ? undefined : memberOf(node, here);
    node = typeof key === "number" ? member?.items : member?.properties?.[key];
    here = here !== null && typeof here === "object" ? (here as { readonly [k: string]: Json })[String(key)] : undefined;
    said.push(typeof key === "number" ? String(key + 1) : (node?.title ?? key));
  }
  return said;
}
