import { radToDeg } from "../units/index.ts";
import { CAUTIONS, CAUTIONS_TITLE, DEFERS, EXPOSURE, hoursAt } from "./cautions.ts";
import { clearSays } from "./clear-words.ts";
import { CUT_HEADS, CUT_UNITS, costOf, cutCells, cutterUse, forcesSay, lifeText } from "./cut-rows.ts";
import { pdf } from "./draw/pdf.ts";
import type { Drawing } from "./draw/types.ts";
import { blankDrawing } from "./drawings/blank.ts";
import { centsDrawing } from "./drawings/cents.ts";
import { dim, shortHash } from "./drawings/common.ts";
import { cuttersDrawing } from "./drawings/cutters.ts";
import { headstockDrawing } from "./drawings/headstock.ts";
import { usedCutters } from "./drawings/index.ts";
import { markingDrawing } from "./drawings/marking.ts";
import { planDrawing } from "./drawings/plan.ts";
import { sectionsDrawing } from "./drawings/sections.ts";
import { sideDrawing } from "./drawings/side.ts";
import { tearOutDrawing } from "./drawings/tear-out.ts";
import { fretRows } from "./fret-rows.ts";
import type { ReportInput, RunSheetInput } from "./input.ts";
import { figureRow } from "./meaning-rows.ts";
import { CAPTION, Flow, type Paper } from "./page/flow.ts";
import { fitted, holdingTable } from "./page/parts.ts";
import { proofPages } from "./page/proof-pages.ts";
import { sectionPages } from "./page/section-pages.ts";
import { stepPages } from "./page/step-pages.ts";
import { correctionRows, SURE_HEADS, SURE_SAYS, sureCells } from "./sure-rows.ts";
import { timeText, valueText, verdictSays } from "./words.ts";

/** The run sheet as pages of the drawing list, in the order a person works. */
export function runSheetPages(input: ReportInput, paper: Paper): Drawing[] {
  const flow = new Flow({
    paper,
    headLeft: `Run sheet: ${input.orderTitle}`,
    headRight: `order ${input.orderName}, ${shortHash(input.orderHash)}`,
    footLeft: `Neckwright ${input.version}. Order hash ${input.orderHash}`,
  });
  frontPage(flow, input);
  orderInBrief(flow, input);
  findings(flow, input);
  surePages(flow, input);
  blankPages(flow, input);
  cutterPages(flow, input);
  cutPages(flow, input);
  stepPages(flow, input);
  proofPages(flow, input);
  neckPages(flow, input);
  figuresPage(flow, input);
  fretTable(flow, input);
  signOff(flow);
  return flow.done();
}

/** The run sheet as a PDF: vector, fonts embedded, the same bytes for the same input. */
export const runSheetPdf = (input: RunSheetInput, paper: Paper): Promise<Uint8Array> =>
  pdf(runSheetPages(input, paper), input.fonts, {
    title: `Run sheet: ${input.orderTitle}`,
    subject: `Order ${input.orderName}, SHA-256 ${input.orderHash}`,
  });

function frontPage(flow: Flow, input: ReportInput): void {
  flow.newPage("Cautions");
  flow.heading("Run sheet", 1);
  flow.paragraph(`${input.orderTitle} (order ${input.orderName}) on ${input.shop.title}, ${input.shop.machine.name}.`);
  flow.space(1);
  flow.note(CAUTIONS_TITLE, [DEFERS], "accent");
  flow.list(CAUTIONS, { box: true });
  flow.heading("Published limits for dust and noise", 3);
  flow.table(
    [
      { head: "what", share: 2.2 },
      { head: "limit", share: 4.3 },
      { head: "where it stands", share: 3.5 },
    ],
    EXPOSURE.map((e) => [e.what, e.limit, e.source]),
    { size: 2.5 },
  );
  flow.paragraph(
    `A router in hardwood is often 95 to 105 dBA at the ear (common practice, no source; measure yours). By the 3 dB rule that is ${(hoursAt(95) * 60).toFixed(0)} minutes a day unprotected at 95 dBA and ${(hoursAt(105) * 60).toFixed(0)} at 105.`,
    { size: 2.6, ink: "soft" },
  );
}

