/*
 * Two people changed one document. What only one of them touched is taken from that one; what both changed to different values is a conflict
 * and named by its place. Objects are gone into; a list counts as one value, because its items have no names by which to tell them apart.
 */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

/** One place in which both differ from what they started from and from each other. Undefined: not there. */
export interface Clash {
  readonly path: readonly string[];
  readonly base: Json | undefined;
  readonly mine: Json | undefined;
  readonly theirs: Json | undefined;
}

export interface Merged {
  /** With what was first saved where both changed one place. */
  readonly value: Json | undefined;
  readonly clashes: readonly Clash[];
}

type Group = { readonly [key: string]: Json };
const isGroup = (v: Json | undefined): v is Group => v !== null && typeof v === "object" && !Array.isArray(v);
const at = (g: Json | undefined, key: string): Json | undefined => (isGroup(g) && Object.hasOwn(g, key) ? g[key] : undefined);

/** The same value, whatever the order of the keys. */
export function equal(a: Json | undefined, b: Json | undefined): boolean {
  if (a === b) return true;
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((v, k) => equal(v, b[k] as Json));
  if (!isGroup(a) || !isGroup(b)) return false;
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((k) => Object.hasOwn(b, k) && equal(a[k], b[k]));
}

/** Puts `mine` and `theirs`, both made from `base`, together. */
export function merge(base: Json | undefined, mine: Json | undefined, theirs: Json | undefined, path: readonly string[] = []): Merged {
  if (equal(mine, theirs) || equal(base, mine)) return { value: theirs, clashes: [] };
  if (equal(base, theirs)) return { value: mine, clashes: [] };
  if (!(isGroup(mine) && isGroup(theirs))) return { value: theirs, clashes: [{ path, base, mine, theirs }] };
  const out: Record<string, Json> = {};
  const clashes: Clash[] = [];
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine), ...(isGroup(base) ? Object.keys(base) : [])])) {
    const part = merge(at(base, key), at(mine, key), at(theirs, key), [...path, key]);
    clashes.push(...part.clashes);
    // a key called __proto__ is a key like any other
    if (part.value !== undefined)
      Object.defineProperty(out, key, { value: part.value, enumerable: true, configurable: true, writable: true });
  }
  return { value: out, clashes };
}

/** The same for JSON texts, as they are saved; null when one of them is no JSON. */
export function mergeTexts(
  base: string,
  mine: string,
  theirs: string,
): { readonly text: string; readonly clashes: readonly Clash[] } | null {
  try {
    const [b, m, t] = [base, mine, theirs].map((text) => JSON.parse(text) as Json);
    const { value, clashes } = merge(b, m, t);
    return { text: `${JSON.stringify(value, null, 2)}\n`, clashes };
  } catch {
    return null;
  }
}
