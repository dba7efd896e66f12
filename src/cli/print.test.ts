import { describe, expect, test } from "vitest";
import type { Finding } from "../units/index.ts";
import { countText, findingsText } from "./findings.ts";
import { progressLine } from "./progress.ts";
import { heard } from "./ran.test-data.ts";

const found: Finding = {
  rule: "NK-001",
  severity: "stop",
  where: "rod",
  value: 1.23456789,
  limit: 3,
  unit: "mm",
  says: "Too little wood stays under the rod.",
  tryThis: "Order a lower rod.",
  at: { x: 120, y: 0, z: -18.5 },
};

describe("findings on the terminal", () => {
  test("say rule, place, value, limit, where on the neck, and what to try, in plain text when it is no terminal", () => {
    const text = findingsText(heard({}).io, [found]);
    expect(text).toBe(
      [
        "stop  NK-001  rod",
        "      Too little wood stays under the rod.",
        "      value 1.2346 mm; limit 3 mm; at x 120.00, y 0.00, z -18.50 of the neck",
        "      Try: Order a lower rod.",
        "",
      ].join("\n"),
    );
    expect(findingsText(heard({ colour: true }).io, [found])).toContain("\u001b[");
  });

  test("come with the gravest first, what was overridden after the stops, and otherwise in the order they were found", () => {
    const list: Finding[] = [
      { ...found, severity: "note", rule: "NK-009" },
      { ...found, severity: "warn", rule: "NK-005" },
      { ...found, rule: "NK-002" },
      { ...found, rule: "NK-001" },
      { ...found, severity: "warn", rule: "NK-004" },
    ];
    const text = findingsText(heard({}).io, list, new Set(["NK-002"]));
    expect(text.match(/NK-\d+/g)).toEqual(["NK-001", "NK-002", "NK-005", "NK-004", "NK-009"]);
    expect(text).toContain("overridden  NK-002");
    expect(countText(list)).toBe("2 stops, 2 warnings, 1 note");
    expect(countText([])).toBe("no findings");
  });

  test("leave out what a finding does not have", () => {
    const text = findingsText(heard({}).io, [
      { rule: "SP-001", severity: "note", where: "file", value: null, limit: null, unit: "", says: "So.", tryThis: "" },
    ]);
    expect(text).toBe("note  SP-001  file\n      So.\n");
  });
});

describe("progress", () => {
  test("is a line for every tenth when stderr is no terminal, never backwards", () => {
    const { io, err } = heard({});
    const line = progressLine(io, false);
    for (const share of [0, 0.01, 0.09, 0.1, 0.34, 0.2, 0.35, 1]) line.show(share, "proving");
    line.clear();
    expect(err()).toBe("  0 %  proving\n 10 %  proving\n 30 %  proving\n100 %  proving\n");
  });

  test("is one bar on a terminal, redrawn in place within its width, and taken away at the end", () => {
    const { io, err } = heard({ terminal: true, columns: 60 });
    const line = progressLine(io, false);
    line.show(0.5, "proving the carve side, a long name that would not fit into the terminal");
    line.show(0.5, "proving the carve side, a long name that would not fit into the terminal");
    line.clear();
    const text = err();
    expect(text).not.toContain("\n");
    expect(text.split("\r").length).toBe(3);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the codes that are looked for
    const visible = text.split("\r")[1].replace(/\u001b\[[0-9;]*[A-Za-z]/g, "");
    expect([...visible].length).toBeLessThanOrEqual(60);
    expect(visible).toContain("50 %");
    expect(text.endsWith("\r\u001b[2K")).toBe(true);
  });

  test("is silent when asked", () => {
    const { io, err } = heard({});
    progressLine(io, true).show(0.5, "proving");
    expect(err()).toBe("");
  });
});
