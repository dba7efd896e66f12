import { existsSync, mkdtempSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { buildCli, runCli } from "./cli.ts";
import { read, root } from "./sources.ts";

/*
 * The documents are run: every "console" block of README.md is a session, commands after "$ ", below each what it prints. A line
 * of three dots stands for any number of lines, three dots inside a line for anything.
 */

interface Shown {
  readonly command: string;
  readonly prints: readonly string[];
  readonly line: number;
}

function sessions(markdown: string): Shown[] {
  const shown: { command: string; prints: string[]; line: number }[] = [];
  let inside = false;
  markdown.split("\n").forEach((text, k) => {
    if (text.startsWith("```")) inside = text === "```console";
    else if (inside && text.startsWith("$ ")) shown.push({ command: text.slice(2), prints: [], line: k + 1 });
    else if (inside) shown.at(-1)?.prints.push(text.trimEnd());
  });
  return shown;
}

/** Does what was printed fit what is shown? */
function fits(shown: readonly string[], printed: readonly string[]): boolean {
  if (shown.length === 0) return printed.length === 0;
  const [first, ...rest] = shown;
  if (first === "...") {
    for (let k = 0; k <= printed.length; k++) if (fits(rest, printed.slice(k))) return true;
    return false;
  }
  if (printed.length === 0) return false;
  const pattern = first
    .split("...")
    .map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"))
    .join(".*");
  return new RegExp(`^${pattern}$`).test(printed[0]) && fits(rest, printed.slice(1));
}

const readme = read("README.md");
const shown = sessions(readme);

describe("README.md", () => {
  let cli: string;
  let dir: string;
  beforeAll(async () => {
    cli = await buildCli("docs");
    dir = mkdtempSync(join(tmpdir(), "neckwright-docs-"));
    symlinkSync(join(root, "examples"), join(dir, "examples"));
  });
  afterAll(() => rmSync(dir, { recursive: true, force: true }));

  test("shows commands, the first within twenty lines", () => {
    expect(shown.length).toBeGreaterThan(2);
    expect(readme.split("\n").slice(0, 20).join("\n")).toContain("npm start");
  });

  // one after another: later commands use what earlier ones wrote
  test.each(shown.filter((s) => s.command.startsWith("node dist/cli.mjs ")).map((s) => [s.line, s.command, s] as const))(
    "line %i: %s",
    async (_line, command, { prints }) => {
      const args = command.slice("node dist/cli.mjs ".length).split(" ");
      const ran = await runCli(cli, args, { cwd: dir });
      const printed = ran.out.split("\n").map((l) => l.trimEnd());
      while (printed.at(-1) === "") printed.pop();
      if (!fits(prints, printed)) expect(printed.join("\n")).toBe(prints.join("\n"));
      expect(ran.code).toBe(0);
    },
  );

  test("every command it shows is one that is tested here or a script of package.json", () => {
    const scripts = Object.keys(JSON.parse(read("package.json")).scripts);
    for (const { command, line } of shown) {
      const npm = /^npm (?:run )?(\S+)/.exec(command);
      const known = command.startsWith("node dist/cli.mjs ") || (npm !== null && scripts.includes(npm[1]));
      expect(known, `line ${line}: ${command}`).toBe(true);
    }
  });
});

describe("the documents", () => {
  const documents = [
    "README.md",
    "ARCHITECTURE.md",
    "CONTRIBUTING.md",
    "docs/dependencies.md",
    "docs/headstock-drawing.md",
    "src/README.md",
  ];

  test.each(documents)("%s links only to what is there, and names only files that are there", (path) => {
    const text = read(path);
    const from = dirname(join(root, path));
    const missing: string[] = [];
    for (const m of text.matchAll(/\]\((?!https?:|#)([^)#\s]+)[^)]*\)/g)) if (!existsSync(join(from, m[1]))) missing.push(m[1]);
    for (const m of text.matchAll(/`((?:src|test|scripts|bench|docs|examples)\/[\w./-]*[\w/])`/g))
      if (!existsSync(join(root, m[1]))) missing.push(m[1]);
    expect(missing).toEqual([]);
  });

  test("docs/dependencies.md lists every package of package.json with its version, and no other", () => {
    const pkg = JSON.parse(read("package.json"));
    const text = read("docs/dependencies.md");
    for (const [name, version] of Object.entries<string>({ ...pkg.dependencies, ...pkg.devDependencies })) {
      expect(text, name).toContain(name);
      expect(text, `${name} ${version}`).toContain(version.replace(/^npm:.*@/, ""));
    }
  });
});

describe("the reader of sessions", () => {
  test("takes commands and what they print, and dots for what is left out", () => {
    const text = "text\n```console\n$ a b\none\n...\nlast\n$ c\n```\n```sh\n$ not this\n```\n";
    expect(sessions(text)).toEqual([
      { command: "a b", prints: ["one", "...", "last"], line: 3 },
      { command: "c", prints: [], line: 7 },
    ]);
    expect(fits(["one", "...", "last"], ["one", "last"])).toBe(true);
    expect(fits(["one", "...", "last"], ["one", "two", "three", "last"])).toBe(true);
    expect(fits(["one", "...", "last"], ["one", "two"])).toBe(false);
    expect(fits(["about ... min"], ["about 42 min"])).toBe(true);
    expect(fits(["about ... min"], ["about 42 s"])).toBe(false);
    expect(fits([], ["more"])).toBe(false);
  });
});
