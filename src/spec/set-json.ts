import type { Json } from "./json.ts";

/*
 * Sets one value inside a JSON text and leaves every other byte as it is: a person's file keeps its layout, order and notes.
 */

/**
 * The text with `value` at the path of keys; a key that is not there is added at the end of its object, laid out as its
 * neighbours are. The text must be JSON (as `readJson` accepts it) and every key before the last must lead to an object or to
 * nothing; throws a RangeError otherwise.
 */
export function setInJson(text: string, path: readonly string[], value: Json): string {
  let at = skipSpace(text, text.charCodeAt(0) === 0xfeff ? 1 : 0);
  for (let depth = 0; depth < path.length; depth++) {
    if (text[at] !== "{") throw new RangeError(`${path.slice(0, depth).join(".") || "the file"} is not an object`);
    const object = membersOf(text, at);
    const found = object.members.find((m) => m.key === path[depth]);
    if (found === undefined) {
      let inner = value;
      for (const key of path.slice(depth + 1).reverse()) inner = { [key]: inner };
      return added(text, at, object, path[depth]!, inner);
    }
    if (depth === path.length - 1) return text.slice(0, found.from) + layOut(value) + text.slice(found.to);
    at = found.from;
  }
  throw new RangeError("a path of no keys names nothing");
}

/** The text with a value in a list's object: `index` counts the objects of the list at `path`. */
export function setInList(text: string, path: readonly string[], index: number, keys: readonly string[], value: Json): string {
  let at = skipSpace(text, text.charCodeAt(0) === 0xfeff ? 1 : 0);
  for (const key of path) {
    const found = text[at] === "{" ? membersOf(text, at).members.find((m) => m.key === key) : undefined;
    if (found === undefined) throw new RangeError(`there is no ${path.join(".")}`);
    at = found.from;
  }
  if (text[at] !== "[") throw new RangeError(`${path.join(".")} is not a list`);
  let i = skipSpace(text, at + 1);
  for (let k = 0; k < index && text[i] !== "]"; k++) {
    i = skipSpace(text, endOf(text, i));
    if (text[i] === ",") i = skipSpace(text, i + 1);
  }
  if (text[i] === "]" || text[i] === undefined) throw new RangeError(`${path.join(".")} has no item ${index}`);
  const to = endOf(text, i);
  return text.slice(0, i) + setInJson(text.slice(i, to), keys, value) + text.slice(to);
}

interface Member {
  readonly key: string;
  /** Where the key's quote stands, and where the value begins and ends. */
  readonly at: number;
  readonly from: number;
  readonly to: number;
}

function membersOf(text: string, open: number): { readonly members: readonly Member[]; readonly close: number } {
  const members: Member[] = [];
  let i = skipSpace(text, open + 1);
  while (text[i] === '"') {
    const end = endOf(text, i);
    const from = skipSpace(text, skipSpace(text, end) + 1);
    const to = endOf(text, from);
    members.push({ key: JSON.parse(text.slice(i, end)) as string, at: i, from, to });
    i = skipSpace(text, to);
    if (text[i] === ",") i = skipSpace(text, i + 1);
  }
  if (text[i] !== "}") throw new RangeError("the text is not JSON");
  return { members, close: i };
}

function added(text: string, open: number, object: ReturnType<typeof membersOf>, key: string, value: Json): string {
  const entry = `${JSON.stringify(key)}: ${layOut(value)}`;
  const last = object.members.at(-1);
  if (last === undefined) return `${text.slice(0, open + 1)} ${entry} ${text.slice(object.close)}`;
  const before = text.slice(text.lastIndexOf("\n", last.at) + 1, last.at);
  const ownLine = text.lastIndexOf("\n", last.at) >= 0 && before.trim() === "";
  const eol = text.includes("\r\n") ? "\r\n" : "\n";
  return `${text.slice(0, last.to)},${ownLine ? `${eol}${before}` : " "}${entry}${text.slice(last.to)}`;
}

/** JSON in one line with spaces inside braces, as shop files have it. */
function layOut(v: Json): string {
  if (Array.isArray(v)) return `[${v.map(layOut).join(", ")}]`;
  if (typeof v === "object" && v !== null) {
    const inner = Object.entries(v as Readonly<Record<string, Json>>).map(([k, x]) => `${JSON.stringify(k)}: ${layOut(x)}`);
    return inner.length === 0 ? "{}" : `{ ${inner.join(", ")} }`;
  }
  return JSON.stringify(v);
}

function skipSpace(text: string, from: number): number {
  let i = from;
  while (i < text.length && " \t\r\n".includes(text[i]!)) i++;
  return i;
}

/** Just past the value that begins at `from`. */
function endOf(text: string, from: number): number {
  let depth = 0;
  let i = from;
  while (i < text.length) {
    const c = text[i]!;
    if (c === '"') {
      i++;
      while (i < text.length && text[i] !== '"') i += text[i] === "\\" ? 2 : 1;
      i++;
      if (depth === 0) return i;
      continue;
    }
    if (c === "{" || c === "[") depth++;
    else if (c === "}" || c === "]") {
      if (depth === 0) return i;
      depth--;
      if (depth === 0) return i + 1;
    } else if (depth === 0 && (c === "," || " \t\r\n".includes(c))) return i;
    i++;
  }
  return i;
}
