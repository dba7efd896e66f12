import type { Finding, Rule } from "../units/index.ts";
import { finding } from "../units/index.ts";
import { FILE_BOM, FILE_DEPTH, FILE_DUPLICATE, FILE_EMPTY, FILE_JSON, FILE_SIZE, FILE_TEXT } from "./rules.ts";

/** Largest order or shop file, in bytes. Ask for the size of a file before reading it. */
export const MAX_FILE_BYTES = 1_000_000;
const MAX_DEPTH = 32;

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

export type ReadJson =
  | { readonly value: Json; readonly findings: readonly Finding[] }
  | { readonly value?: never; readonly findings: readonly Finding[] };

class Fault extends Error {
  readonly found: Finding;
  constructor(found: Finding) {
    super(found.says);
    this.found = found;
  }
}

/** The finding for a file of `bytes` bytes that is too large to read; null when it may be read. */
export function checkFileSize(bytes: number): Finding | null {
  if (bytes <= MAX_FILE_BYTES) return null;
  return finding(FILE_SIZE, {
    where: "the file",
    value: bytes,
    limit: MAX_FILE_BYTES,
    unit: "bytes",
    says: `The file has ${bytes} bytes; an order or shop has at most ${MAX_FILE_BYTES}.`,
    tryThis: "Check that this is the right file; an order is a few kilobytes of text.",
  });
}

/**
 * Reads JSON as RFC 8259 has it, from text or UTF-8 bytes, and refuses what JSON.parse lets pass or explains badly:
 * keys that stand twice, numbers that overflow, nesting without end. Objects have no prototype. Never throws.
 */
export function readJson(input: string | Uint8Array): ReadJson {
  const findings: Finding[] = [];
  try {
    let text = typeof input === "string" ? checkText(input) : decode(input);
    if (text.charCodeAt(0) === 0xfeff) {
      text = text.slice(1);
      findings.push(
        fileFinding(
          FILE_BOM,
          "byte order mark",
          "The file starts with a byte order mark, which was skipped.",
          "Save the file as UTF-8 without a byte order mark.",
        ),
      );
    }
    if (text.trim() === "")
      throw new Fault(fileFinding(FILE_EMPTY, null, "The file is empty.", "Start from one of the files in examples/."));
    return { value: new Reader(text).document(), findings };
  } catch (e) {
    if (e instanceof Fault) return { findings: [...findings, e.found] };
    throw e;
  }
}

function fileFinding(rule: Rule, value: number | string | null, says: string, tryThis: string): Finding {
  return finding(rule, { where: "the file", value, limit: null, unit: "", says, tryThis });
}

function checkText(text: string): string {
  const tooLarge = checkFileSize(text.length);
  if (tooLarge !== null) throw new Fault(tooLarge);
  const at = text.indexOf("\0");
  if (at >= 0) {
    throw new Fault(
      fileFinding(
        FILE_TEXT,
        `byte 0 at ${at}`,
        `The file is not text: it holds a zero byte at position ${at}.`,
        "Give an order or shop file, saved as UTF-8 text.",
      ),
    );
  }
  return text;
}

function decode(bytes: Uint8Array): string {
  const tooLarge = checkFileSize(bytes.byteLength);
  if (tooLarge !== null) throw new Fault(tooLarge);
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    throw new Fault(fileFinding(FILE_TEXT, "UTF-16", "The file is written in UTF-16.", "Save it as UTF-8."));
  }
  let text: string;
  try {
    text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new Fault(fileFinding(FILE_TEXT, "not UTF-8", "The file is not UTF-8 text.", "Give an order or shop file, saved as UTF-8 text."));
  }
  return checkText(text);
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const WORD = /[A-Za-z_$][\w$]*/y;

class Reader {
  private readonly text: string;
  private at = 0;
  private readonly path: string[] = [];

  constructor(text: string) {
    this.text = text;
  }

  document(): Json {
    const value = this.value(0);
    this.space();
    if (this.at < this.text.length) this.fault("something after the end of the document", "Delete what follows the last closing brace.");
    return value;
  }

  private value(depth: number): Json {
    this.space();
    const c = this.text[this.at];
    if (c === "{") return this.object(depth + 1);
    if (c === "[") return this.list(depth + 1);
    if (c === '"') return this.string();
    if (c === undefined)
      this.fault("the end of the file where a value should stand", "The file seems cut off: fetch it again or close what is open.");
    if (c === "-" || (c >= "0" && c <= "9")) return this.number();
    return this.word();
  }

  private object(depth: number): Json {
    this.deeper(depth);
    const out: { [key: string]: Json } = Object.create(null);
    this.at++;
    this.space();
    if (this.text[this.at] === "}") {
      this.at++;
      return out;
    }
    for (;;) {
      this.space();
      if (this.text[this.at] !== '"') {
        if (this.text[this.at] === "}") this.fault("a comma before a closing brace", "Delete the last comma.");
        this.fault(this.atEnd() ? "the end of the file inside an object" : "a key without double quotes", 'Write keys like "scale": 648.');
      }
      const start = this.at;
      const key = this.string();
      if (Object.hasOwn(out, key)) this.duplicate(key, start);
      this.space();
      if (this.text[this.at] !== ":") this.fault("no colon after a key", 'Write keys like "scale": 648.');
      this.at++;
      this.path.push(key);
      out[key] = this.value(depth);
      this.path.pop();
      this.space();
      const c = this.text[this.at];
      if (c === "}") {
        this.at++;
        return out;
      }
      if (c !== ",")
        this.fault(this.atEnd() ? "the end of the file inside an object" : "no comma between two entries", "Check the line before, too.");
      this.at++;
    }
  }