const headSays = (h: ReportInput["neck"]["order"]["headstock"]): string =>
  (h.kind ?? "flat") === "flat" ? `face ${dim(h.drop)} mm below the glue plane` : `${h.kind}, tilted ${dim(radToDeg(h.angle ?? 0))}°`;

const fretsSay = (f: ReportInput["neck"]["order"]["frets"]): string => {
  if (f.kind === "none") return "no frets";
  return `${f.count} ${f.kind === "lines" ? "inlaid lines" : "frets"}`;
};

function orderInBrief(flow: Flow, input: ReportInput): void {
  const { neck, shop, holding } = input;
  const o = neck.order;
  flow.newPage("The order in brief");
  flow.heading("The order in brief");
  const radius = Number.isFinite(o.board.radius.nut)
    ? o.board.radius.nut === o.board.radius.end
      ? `radius ${dim(o.board.radius.nut)}`
      : `radius ${dim(o.board.radius.nut)} at the nut to ${dim(o.board.radius.end)} at its end`
    : "flat";
  const [n0, n1] = neck.boardEdges(0);
  const rows: [string, string][] = [
    ["Instrument", `${o.instrument}, ${o.strings.count} strings, ${o.hand}-handed`],
    [
      "Scale",
      `${o.fan ? `${dim(o.fan.bass)} mm bass, ${dim(o.fan.treble)} mm treble` : `${dim(o.scale)} mm`}, ${fretsSay(o.frets)}${o.nut.zeroFret === undefined ? "" : " and a zero fret"}, slots ${dim(o.frets.kerf)} wide and ${dim(o.frets.depth)} deep, ${o.frets.ends} ends`,
    ],
    ["Board", `${o.wood.board}, ${dim(o.board.thickness)} mm, ${radius}; ${dim(n1 - n0)} mm wide at the nut`],
    [
      "Shaft",
      `${o.wood.shaft}; ${o.carve.stations.map((s) => `${dim(s.thickness)} mm at ${s.at.kind === "fret" ? `fret ${s.at.fret}` : `x ${dim(s.at.x)}`}`).join(", ")}`,
    ],
    ["Heel", `${o.heel.kind}, ${dim(o.heel.thickness)} mm thick, ${dim(o.heel.length)} long, ${neck.features.screws.length} screw bores`],
    [
      "Rod",
      o.rod.kind === "none"
        ? "none"
        : `channel ${dim(o.rod.width)} wide, cut from the ${o.rod.from}, ${dim(o.rod.from_x)} to ${dim(o.rod.to_x)} mm from the nut`,
    ],
    [
      "Headstock",
      `${dim(o.headstock.thickness)} mm thick, ${headSays(o.headstock)}, ${
        neck.features.rollers.length > 0
          ? `slotted, ${neck.features.rollers.length} roller bores`
          : `${neck.features.tuners.length} tuner bores`
      }`,
    ],
    [
      "Blank",
      `${dim(holding.blank.length)} x ${dim(holding.blank.width)} x ${dim(holding.blank.thickness)} mm${holding.blank.boardThickness > 0 ? `, of which the board is ${dim(holding.blank.boardThickness)}` : ""}; datum edge on the ${o.blank.datumEdge} side; ${dim(o.blank.moisture)} % moisture`,
    ],
    [
      "Machine",
      `${shop.machine.name}: travel ${dim(shop.machine.travel.x)} x ${dim(shop.machine.travel.y)} x ${dim(shop.machine.travel.z)} mm, spindle ${shop.machine.spindle.min} to ${shop.machine.spindle.max} rpm`,
    ],
  ];
  flow.table(
    [
      { head: "what", share: 1.3 },
      { head: "ordered", share: 8.7 },
    ],
    rows.map(([a, b]) => [{ text: a, bold: true }, b]),
  );
  flow.heading("Programs");
  const total = input.programs.reduce((s, p) => s + p.seconds, 0);
  flow.table(
    [
      { head: "file", share: 3.6 },
      { head: "side", share: 0.8 },
      { head: "cutter", share: 2.2 },
      { head: "time", share: 1.5, align: "right" },
      { head: "SHA-256 begins", share: 1.9 },
    ],
    input.programs.map((p) => {
      const c = input.shop.cutters.find((k) => k.number === p.cutter);
      return [p.file, p.side, `T${p.cutter}${c ? ` ${c.name}` : ""}`, timeText(p.seconds), shortHash(p.sha256)];
    }),
  );
  flow.paragraph(
    `${input.programs.length} programs, ${timeText(total)} of cutting, without changes of cutter, hand work or the runs in air. Compare the hashes when files have travelled: sha256sum FILE.`,
  );
  flow.paragraph(`Proof: ${verdictSays(input.proof)}`, { bold: true });
}

