import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";

/** The project's folder, from this file or from a bundle that holds it. */
function rootAbove(dir: string): string {
  return existsSync(join(dir, "package.json")) ? dir : rootAbove(dirname(dir));
}

export const root: string = rootAbove(dirname(fileURLToPath(import.meta.url)));

/** Every .ts and .tsx file below a folder of the project, as a path from the root with forward slashes, sorted. */
export function sourcesIn(folder: string): string[] {
  const found: string[] = [];
  const walk = (dir: string): void => {
    for (const entry of readdirSync(dir, { withFileTypes: true })) {
      const path = join(dir, entry.name);
      if (entry.isDirectory()) {
        if (entry.name !== "node_modules" && entry.name !== "assembly") walk(path);
      } else if (/\.tsx?$/.test(entry.name) && !/\.generated\.|\.d\.ts$/.test(entry.name))
        found.push(relative(root, path).split(sep).join("/"));
    }
  };
  walk(join(root, folder));
  return found.sort();
}

export const read = (path: string): string => readFileSync(join(root, path), "utf8");

/**
 * The code with comments blanked out and, unless `keepStrings`, the insides of strings too; line breaks stay, so that line
 * numbers hold. Good enough for TypeScript as this project writes it: regular expressions are told from division by what
 * stands before the slash.
 */
export function codeOf(text: string, keepStrings = false): string {
  let out = "";
  let i = 0;
  let last = "";
  /** How many braces are open inside each template literal's `${`. */
  const templates: number[] = [];
  const blank = (s: string): string => s.replace(/[^\n]/g, " ");
  /** Copies up to the closing quote, or to `${` of a template; returns the index after it. */
  const quoted = (quote: string, from: number): number => {
    let j = from;
    while (j < text.length && text[j] !== quote) {
      if (text[j] === "\\") j++;
      else if (quote === "`" && text[j] === "$" && text[j + 1] === "{") {
        templates.push(0);
        out += `${keepStrings ? text.slice(from, j) : blank(text.slice(from, j))}\${`;
        return j + 2;
      }
      j++;
    }
    out += (keepStrings ? text.slice(from, j) : blank(text.slice(from, j))) + quote;
    return j + 1;
  };
  while (i < text.length) {
    const c = text[i];
    const two = text.slice(i, i + 2);
    if (two === "//") {
      const end = text.indexOf("\n", i);
      const stop = end < 0 ? text.length : end;
      out += blank(text.slice(i, stop));
      i = stop;
    } else if (two === "/*") {
      const end = text.indexOf("*/", i + 2);
      const stop = end < 0 ? text.length : end + 2;
      out += blank(text.slice(i, stop));
      i = stop;
    } else if (c === '"' || c === "'" || c === "`") {
      out += c;
      i = quoted(c, i + 1);
      last = c;
    } else if (c === "/" && (last === "" || "(,=:[!&|?{};+>".includes(last) || /\breturn\s*$/.test(out))) {
      let j = i + 1;
      let inClass = false;
      while (j < text.length && (text[j] !== "/" || inClass) && text[j] !== "\n") {
        if (text[j] === "\\") j++;
        else if (text[j] === "[") inClass = true;
        else if (text[j] === "]") inClass = false;
        j++;
      }
      out += `/${blank(text.slice(i + 1, j))}/`;
      i = j + 1;
      last = "/";
    } else {
      const depth = templates.length - 1;
      if (depth >= 0 && c === "{") templates[depth]++;
      if (depth >= 0 && c === "}") {
        if (templates[depth] === 0) {
          templates.pop();
          out += c;
          i = quoted("`", i + 1);
          last = "`";
          continue;
        }
        templates[depth]--;
      }
      out += c;
      i++;
      if (!/\s/.test(c)) last = c;
    }
  }
  return out;
}

/** Specifiers a file imports, re-exports or loads, types included. */
export function importsOf(text: string): string[] {
  // found where strings are blank, so that no word inside a string counts; read where they are not
  const kept = codeOf(text, true);
  const found: string[] = [];
  for (const m of codeOf(text).matchAll(/\b(?:from|import)\s*\(?\s*["'] *["']/g)) {
    const end = m.index + m[0].length - 1;
    const start = Math.max(kept.lastIndexOf('"', end - 1), kept.lastIndexOf("'", end - 1)) + 1;
    found.push(kept.slice(start, end));
  }
  return found;
}