  private list(depth: number): Json {
    this.deeper(depth);
    const out: Json[] = [];
    this.at++;
    this.space();
    if (this.text[this.at] === "]") {
      this.at++;
      return out;
    }
    for (;;) {
      this.space();
      if (this.text[this.at] === "]") this.fault("a comma before a closing bracket", "Delete the last comma.");
      this.path.push(String(out.length));
      out.push(this.value(depth));
      this.path.pop();
      this.space();
      const c = this.text[this.at];
      if (c === "]") {
        this.at++;
        return out;
      }
      if (c !== ",")
        this.fault(this.atEnd() ? "the end of the file inside a list" : "no comma between two entries", "Check the line before, too.");
      this.at++;
    }
  }

  /** Finds the closing quote here, leaves escapes to the platform's own reader. */
  private string(): string {
    const start = this.at++;
    for (;;) {
      const c = this.text.charCodeAt(this.at);
      if (Number.isNaN(c)) this.fault("the end of the file inside a text", "The file seems cut off: fetch it again or close the text.");
      if (c < 32) this.fault("a line break or control character inside a text", "Close the text on its own line with a double quote.");
      if (c === 34) break;
      this.at += c === 92 ? 2 : 1;
    }
    this.at++;
    try {
      return JSON.parse(this.text.slice(start, this.at)) as string;
    } catch {
      this.at = start;
      return this.fault("an escape that JSON does not know", "Write a backslash as two backslashes.");
    }
  }

  private number(): number {
    NUMBER.lastIndex = this.at;
    const m = NUMBER.exec(this.text);
    if (m === null) return this.word() as never;
    const end = this.at + m[0].length;
    const next = this.text[end];
    if (next !== undefined && /[\w.+-]/.test(next))
      this.fault("a number that JSON does not know", 'Write 0.5 and not .5 or 00.5, and fractions as texts, like "1 11/16 in".');
    const value = Number(m[0]);
    if (!Number.isFinite(value)) this.fault(`a number too large to hold (${m[0].slice(0, 20)})`, "Write a smaller number.");
    this.at = end;
    return value;
  }

  private word(): Json {
    WORD.lastIndex = this.at;
    const word = WORD.exec(this.text)?.[0] ?? "";
    if (word === "true" || word === "false" || word === "null") {
      this.at += word.length;
      return word === "null" ? null : word === "true";
    }
    if (word === "NaN" || word === "Infinity" || this.text.startsWith("-Infinity", this.at)) {
      this.fault(`${word || "-Infinity"}, which is not a number that JSON knows`, 'Write a finite number (a flat board is "flat").');
    }
    const c = this.text[this.at];
    if (c === "/" || c === "#") this.fault("a comment, which JSON does not know", "Delete the comment.");
    if (c === "'") this.fault("a single quote", "Write texts in double quotes.");
    if (c === "+" || c === ".") this.fault("a number that JSON does not know", "Write 0.5 and not .5 or +0.5.");
    return this.fault(
      word === "" ? `an unexpected ${JSON.stringify(c)}` : `the bare word ${JSON.stringify(word.slice(0, 20))}`,
      "Write texts in double quotes.",
    );
  }

  private space(): void {
    const text = this.text;
    let i = this.at;
    for (; i < text.length; i++) {
      const c = text.charCodeAt(i);
      if (c !== 32 && c !== 10 && c !== 13 && c !== 9) break;
    }
    this.at = i;
  }

  private atEnd(): boolean {
    return this.at >= this.text.length;
  }

  private place(at: number): string {
    const before = this.text.slice(0, at);
    const line = before.split("\n").length;
    return `line ${line}, column ${at - before.lastIndexOf("\n")}`;
  }

  private deeper(depth: number): void {
    if (depth <= MAX_DEPTH) return;
    throw new Fault(
      finding(FILE_DEPTH, {
        where: this.place(this.at),
        value: depth,
        limit: MAX_DEPTH,
        unit: "",
        says: `Objects and lists are nested more than ${MAX_DEPTH} deep.`,
        tryThis: "Check that this is the right file; an order is at most 5 deep.",
      }),
    );
  }

  private duplicate(key: string, at: number): never {
    const where = [...this.path, key].join(".");
    throw new Fault(
      finding(FILE_DUPLICATE, {
        where,
        value: key.slice(0, 60),
        limit: 1,
        unit: "",
        says: `The key ${JSON.stringify(key.slice(0, 60))} stands twice in one object (the second at ${this.place(at)}).`,
        tryThis: "Keep one of the two.",
      }),
    );
  }

  private fault(what: string, tryThis: string): never {
    const where = this.place(this.at);
    const inside = this.path.length === 0 ? "" : ` (in ${this.path.join(".").slice(0, 80)})`;
    throw new Fault(
      finding(FILE_JSON, {
        where,
        value: what,
        limit: null,
        unit: "",
        says: `The file is not JSON: ${what} at ${where}${inside}.`,
        tryThis,
      }),
    );
  }
}
