import { describe, expect, test } from "vitest";
import type { Finding } from "../units/index.ts";
import { JB_RULES, OVERRIDE_UNUSED } from "./rules.ts";
import { judge, unusedOverrides } from "./verdict.ts";

const found = (rule: string, severity: Finding["severity"]): Finding => ({
  rule,
  severity,
  where: "rod",
  value: 2,
  limit: 3,
  unit: "mm",
  says: "Too little wood.",
  tryThis: "Use a lower rod.",
});

describe("judge", () => {
  test("a stop blocks, unless its very rule is overridden; warnings never block", () => {
    const findings = [found("NK-001", "stop"), found("NK-002", "stop"), found("NK-003", "warn")];
    expect(judge(findings, []).blocking.map((f) => f.rule)).toEqual(["NK-001", "NK-002"]);
    const one = judge(findings, [{ rule: "NK-001", reason: "a test piece" }]);
    expect(one.blocking.map((f) => f.rule)).toEqual(["NK-002"]);
    expect(one.overridden).toEqual([{ rule: "NK-001", reason: "a test piece" }]);
    expect(one.findings).toBe(findings);
  });

  test("an override that nothing needs, or that only a warning matches, is reported", () => {
    const overrides = [
      { rule: "NK-001", reason: "a" },
      { rule: "NK-003", reason: "b" },
      { rule: "NK-009", reason: "c" },
    ];
    const unused = unusedOverrides([found("NK-001", "stop"), found("NK-003", "warn")], overrides);
    expect(unused.map((f) => [f.rule, f.value])).toEqual([
      [OVERRIDE_UNUSED.id, "NK-003"],
      [OVERRIDE_UNUSED.id, "NK-009"],
    ]);
  });

  test("the rules of this stage have ids of their own, in order", () => {
    expect(JB_RULES.map((r) => r.id)).toEqual(JB_RULES.map((_, k) => `JB-${String(k + 1).padStart(3, "0")}`));
  });
});
