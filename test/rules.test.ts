import { describe, expect, test } from "vitest";
import { RULE_BOOK, ruleBookText } from "../src/job/rule-book.ts";
import { read, sourcesIn } from "./sources.ts";

const all = RULE_BOOK.flatMap((s) => s.rules);

describe("the rule book", () => {
  test("RULES.md is what `npm run rules` writes", () => {
    expect(read("RULES.md")).toBe(ruleBookText());
  });

  test("every id stands once and carries its stage's letters", () => {
    expect(new Set(all.map((r) => r.id)).size).toBe(all.length);
    for (const { letters, rules } of RULE_BOOK) for (const r of rules) expect(r.id).toMatch(new RegExp(`^${letters}-\\d{3}$`));
  });

  test("every rule is one sentence", () => {
    for (const r of all) expect(r.says, r.id).toMatch(/^[A-Z0-9"].*[.]$/s);
  });

  test("every id that the code or the documents quote is in the book", () => {
    const known = new Set(all.map((r) => r.id));
    const unknown: string[] = [];
    const letters = RULE_BOOK.map((s) => s.letters).join("|");
    for (const path of [...sourcesIn("src"), "README.md", "ARCHITECTURE.md", "CONTRIBUTING.md"]) {
      if (path.endsWith(".test.ts")) continue;
      for (const m of read(path).matchAll(new RegExp(`\\b(?:${letters})-\\d{3}\\b`, "g")))
        if (!known.has(m[0])) unknown.push(`${path}: ${m[0]}`);
    }
    expect(unknown).toEqual([]);
  });
});