const SEVERITY = { stop: "STOP", warn: "warning", note: "note" } as const;

function findings(flow: Flow, input: ReportInput): void {
  flow.heading("Findings");
  const overrides = input.neck.order.overrides;
  if (input.findings.length === 0) flow.paragraph("None: every rule of design, holding, cutting, paths, programs and proof holds.");
  else
    flow.table(
      [
        { head: "rule", share: 1 },
        { head: "weight", share: 1.1 },
        { head: "where", share: 1.9 },
        { head: "what was found", share: 3.6 },
        { head: "value, limit", share: 1.6 },
        { head: "what to try", share: 2.8 },
      ],
      input.findings.map((f) => {
        const overridden = f.severity === "stop" && overrides.some((o) => o.rule === f.rule);
        const weight = overridden ? "STOP, overridden" : SEVERITY[f.severity];
        const ink = f.severity === "stop" ? ("accent" as const) : ("ink" as const);
        return [
          { text: f.rule, bold: true, ink },
          { text: weight, bold: f.severity === "stop", ink },
          f.where,
          f.says,
          `${valueText(f.value, f.unit)}, ${valueText(f.limit, f.unit)}`,
          f.tryThis,
        ];
      }),
      { size: 2.5 },
    );
  if (overrides.length > 0) {
    flow.note(
      "Rules overridden by the maker",
      overrides.map((o) => `${o.rule}: ${o.reason}`),
      "accent",
    );
  }
}

/** What was measured and put right, and how sure the rest is. */
function surePages(flow: Flow, input: ReportInput): void {
  const rows = correctionRows(input);
  flow.heading("Measured and put right");
  if (rows.length === 0)
    flow.paragraph("No corrections are in force: the machine is taken to do what it is told, the wood to be as ordered.");
  else {
    flow.paragraph("The programs are posted with these; on another machine, or after an adjustment of this one, they are wrong.", {
      bold: true,
    });
    flow.table(
      [
        { head: "day", share: 1.3 },
        { head: "of the", share: 1 },
        { head: "correction", share: 4.2 },
        { head: "why", share: 3.5 },
      ],
      rows.map((r) => [r.date, r.of, r.says, r.reason]),
      { size: 2.5 },
    );
  }
  flow.heading("How sure");
  flow.table(
    SURE_HEADS.map((head, k) => ({ head, share: [2.4, 1.3, 1.1, 1, 1, 3.2][k]! })),
    input.budget.map(sureCells),
    { size: 2.5 },
  );
  flow.paragraph(SURE_SAYS, { size: 2.6, ink: "soft" });
}

