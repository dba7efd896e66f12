import { CAUTIONS, CAUTIONS_TITLE, DEFERS } from "./cautions.ts";
import { CUT_HEADS, CUT_UNITS, costOf, cutCells, cutterUse, forcesSay, lifeText } from "./cut-rows.ts";
import { escapeXml } from "./draw/svg.ts";
import type { Drawing } from "./draw/types.ts";
import { blankDrawing } from "./drawings/blank.ts";
import { dim, liesSays, shortHash } from "./drawings/common.ts";
import { cuttersDrawing } from "./drawings/cutters.ts";
import { headstockDrawing } from "./drawings/headstock.ts";
import { usedCutters } from "./drawings/index.ts";
import { markingDrawing } from "./drawings/marking.ts";
import { planDrawing } from "./drawings/plan.ts";
import { sectionsDrawing } from "./drawings/sections.ts";
import { settingDrawing } from "./drawings/settings.ts";
import { sideDrawing } from "./drawings/side.ts";
import { tearOutDrawing } from "./drawings/tear-out.ts";
import { fretRows } from "./fret-rows.ts";
import type { ReportInput } from "./input.ts";
import { loadCharts } from "./load-charts.ts";
import { fitted } from "./page/parts.ts";
import { mapFigure } from "./proof-figure.ts";
import { meaning } from "./report-meaning.ts";
import { COLUMN, figure, section, table } from "./report-parts.ts";
import { REPORT_CSS, REPORT_CSS_SHA256 } from "./report-style.ts";
import { checksFor } from "./step-checks.ts";
import { correctionRows, SURE_HEADS, SURE_SAYS, sureCells } from "./sure-rows.ts";
import { fixed, isWithin, proofVerdict, timeText, valueText, verdictSays } from "./words.ts";

const e = escapeXml;

/**
 * The report: one HTML page that needs nothing else. No scripts, no requests, a policy that allows neither; drawings inline, pictures
 * of the proof as PNG in them; light as paper, dark as slate, fit to print.
 */
