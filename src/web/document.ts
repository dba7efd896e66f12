/*
 * An order as it is edited: plain data, and every change kept as data with what was there before, so that undoing, redoing, naming a version
 * and saving are one mechanism. Nothing here knows of a screen.
 */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };
export type Path = readonly (string | number)[];

/** One change of one place. `undefined` stands for a key that is not there. */
export interface Change {
  readonly path: Path;
  readonly before: Json | undefined;
  readonly after: Json | undefined;
}

export interface Doc {
  readonly file: Json;
  /** Oldest first. */
  readonly done: readonly Change[];
  /** What was undone, the next to redo last. */
  readonly undone: readonly Change[];
  /** Names given to states, by how many changes had been done. */
  readonly named: readonly { readonly name: string; readonly at: number }[];
}

export const openDoc = (file: Json): Doc => ({ file, done: [], undone: [], named: [] });

/** What stands at a path; undefined when there is nothing. */
export function valueAt(file: Json | undefined, path: Path): Json | undefined {
  let here: Json | undefined = file;
  for (const key of path) {
    if (here === null || typeof here !== "object") return undefined;
    here = Array.isArray(here) ? here[key as number] : Object.hasOwn(here, key) ? (here as { readonly [k: string]: Json })[key] : undefined;
  }
  return here;
}

/** The same data with another value at a path; objects on the way are made, undefined takes the key (or the list's item) away. */
export function withValue(file: Json | undefined, path: Path, value: Json | undefined): Json | undefined {
  if (path.length === 0) return value;
  const [key, ...rest] = path as [string | number, ...(string | number)[]];
  if (typeof key === "number") {
    const list = Array.isArray(file) ? [...file] : [];
    const inner = withValue(list[key], rest, value);
    if (inner === undefined) list.splice(key, 1);
    else list[key] = inner;
    return list;
  }
  const object: { [key: string]: Json } =
    file !== null && typeof file === "object" && !Array.isArray(file) ? { ...(file as { [k: string]: Json }) } : {};
  const inner = withValue(Object.hasOwn(object, key) ? object[key] : undefined, rest, value);
  if (inner === undefined) delete object[key];
  else object[key] = inner;
  return object;
}

/** The change of the largest part that has to be kept so that undoing leaves nothing behind: a missing parent, or the list an item joins or leaves. */
function changeOf(file: Json, path: Path, after: Json | undefined): Change {
  let keep = path.length;
  for (let n = 1; n < path.length; n++) {
    if (valueAt(file, path.slice(0, n)) !== undefined) continue;
    keep = n;
    break;
  }
  if (typeof path[keep - 1] === "number" && (after === undefined || valueAt(file, path.slice(0, keep)) === undefined)) keep--;
  const short = path.slice(0, keep);
  return { path: short, before: valueAt(file, short), after: withValue(valueAt(file, short), path.slice(keep), after) };
}

const same = (a: Path, b: Path): boolean => a.length === b.length && a.every((k, i) => k === b[i]);
const isGroup = (v: Json | undefined): v is { readonly [k: string]: Json } => v !== null && typeof v === "object" && !Array.isArray(v);
const equal = (a: Json | undefined, b: Json | undefined): boolean => JSON.stringify(a) === JSON.stringify(b);

/** Sets a place. `drag`: goes on from the last change when that was of the same place, so that a drag is one step of the history. */
export function change(doc: Doc, path: Path, after: Json | undefined, drag = false): Doc {
  if (equal(valueAt(doc.file, path), after)) return doc;
  const file = withValue(doc.file, path, after) ?? {};
  const made = changeOf(doc.file, path, after);
  const last = doc.done.at(-1);
  const named = doc.named.filter((n) => n.at <= doc.done.length);
  if (drag && last !== undefined && doc.undone.length === 0 && same(last.path, made.path) && !named.some((n) => n.at === doc.done.length)) {
    return { file, done: [...doc.done.slice(0, -1), { ...made, before: last.before }], undone: [], named };
  }
  return { file, done: [...doc.done, made], undone: [], named };
}

export function undo(doc: Doc): Doc {
  const last = doc.done.at(-1);
  if (last === undefined) return doc;
  return {
    ...doc,
    file: withValue(doc.file, last.path, last.before) ?? {},
    done: doc.done.slice(0, -1),
    undone: [...doc.undone, last],
  };
}

export function redo(doc: Doc): Doc {
  const next = doc.undone.at(-1);
  if (next === undefined) return doc;
  return { ...doc, file: withValue(doc.file, next.path, next.after) ?? {}, done: [...doc.done, next], undone: doc.undone.slice(0, -1) };
}

/** Back or forward to the state after `at` changes. */
export function goTo(doc: Doc, at: number): Doc {
  let d = doc;
  while (d.done.length > Math.max(0, at)) d = undo(d);
  while (d.done.length < at && d.undone.length > 0) d = redo(d);
  return d;
}

export const nameState = (doc: Doc, name: string): Doc => ({
  ...doc,
  named: [...doc.named.filter((n) => n.at !== doc.done.length && n.name !== name), { name, at: doc.done.length }],
});

/** A value in a few letters. */
export function shownValue(v: Json): string {
  const text = typeof v === "string" ? v : JSON.stringify(v);
  return text.length > 28 ? `${text.slice(0, 27)}…` : text;
}

/** "frets.count: 22 -> 24", for the list of the history. */
export function changeText(c: Change): string {
  const shown = (v: Json | undefined): string => (v === undefined ? "–" : shownValue(v));
  const inner = isGroup(c.before) && isGroup(c.after) ? differences(c.before, c.after, c.path) : [c];
  const said = inner.slice(0, 3).map((d) => `${d.path.join(".")}: ${shown(d.before)} → ${shown(d.after)}`);
  return said.join("; ") + (inner.length > 3 ? "; …" : "");
}

/** The places in which two orders differ, in the order of the first. */
export function differences(a: Json | undefined, b: Json | undefined, path: Path = []): Change[] {
  if (equal(a, b)) return [];
  if (!isGroup(a) || !isGroup(b)) return [{ path, before: a, after: b }];
  const keys = [...Object.keys(a), ...Object.keys(b).filter((k) => !Object.hasOwn(a, k))];
  return keys.flatMap((k) => differences(Object.hasOwn(a, k) ? a[k] : undefined, Object.hasOwn(b, k) ? b[k] : undefined, [...path, k]));
}

/** The same document changed, place by place, into another file. */
export const becoming = (doc: Doc, file: Json): Doc => differences(doc.file, file).reduce((d, c) => change(d, c.path, c.after), doc);

/** The file as it is saved. */
export const fileText = (file: Json): string => `${JSON.stringify(file, null, 2)}\n`;