function blankPages(flow: Flow, input: ReportInput): void {
  const { neck, holding } = input;
  flow.newPage("Blank and marking out", "landscape");
  flow.heading("Blank and marking out");
  flow.list(
    [
      `Wood rested and dry (${dim(neck.order.blank.moisture)} % moisture asked). Faces planed flat and parallel; datum edge planed straight and square to the faces, headstock end square to it.`,
      `Measure the blank: at least ${dim(holding.blank.length)} x ${dim(holding.blank.width)} x ${dim(holding.blank.thickness)} mm, no knot or crack inside the outline. Mark datum edge, headstock end, nut line and centreline as drawn.`,
    ],
    { box: true },
  );
  flow.figure(fitted((s) => markingDrawing(neck, holding, s), flow.width, flow.room - 6, 1));
  if (holding.sections !== undefined) {
    sectionPages(flow, input);
    return;
  }
  for (const name of ["board", "carve"] as const) {
    const side = holding.sides[name];
    flow.newPage(name === "board" ? "Holding, board side" : "Holding, carve side", "landscape");
    flow.heading(name === "board" ? "Pins, blocks and zero: board side" : "Pins, blocks and zero: carve side");
    flow.paragraph(
      `Zero: ${side.zeroSays}. On the bed, from its corner: X ${dim(side.zeroOnBed[0])}, Y ${dim(side.zeroOnBed[1])} mm. Rapids across travel at Z ${dim(side.safeZ)} or higher.`,
    );
    const under = (): void => {
      holdingTable(flow, side, input.shop.machine);
      const clear = clearSays(input.plan, name);
      if (clear !== null) flow.paragraph(clear, { size: 2.6 });
      const { grid } = input.shop.machine;
      if (grid !== undefined)
        flow.paragraph(
          `Holes of the bed: ${grid.holes}, for ${dim(grid.diameter)} mm, every ${dim(grid.pitch)} mm from X ${dim(grid.first.x)}, Y ${dim(grid.first.y)} of its corner; counted from there, first along the machine's X, then along its Y, from 1. Set the zero by the pins once they stand.`,
        );
    };
    const room = flow.room - flow.heightOf(under) - CAPTION;
    flow.figure(fitted((s) => blankDrawing(neck, holding, name, s, input.shop.machine), flow.width, room, 1));
    under();
  }
}

function cutterPages(flow: Flow, input: ReportInput): void {
  const cutters = usedCutters(input);
  flow.newPage("Cutters");
  flow.heading("Cutters and their stick-out");
  if (cutters.length === 0) {
    flow.paragraph("No program, no cutter.");
    return;
  }
  flow.figure(
    fitted((s) => cuttersDrawing(cutters, s, flow.width), flow.width, 140, 1),
    { bars: true },
  );
  flow.table(
    [
      { head: "no.", share: 0.6 },
      { head: "cutter", share: 3 },
      { head: "shape", share: 1 },
      { head: "⌀", share: 0.9, align: "right" },
      { head: "flutes", share: 0.9, align: "right" },
      { head: "cuts up to", share: 1.2, align: "right" },
      { head: "stick-out", share: 1.2, align: "right" },
      { head: "most rpm", share: 1.2, align: "right" },
      { head: "in programs", share: 2.4 },
    ],
    cutters.map((c) => [
      { text: `T${c.number}`, bold: true },
      c.name,
      c.shape,
      dim(c.diameter),
      `${c.flutes}`,
      dim(c.fluteLength),
      { text: dim(c.reach), bold: true },
      `${c.maxRpm}`,
      input.programs
        .filter((p) => p.cutter === c.number)
        .map((p) => /(\d+)[^/]*$/.exec(p.file)?.[1] ?? p.file)
        .join(", "),
    ]),
  );
  flow.list(
    [
      `Stick-out is from the tip to the holder's face: ${cutters.map((c) => `T${c.number} ${dim(c.reach)}`).join(", ")} mm. Shorter may bring the holder into the wood, longer bends more.`,
      "Edges sharp and clean, no chips missing; diameter measured; marked speed not exceeded.",
    ],
    { box: true },
  );
}