export function reportHtml(input: ReportInput): string {
  const title = `${input.orderTitle}: report`;
  const policy = `default-src 'none'; img-src data:; style-src 'sha256-${REPORT_CSS_SHA256}'; base-uri 'none'; form-action 'none'`;
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>${e(title)}</title>
<style>${REPORT_CSS}</style>
</head>
<body>
<header>
<h1>${e(input.orderTitle)}</h1>
<p>Order ${e(input.orderName)} for ${e(input.shop.title)}, ${e(input.shop.machine.name)}. ${e(liesSays(input.neck))}</p>
<p class="soft hash">Order SHA-256 ${e(input.orderHash)}. Neckwright ${e(input.version)}.</p>
${verdict(input)}
<nav aria-label="Contents"><ul>
${SECTIONS.map(([id, name]) => `<li><a href="#${id}">${name}</a></li>`).join("\n")}
</ul></nav>
</header>
<main>
${cautions()}
${findings(input)}
${proof(input)}
${sure(input)}
${meaning(input)}
${drawings(input)}
${programs(input)}
${loads(input)}
${steps(input)}
${frets(input)}
</main>
</body>
</html>
`;
}

const SECTIONS: readonly (readonly [string, string])[] = [
  ["cautions", "Cautions"],
  ["findings", "Findings"],
  ["proof", "Proof"],
  ["sure", "How sure"],
  ["meaning", "What it means"],
  ["drawings", "Drawings"],
  ["programs", "Programs"],
  ["loads", "Loads"],
  ["steps", "Steps"],
  ["frets", "Fret table"],
];

function verdict(input: ReportInput): string {
  const v = proofVerdict(input.proof);
  const stops = input.findings.filter((f) => f.severity === "stop");
  const overridden = new Set(input.neck.order.overrides.map((o) => o.rule));
  const open = stops.filter((f) => !overridden.has(f.rule)).length;
  const bad = open > 0 || !v.proved || v.out > 0 || v.regionsOut > 0;
  const stopText =
    open > 0
      ? `${open} finding(s) stop this job. `
      : stops.length > 0
        ? `${stops.length} stop(s) overridden by the maker. `
        : "No finding stops this job. ";
  return `<p class="verdict${bad ? " out" : ""}">${e(stopText + verdictSays(input.proof))}</p>`;
}

const cautions = (): string => `<section id="cautions" class="cautions" aria-labelledby="h-cautions">
<h2 id="h-cautions">${e(CAUTIONS_TITLE)}</h2>
<p>${e(DEFERS)}</p>
<ul>
${CAUTIONS.map((c) => `<li>${e(c)}</li>`).join("\n")}
</ul>
</section>`;

function findings(input: ReportInput): string {
  const { overrides } = input.neck.order;
  const words = { stop: "stop", warn: "warning", note: "note" } as const;
  const list =
    input.findings.length === 0
      ? "<p>None: every rule of design, holding, cutting, paths, programs and proof holds.</p>"
      : table(
          "What was found, against which limit, and what to try",
          ["rule", "weight", "where", "what was found", "#value", "#limit", "what to try"],
          input.findings.map((f) => {
            const over = f.severity === "stop" && overrides.some((o) => o.rule === f.rule);
            return [
              f.rule,
              { text: over ? "stop, overridden" : words[f.severity], out: f.severity === "stop" },
              f.where,
              f.says,
              valueText(f.value, f.unit),
              valueText(f.limit, f.unit),
              f.tryThis,
            ];
          }),
        );
  const over =
    overrides.length === 0
      ? ""
      : table(
          "Rules overridden by the maker",
          ["rule", "reason given"],
          overrides.map((o) => [o.rule, o.reason]),
        );
  return section("findings", "Findings", list + over);
}

function sure(input: ReportInput): string {
  const rows = correctionRows(input);
  const right =
    rows.length === 0
      ? "<p>No corrections are in force: the machine is taken to do what it is told, the wood to be as ordered.</p>"
      : table(
          "Measured and put right: the programs are posted with these",
          ["day", "of the", "correction", "why"],
          rows.map((r) => [r.date, r.of, r.says, r.reason]),
        );
  return section(
    "sure",
    "How sure",
    `${right}${table("Error budget", [...SURE_HEADS], input.budget.map(sureCells))}<p>${e(SURE_SAYS)}</p>`,
  );
}

function proof(input: ReportInput): string {
  const intro = `<p>The programs' text was read back and run against a model of the blank; what is left was compared with the neck ordered. These figures are about geometry: they know nothing of a loose blank, a dull cutter or a slipping belt.</p>`;
  if (input.proof.length === 0)
    return section("proof", "Proof", `${intro}<p class="out">Nothing was proved: do not cut from these programs.</p>`);
  const regions = table(
    "Finished surfaces by region, mm, square to the surface",
    ["region", "side", "#deepest below", "#limit", "#most above", "#limit", "#95 % under", "#mean", "#cells", "holds"],
    input.proof.flatMap((s) =>
      s.regions.map((r) => {
        const [b, a] = [r.worstBelow <= r.limitBelow, r.worstAbove <= r.limitAbove];
        return [
          r.region,
          r.side,
          { text: fixed(r.worstBelow), out: !b },
          fixed(r.limitBelow),
          { text: fixed(r.worstAbove), out: !a },
          fixed(r.limitAbove),
          fixed(r.p95Above),
          fixed(r.meanAbove),
          `${r.cells}`,
          { text: a && b ? "yes" : "NO", out: !(a && b) },
        ];
      }),
    ),
  );
  const maps = input.maps
    .flatMap((s) => (["above", "below"] as const).map((what) => mapFigure(s, what, COLUMN)))
    .map((d) => figure(d))
    .join("\n");
  const measures = input.proof.flatMap((s) => s.measures);
  const measured =
    measures.length === 0
      ? ""
      : table(
          "Measured on what is left, beside the order",
          ["what", "of", "#ordered", "#measured", "#difference", "#tolerance", "unit", "holds"],
          measures.map((m) => {
            const ok = isWithin(m);
            return [
              m.id,
              m.what,
              fixed(m.ordered),
              fixed(m.measured),
              { text: fixed(m.measured - m.ordered), out: !ok },
              `± ${fixed(m.tolerance)}`,
              m.unit,
              { text: ok ? "yes" : "NO", out: !ok },
            ];
          }),
        );
  return section("proof", "Proof", `${intro}<p><strong>${e(verdictSays(input.proof))}</strong></p>${regions}${maps}${measured}`);
}

function drawings(input: ReportInput): string {
  const { neck, holding } = input;
  const fittedFigure = (draw: (s: number) => Drawing, most = 1): string => figure(fitted(draw, COLUMN, 400, most));
  const cutters = usedCutters(input);
  const all = [
    fittedFigure((s) => planDrawing(neck, s)),
    fittedFigure((s) => sideDrawing(neck, s)),
    fittedFigure((s) => sectionsDrawing(neck, s), 1.5),
    fittedFigure((s) => headstockDrawing(neck, s)),
    fittedFigure((s) => markingDrawing(neck, holding, s)),
    ...(["board", "carve"] as const).flatMap((name) =>
      holding.sections === undefined
        ? [fittedFigure((s) => blankDrawing(neck, holding, name, s, input.shop.machine))]
        : (holding.sides[name].sections ?? []).map(({ number }) =>
            fittedFigure((s) => settingDrawing(neck, holding, input.shop.machine, name, number, s)),
          ),
    ),
    fittedFigure((s) => tearOutDrawing(neck, s)),
    cutters.length > 0 ? figure(cuttersDrawing(cutters, 0.8, COLUMN)) : "",
  ];
  return section("drawings", "Drawings", all.join("\n"));
}

