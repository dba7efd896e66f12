import type { Figures } from "../neck/figures/index.ts";
import { radToDeg } from "../units/index.ts";
import { escapeXml } from "./draw/svg.ts";
import { alongDrawing } from "./drawings/along.ts";
import { centsDrawing } from "./drawings/cents.ts";
import { dim } from "./drawings/common.ts";
import type { ReportInput } from "./input.ts";
import { figureRow, figureText, GROUPS } from "./meaning-rows.ts";
import { COLUMN, figure, section, table } from "./report-parts.ts";

/** The section "What it means": charts, every figure with its band and source, the ways of building a headstock, other woods. */
export function meaning(input: ReportInput): string {
  const m = input.meaning;
  if (m === null) return section("meaning", "What it means", "<p>A neck that its own geometry stops means nothing yet.</p>");
  const intro = `<p>What this neck means for the player and for the wood, before any is cut. Every number has a band: how far it moves when wood, strings and dimensions lie off by their usual spread. They are estimates for a maker's judgement, no promise.</p>`;
  const warned =
    m.findings.length === 0
      ? "<p>None of these figures is out of its usual range.</p>"
      : table(
          "What to look at",
          ["rule", "where", "what was found", "what to try"],
          m.findings.map((f) => [f.rule, f.where, f.says, f.tryThis]),
        );
  const short = table(
    "In short",
    ["what", "#value", "unit", "#band"],
    m.figures.filter((f) => f.short).map((f) => [...figureRow(f)]),
  );
  const charts = [figure(centsDrawing(input.neck, COLUMN))];
  if (m.along.length > 0) charts.push(figure(alongDrawing(m.along, COLUMN)));
  const groups = GROUPS.map(([title, has]) => {
    const list = m.figures.filter((f) => has(f.id));
    if (list.length === 0) return "";
    const rows = list.map((f) => [f.id, ...figureRow(f), f.source]);
    return `<h3>${escapeXml(title)}</h3>${table("Each with its band and where it comes from", ["id", "what", "#value", "unit", "#band", "formula, source, assumption"], rows)}`;
  });
  return section("meaning", "What it means", [intro, warned, short, ...charts, ...groups, strings(m), heads(m), woods(m)].join("\n"));
}

function strings(m: Figures): string {
  if (m.strings.length === 0) return "";
  return table(
    "Strings: scale, pull, and where nut and saddle should stand (mm back from their nominal places; the nut toward the saddle)",
    ["string", "pitch", "#diameter, mm", "#scale, mm", "#pull, N", "#saddle alone", "#saddle", "#and nut"],
    m.strings.map((s) => [
      `${s.string}`,
      s.pitch,
      `${dim(s.diameter)}${s.assumed ? " (assumed)" : ""}`,
      s.scale.toFixed(2),
      s.tension.toFixed(1),
      s.saddleOnly.toFixed(2),
      s.both.saddle.toFixed(2),
      (-s.both.nut).toFixed(2),
    ]),
  );
}

function heads(m: Figures): string {
  if (m.heads.length === 0) return "";
  return table(
    "The headstock's root built in three ways",
    ["way", "#grain, degrees", "#stress, MPa", "#strength, MPa", "#used, %", "#used of a weak piece, %"],
    m.heads.map((h) => [
      `${h.way}${h.ordered ? " (as ordered)" : ""}`,
      radToDeg(h.grain).toFixed(1),
      h.stress.toFixed(1),
      h.strength.toFixed(0),
      figureText(h.use),
      figureText(h.useWeak),
    ]),
  );
}

function woods(m: Figures): string {
  return (["shaft", "board"] as const)
    .map((part) => {
      const list = m.woods.filter((w) => w.part === part);
      if (list.length === 0) return "";
      return table(
        `What another wood of the ${part} would do`,
        ["wood", "#mass, g", "#balance, mm", "#stiffness at fret 5, %"],
        list.map((w) => [
          `${w.wood}${w.ordered ? " (as ordered)" : ""}`,
          w.grams.toFixed(0),
          w.balance.toFixed(0),
          (100 * w.stiffness).toFixed(0),
        ]),
      );
    })
    .join("\n");
}