/** Every cut with its speeds, what it asks of cutter and machine, its time, and what bound it. */
function cutPages(flow: Flow, input: ReportInput): void {
  if (input.plan.cuts.length === 0) return;
  const { rows } = input;
  flow.newPage("Cuts", "landscape");
  flow.heading("Cuts: speeds, loads, and what limited them");
  const shares = [2.2, 0.7, 0.8, 0.8, 0.9, 0.9, 0.9, 0.8, 0.8, 0.8, 1.3, 4];
  flow.table(
    CUT_HEADS.map((head, i) => ({ head, share: shares[i]!, ...(i > 1 && i < 11 ? { align: "right" as const } : {}) })),
    rows.map((r) => cutCells(r, timeText)),
    { size: 2.4 },
  );
  flow.paragraph(`${CUT_UNITS} ${forcesSay(input.shop)}`, { size: 2.6, ink: "soft" });
  const use = cutterUse(rows, input.shop);
  flow.paragraph(
    `Length in wood, at most: ${use.map((u) => `T${u.cutter.number} ${(u.inWood / 1000).toFixed(1)} m${u.life === null ? "" : ` (${lifeText(u.life)} of its life)`}`).join(", ")}.`,
    { size: 2.6 },
  );
  const cost = costOf(input.programs, use, input.shop);
  if (cost !== null) flow.paragraph(cost.says, { size: 2.6 });
}

function neckPages(flow: Flow, input: ReportInput): void {
  const { neck } = input;
  const pages: readonly [string, (s: number) => Drawing, number][] = [
    ["Plan", (s) => planDrawing(neck, s), 1],
    ["Side view and section", (s) => sideDrawing(neck, s), 1],
    ["Sections", (s) => sectionsDrawing(neck, s), 2],
    ["Headstock", (s) => headstockDrawing(neck, s), 1],
    ["Tear-out map", (s) => tearOutDrawing(neck, s), 1],
  ];
  for (const [title, draw, most] of pages) {
    flow.newPage(title, "landscape");
    flow.figure(fitted(draw, flow.width, flow.room - 6, most));
  }
}

function fretTable(flow: Flow, input: ReportInput): void {
  const table = fretRows(input);
  if (table === null) return;
  flow.newPage("Fret table");
  flow.heading("Fret table");
  flow.paragraph(table.says);
  flow.table(
    table.heads.map((head, i) => ({ head, share: i === 0 ? 0.8 : 1.5, align: "right" as const })),
    table.rows,
  );
  flow.paragraph(table.check);
}

/** The short list of what the neck means, and the cents chart: one page, the report has the rest. */
function figuresPage(flow: Flow, input: ReportInput): void {
  const { meaning } = input;
  if (meaning === null) return;
  flow.newPage("Figures of this neck");
  flow.heading("Figures of this neck");
  flow.paragraph("What it means for player and wood, each with the band it may lie in; sources and the rest are in report.html.");
  flow.table(
    [
      { head: "what", share: 5 },
      { head: "value", share: 1.3, align: "right" },
      { head: "unit", share: 1 },
      { head: "band", share: 2.2, align: "right" },
    ],
    meaning.figures.filter((f) => f.short).map((f) => [...figureRow(f)]),
  );
  flow.figure(centsDrawing(input.neck, flow.width));
}

function signOff(flow: Flow): void {
  flow.need(120);
  flow.heading("Sign-off");
  flow.table(
    [
      { head: "done", share: 4.4 },
      { head: "by", share: 2.6 },
      { head: "date", share: 1.6 },
      { head: "remarks", share: 3.4 },
    ],
    [
      "Blank chosen, planed, marked out",
      "Holding and zero, board side",
      "Programs run in air, board side",
      "Board side cut and checked",
      "Turned, holding and zero, carve side",
      "Programs run in air, carve side",
      "Carve side cut and checked",
      "Measured against this sheet, freed from the waste",
    ].map((t) => [t, "", "", ""]),
  );
  flow.heading("Notes", 3);
  flow.ruledLines(8);
}