function programs(input: ReportInput): string {
  const total = input.programs.reduce((s, p) => s + p.seconds, 0);
  const moved = new Map(input.proof.flatMap((s) => s.programs.map((p) => [p.file, p] as const)));
  const rows = input.programs.map((p) => {
    const c = input.shop.cutters.find((k) => k.number === p.cutter);
    const f = moved.get(p.file);
    return [
      p.file,
      p.side,
      `T${p.cutter}${c ? ` ${c.name}` : ""}`,
      p.cuts.join(", "),
      timeText(p.seconds),
      (p.feedLength / 1000).toFixed(2),
      p.points === undefined ? "–" : `${p.points}`,
      p.blocks === undefined ? "–" : `${p.blocks}`,
      f ? (f.removed / 1000).toFixed(1) : "–",
      dim(p.bounds.min[2]),
      shortHash(p.sha256),
    ];
  });
  return section(
    "programs",
    "Programs",
    `<p>${input.programs.length} programs, ${timeText(total)} of cutting, without changes of cutter, hand work or the runs in air.</p>${table("Programs in order", ["file", "side", "cutter", "cuts", "#time", "#in feed, m", "#points", "#blocks", "#removed, cm³", "#lowest Z", "SHA-256 begins"], rows)}${cutTable(input)}`,
  );
}

/** Speeds, loads and times of every cut, and what bound it; cutters' wear and cost where the shop gives rates. */
function cutTable(input: ReportInput): string {
  if (input.plan.cuts.length === 0) return "";
  const { rows } = input;
  const heads = CUT_HEADS.map((h, i) => (i > 1 && i < 11 ? `#${h}` : h));
  const use = cutterUse(rows, input.shop);
  const cost = costOf(input.programs, use, input.shop);
  const wear = table(
    "Length in wood by cutter, at most",
    ["cutter", "name", "#in wood, m", "#share of its life"],
    use.map((u) => [`T${u.cutter.number}`, u.cutter.name, (u.inWood / 1000).toFixed(1), u.life === null ? "not stated" : lifeText(u.life)]),
  );
  return `${table(
    "Cuts in order: speeds, loads, times, and what limited them",
    heads,
    rows.map((r) => cutCells(r, timeText)),
  )}<p class="soft">${e(CUT_UNITS)} ${e(forcesSay(input.shop))}</p>${wear}${cost === null ? "" : `<p>${e(cost.says)}</p>`}`;
}

/** Engagement, chip, force, bend and power along every program, over its time. */
function loads(input: ReportInput): string {
  const charts = loadCharts(input, COLUMN);
  if (charts.length === 0) return section("loads", "Loads", "<p>No program, no loads.</p>");
  const intro = `<p>Engagement as the proof measured it where a cut bounds it, otherwise as planned; depth as planned; chip, force, bend and power at the speed that the clock gives each move. ${e(forcesSay(input.shop))}</p>`;
  return section("loads", "Loads", intro + charts.map((d) => figure(d)).join("\n"));
}

function steps(input: ReportInput): string {
  const seen = new Set<string>();
  const items = input.steps.map((s) => {
    if ("hand" in s)
      return `<li><strong>By hand</strong>, ${s.side} side: ${e(s.hand)}${s.fills.length > 0 ? ` <span class="soft">Fills ${e(s.fills.join(", "))}.</span>` : ""}</li>`;
    const p = input.programs.find((q) => q.file === s.program);
    if (!p) return `<li class="out">${e(s.program)}: missing from the job.</li>`;
    const first = !seen.has(p.side);
    seen.add(p.side);
    const c = checksFor(
      input,
      p,
      input.shop.cutters.find((k) => k.number === p.cutter),
      first,
    );
    const list = (name: string, lines: readonly string[]): string =>
      `<div class="soft">${name}</div><ul>${lines.map((l) => `<li>${e(l)}</li>`).join("")}</ul>`;
    return `<li><strong>${e(p.file)}</strong>, ${p.side} side, T${p.cutter}, ${timeText(p.seconds)}${whyHere(input, p.cuts)}${list("Before", c.before)}${list("After", c.after)}</li>`;
  });
  return section("steps", "Steps, in order", `<ol class="steps">\n${items.join("\n")}\n</ol>`);
}

/** Why each cut stands where it does. */
function whyHere(input: ReportInput, cuts: readonly string[]): string {
  const lines = cuts.flatMap((id) => {
    const cut = input.plan.cuts.find((c) => c.id === id);
    return cut === undefined || cut.why === "" ? [] : [`${cut.title}: ${cut.why}`];
  });
  return lines.length === 0 ? "" : `<div class="soft">Why here: ${e(lines.join(" "))}</div>`;
}

function frets(input: ReportInput): string {
  const t = fretRows(input);
  if (t === null) return section("frets", "Fret table", "<p>No frets.</p>");
  const heads = t.heads.map((h, i) => (i === 0 ? h : `#${h}`));
  return section("frets", "Fret table", `${table(t.says, heads, t.rows)}<p>${e(t.check)}</p>`);
}
