import { type Finding, finding } from "../units/index.ts";
import { CAUTIONS, DEFERS } from "./cautions.ts";
import { isCovered, textWidth } from "./draw/metrics.ts";
import { plainItems } from "./draw/plain.ts";
import type { Drawing, PlainItem, TextItem } from "./draw/types.ts";
import { CHECK_BAR, shortHash } from "./drawings/common.ts";
import type { ReportInput } from "./input.ts";
import {
  SH_CAUTIONS,
  SH_CHECK_BAR,
  SH_CORRECTION_MISSING,
  SH_FINDING_MISSING,
  SH_GLYPH,
  SH_HASH_MISSING,
  SH_OFF_PAGE,
  SH_PROGRAM_MISSING,
  SH_STEP_MISSING,
} from "./rules.ts";
import { correctionRows } from "./sure-rows.ts";

/** Measures finished run-sheet pages against what the job has to say; computed from the pages and the input only. */
export function checkSheetPages(pages: readonly Drawing[], input: ReportInput): Finding[] {
  const words = pages.map((p) => textOf(p));
  const all = words.flat();
  // table cells and lists break long names over lines: compare without spaces
  const joined = squeeze(all.map((t) => t.text).join(""));
  const out: Finding[] = [];
  for (const p of input.programs) {
    if (joined.includes(squeeze(p.file)) && joined.includes(shortHash(p.sha256))) continue;
    out.push(
      finding(
        SH_PROGRAM_MISSING,
        at(p.file, "the program or its hash is not on the run sheet", "Print the sheet again from the whole job."),
      ),
    );
  }
  pages.forEach((page, i) => {
    const texts = words[i].map((t) => t.text);
    const numbered = texts.includes(`page ${i + 1} of ${pages.length}`);
    const hashed = texts.some((t) => t.includes(input.orderHash));
    if (!numbered || !hashed)
      out.push(finding(SH_HASH_MISSING, at(`page ${i + 1}`, "the order's hash or the page number is missing", "Print the sheet again.")));
    out.push(...checkDrawings([page]));
  });
  const first = squeeze((words[0] ?? []).map((t) => t.text).join(""));
  if (![...CAUTIONS, DEFERS].every((c) => first.includes(squeeze(c))))
    out.push(
      finding(SH_CAUTIONS, at("page 1", "the cautions are not all on the first page", "Use a paper with room for them: A4 or Letter.")),
    );
  const named = [
    ...input.findings.filter((f) => f.severity === "stop").map((f) => f.rule),
    ...input.neck.order.overrides.map((o) => o.rule),
  ];
  for (const id of new Set(named)) {
    if (!all.some((t) => t.text.startsWith(id)))
      out.push(finding(SH_FINDING_MISSING, at(id, `${id} is not on the run sheet`, "Print the sheet again from the whole job.")));
  }
  for (const c of correctionRows(input)) {
    if (joined.includes(squeeze(c.says)) && joined.includes(squeeze(c.date))) continue;
    out.push(
      finding(
        SH_CORRECTION_MISSING,
        at(c.says, `the correction of ${c.date} is not on the run sheet`, "Print the sheet again from the whole job."),
      ),
    );
  }
  out.push(...checkSteps(pages, input));
  return out;
}

/** Steps are numbered boxes: their numbers in order of the pages. */
function checkSteps(pages: readonly Drawing[], input: ReportInput): Finding[] {
  const numbers = pages.flatMap((p) =>
    p.title === "Steps" ? textOf(p).filter((t) => t.bold && t.anchor === "middle" && /^\d+$/.test(t.text)) : [],
  );
  const names = pages.flatMap((p) =>
    p.title === "Steps"
      ? textOf(p)
          .filter((t) => t.bold && t.size === STEP_NAME_SIZE)
          .map((t) => t.text)
      : [],
  );
  const wanted = input.steps.map((s) => ("program" in s ? s.program : "By hand"));
  const ok = numbers.length === wanted.length && numbers.every((t, i) => t.text === `${i + 1}`) && wanted.every((w, i) => names[i] === w);
  if (ok) return [];
  return [
    finding(SH_STEP_MISSING, {
      ...at("steps", `the sheet has ${numbers.length} steps, the job ${wanted.length}`, "Print the sheet again."),
      value: numbers.length,
      limit: wanted.length,
    }),
  ];
}

