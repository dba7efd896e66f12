import { existsSync } from "node:fs";
import { dirname, join, posix } from "node:path";
import { describe, expect, test } from "vitest";
import { codeOf, importsOf, read, root, sourcesIn } from "./sources.ts";

/** The folders of src/ in the order of the flow. A folder imports only from folders above it, types included. */
const FLOW = [
  "units",
  "kernel",
  "materials",
  "spec",
  "neck",
  "holding",
  "cutting",
  "paths",
  "program",
  "proof",
  "sheet",
  "job",
  "store",
  "server",
  "cli",
  "web",
] as const;

/** Stages are pure up to here: no Node, no DOM, no clock, no random number, no file. */
const PURE: readonly string[] = FLOW.slice(0, FLOW.indexOf("job"));

/** Packages a pure folder may use. They compute; none of them reads a file or a clock when used as the code does. */
const PACKAGES: Readonly<Record<string, readonly string[]>> = {
  kernel: ["clipper2-ts"],
  spec: ["zod", "dxf-parser", "fast-xml-parser", "svgpath"],
  paths: ["clipper2-ts"],
  proof: ["clipper2-ts"],
  sheet: ["@kninnug/constrainautor", "delaunator", "fflate", "pdfkit", "pngjs"],
};

/** globalThis only to look whether there is a WebAssembly engine: the kernels give the same numbers with and without it. */
const IMPURE =
  /\b(?:process|document|window|navigator|localStorage|performance|console)\b\s*[.[]|\b(?:Buffer|fetch|setTimeout|setInterval|setImmediate|queueMicrotask|require)\b\s*[.(]|\b__(?:dir|file)name\b|\bMath\.random\b|\bDate\.now\b|\bnew Date\b(?!\([^)])|\bDate\(\)|\bcrypto\.|\bglobalThis\b(?!.*\.WebAssembly\b)|\bimport\.meta\b/;

const isTest = (path: string): boolean => path.endsWith(".test.ts");
const folderOf = (path: string): string => path.split("/")[1];

const sources = sourcesIn("src");
const code = sources.filter((p) => !isTest(p));

interface Edge {
  readonly from: string;
  readonly to: string;
}

const edges: Edge[] = [];
const outside: Edge[] = [];
for (const path of code) {
  for (const spec of importsOf(read(path))) {
    if (spec.startsWith(".")) edges.push({ from: path, to: posix.normalize(posix.join(posix.dirname(path), spec)) });
    else outside.push({ from: path, to: spec });
  }
}

/** Files that each file needs when it runs: imports of types are left out. */
function importsByFile(): Map<string, string[]> {
  const out = new Map<string, string[]>();
  for (const { from, to } of edges) {
    const typeOnly = !new RegExp(`(?:import|export)(?! type)[^;]*?"[^"]*${posix.basename(to).replaceAll(".", "\\.")}"`).test(read(from));
    if (!typeOnly) out.set(from, [...(out.get(from) ?? []), to]);
  }
  return out;
}

describe("the reader of sources", () => {
  test("finds every way of importing, types included, and nothing in comments or strings", () => {
    const text = [
      'import a from "./a.ts";',
      'import type { B } from "./b.ts";',
      'export * from "./c.ts";',
      'export type { D } from "./d.ts";',
      'const e = await import("./e.ts");',
      'import "./f.ts";',
      "import {",
      "  g,",
      '} from "./g.ts";',
      '// import x from "./x.ts"',
      '/* import y from "./y.ts" */',
      "type H = import('./h.ts').H;",
      'const said = `from "./z.ts"`;',
      'list("import", "from", " | ");',
    ].join("\n");
    expect(importsOf(text)).toEqual(["./a.ts", "./b.ts", "./c.ts", "./d.ts", "./e.ts", "./f.ts", "./g.ts", "./h.ts"]);
  });

  test("blanks comments, strings and regular expressions, keeps code and line numbers", () => {
    const text =
      'a(); // process.exit\nconst s = "process.env"; /* x\ny */ const r = /[/"]process./; b = c / d / e;\n`x $' + "{process.env} y`";
    const out = codeOf(text);
    expect(out.split("\n").length).toBe(text.split("\n").length);
    expect(out.match(/process/g)).toEqual(["process"]);
    expect(out).toContain("c / d / e");
  });
});

describe("src/", () => {
  test("has only the folders of the flow", () => {
    const unknown = [...new Set(sources.map(folderOf))].filter((f) => !FLOW.includes(f as (typeof FLOW)[number]));
    expect(unknown).toEqual([]);
  });

  test("imports run upward in the flow only, types included", () => {
    const wrong = edges
      .filter(({ to }) => to.startsWith("src/"))
      .filter(({ from, to }) => {
        const a = FLOW.indexOf(folderOf(from) as (typeof FLOW)[number]);
        const b = FLOW.indexOf(folderOf(to) as (typeof FLOW)[number]);
        return a < 0 || b < 0 || b > a;
      });
    expect(wrong).toEqual([]);
  });

  test("imports stay inside src/ and name the file with its ending", () => {
    const wrong = edges.filter(
      ({ to }) => !(to.startsWith("src/") || to.startsWith("schemas/") || to === "package.json") || !/\.(tsx?|json|css)$/.test(to),
    );
    expect(wrong).toEqual([]);
    const missing = edges.filter(({ to }) => !to.includes(".generated.") && !existsSync(join(root, to)));
    expect(missing).toEqual([]);
  });

  test("pure stages import no Node module and only the packages listed for them", () => {
    const wrong = outside
      .filter(({ from }) => PURE.includes(folderOf(from)))
      .filter(({ from, to }) => !(PACKAGES[folderOf(from)] ?? []).includes(to));
    expect(wrong).toEqual([]);
  });

  test("pure stages use no clock, no random number and nothing of Node or the DOM", () => {
    const wrong: string[] = [];
    for (const path of code.filter((p) => PURE.includes(folderOf(p)))) {
      codeOf(read(path))
        .split("\n")
        .forEach((line, k) => {
          const m = IMPURE.exec(line);
          if (m) wrong.push(`${path}:${k + 1}: ${m[0].trim()}`);
        });
    }
    expect(wrong).toEqual([]);
  });

  test("proof/reader imports nothing of program/ or paths/, not even through another file", () => {
    const reach = new Set(code.filter((p) => p.startsWith("src/proof/reader/")));
    for (const path of reach) for (const e of edges) if (e.from === path) reach.add(e.to);
    const wrong = [...reach].filter((p) => p.startsWith("src/program/") || p.startsWith("src/paths/"));
    expect(wrong).toEqual([]);
  });

  test("the rest of the proof does not import the writer of the programs either", () => {
    const wrong = edges.filter(
      ({ from, to }) => from.startsWith("src/proof/") && (to.startsWith("src/program/") || to.startsWith("src/paths/")),
    );
    expect(wrong).toEqual([]);
  });

  test("server, cli and web have no geometry of their own: they reach the stages only through job and units", () => {
    const faces = edges.filter(({ from }) => ["server", "cli", "web"].includes(folderOf(from)));
    const allowed = new Set(["units", "job", "store", "server", "cli"]);
    // the screen shows the drawings that the paper shows
    const drawn = (from: string, to: string): boolean => folderOf(from) === "web" && to.startsWith("src/sheet/draw");
    const wrong = faces.filter(
      ({ from, to }) => to.startsWith("src/") && !allowed.has(folderOf(to)) && folderOf(to) !== folderOf(from) && !drawn(from, to),
    );
    expect(wrong).toEqual([]);
  });

  test("what runs in the browser reaches nothing of Node, not even through another file", () => {
    const whole = importsByFile();
    const reach = new Set(code.filter((p) => p.startsWith("src/web/")));
    for (const path of reach) for (const to of whole.get(path) ?? []) reach.add(to);
    const wrong = outside.filter(({ from, to }) => reach.has(from) && to.startsWith("node:"));
    expect(wrong).toEqual([]);
    expect(reach.size).toBeGreaterThan(50);
  });
});

describe("every file", () => {
  const all = ["src", "test", "bench", "scripts"].flatMap(sourcesIn);

  test("over 450 lines says at its top why it is one file (a comment with the words 'One file because')", () => {
    const long = all.filter((p) => read(p).split("\n").length > 450);
    const silent = long.filter((p) => !read(p).split("\n").slice(0, 25).join("\n").includes("One file because"));
    expect(silent).toEqual([]);
  });

  test("of tests runs all its tests: nothing skipped, nothing singled out", () => {
    const wrong: string[] = [];
    for (const path of all.filter(isTest)) {
      codeOf(read(path))
        .split("\n")
        .forEach((line, k) => {
          // what needs another program may be left out by name where there is no network, in test/outside only
          const left = path.startsWith("test/outside/") ? line.replace("skipIf(leaveOut)", "") : line;
          if (
            /\b(?:test|it|describe)(?:\.\w+)*\.(?:skip|only|todo|skipIf|runIf|fails)\b|\b(?:xit|xtest|xdescribe|fit|fdescribe)\s*\(/.test(
              left,
            )
          )
            wrong.push(`${path}:${k + 1}: ${line.trim()}`);
        });
    }
    expect(wrong).toEqual([]);
  });

  test("names no path of one person's machine and no registry host", () => {
    const wrong: string[] = [];
    const needles = [
      ["", "work", ""],
      ["", "root", ""],
      ["", "home", ""],
    ].map((p) => p.join("/"));
    for (const path of all) {
      read(path)
        .split("\n")
        .forEach((line, k) => {
          if (needles.some((n) => line.includes(`"${n}`) || line.includes(` ${n}`)) || /registry\.[a-z]+\.(org|com)/.test(line))
            wrong.push(`${path}:${k + 1}`);
        });
    }
    expect(wrong).toEqual([]);
  });

  test("lies where the folder of its tests is its own", () => {
    const strays = sources.filter(isTest).filter((p) => !code.some((c) => dirname(c) === dirname(p)));
    expect(strays).toEqual([]);
  });
});