/** Font size of a step's name on the sheet. */
export const STEP_NAME_SIZE = 3.6;

/** What every drawing must hold: bars on a page to scale, nothing off the page, no character without a glyph. */
export function checkDrawings(drawings: readonly Drawing[]): Finding[] {
  return drawings.flatMap((d) => {
    // a hatch stays inside its rings: its lines need no look
    const items = plainItems(d.items.filter((i) => i.kind !== "hatch"));
    const out: Finding[] = [];
    if (d.scale !== null && d.id.startsWith("page-") && !hasBars(items))
      out.push(finding(SH_CHECK_BAR, at(d.title, "a page to scale has no pair of 100 mm bars", "Print the sheet again.")));
    const off = items.flatMap(extentPoints).filter(([x, y]) => x < -0.01 || y < -0.01 || x > d.width + 0.01 || y > d.height + 0.01);
    if (off.length > 0) {
      const [x, y] = off[0];
      out.push(
        finding(SH_OFF_PAGE, {
          ...at(
            `${d.title}, x ${x.toFixed(1)}, y ${y.toFixed(1)}`,
            `${off.length} points lie off the page`,
            "Shorten the title or names of the order.",
          ),
          value: off.length,
          limit: 0,
        }),
      );
    }
    const bad = textOf(d).find((t) => !isCovered(t.text));
    if (bad)
      out.push(
        finding(SH_GLYPH, { ...at(d.title, "a character is not in the shipped font", "Write names in Latin letters."), value: bad.text }),
      );
    return out;
  });
}

/** A check bar along x and one along y, exactly 100 mm. */
export function hasBars(items: readonly PlainItem[]): boolean {
  const bars = items.filter((i) => i.kind === "line" && i.layer === "check-bar" && i.line === "wide");
  const length = (axis: 0 | 1): boolean =>
    bars.some(
      (b) =>
        b.kind === "line" && Math.abs(Math.abs(b.b[axis] - b.a[axis]) - CHECK_BAR) < 1e-9 && Math.abs(b.b[1 - axis] - b.a[1 - axis]) < 1e-9,
    );
  return length(0) && length(1);
}

const textOf = (d: Drawing): TextItem[] =>
  plainItems(d.items.filter((i) => i.kind === "text" || i.kind === "dimension")).filter((i): i is TextItem => i.kind === "text");
const squeeze = (s: string): string => s.replace(/\s+/g, "");

function extentPoints(i: PlainItem): (readonly [number, number])[] {
  switch (i.kind) {
    case "line":
      return [i.a, i.b];
    case "polyline":
      return [...i.points];
    case "circle":
      return [
        [i.centre[0] - i.radius, i.centre[1] - i.radius],
        [i.centre[0] + i.radius, i.centre[1] + i.radius],
      ];
    case "image":
      return [i.at, [i.at[0] + i.width, i.at[1] + i.height]];
    case "path":
      return i.steps.flatMap((s) => (s.to === "close" ? [] : [[s.x, s.y] as const]));
    case "text": {
      const w = textWidth(i.text, i.size, i.bold);
      const from = i.anchor === "start" ? 0 : i.anchor === "middle" ? -w / 2 : -w;
      const a = ((i.turn ?? 0) * Math.PI) / 180;
      const along = (s: number): readonly [number, number] => [i.at[0] + s * Math.cos(a), i.at[1] + s * Math.sin(a)];
      return [along(from), along(from + w)];
    }
  }
}

const at = (where: string, says: string, tryThis: string): Omit<Finding, "rule" | "severity"> => ({
  where,
  value: null,
  limit: null,
  unit: "",
  says: `${says.charAt(0).toUpperCase()}${says.slice(1)}.`,
  tryThis,
});
