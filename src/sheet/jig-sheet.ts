import type { Jig } from "../paths/jig.ts";
import type { Mm, Seconds } from "../units/index.ts";
import { CAUTIONS, CAUTIONS_TITLE, DEFERS } from "./cautions.ts";
import type { Drawing, XY } from "./draw/types.ts";
import { dim, shortHash } from "./drawings/common.ts";
import { Pen } from "./drawings/pen.ts";
import { Flow, type Paper } from "./page/flow.ts";
import { fitted } from "./page/parts.ts";
import { fixed, timeText } from "./words.ts";

/** What the sheet of a location plate says. */
export interface JigSheet {
  readonly orderTitle: string;
  readonly machine: string;
  readonly jig: Jig;
  readonly hole: string;
  readonly pin: string;
  readonly measures: readonly { readonly id: string; readonly what: string; readonly measured: Mm }[];
  readonly programs: readonly {
    readonly file: string;
    readonly sha256: string;
    readonly cutter: number;
    readonly name: string;
    readonly reach: Mm;
    readonly rpm: number;
    readonly seconds: Seconds;
  }[];
  readonly forces: string;
  readonly version: string;
}

const MARGIN = 24;

/** The plate from above, as it lies while it is bored: holes by number with distances from its lower left corner, zeros, supports. */
export function jigDrawing(jig: Jig, scale: number): Drawing {
  const pen = new Pen();
  const [w, h] = jig.plate;
  const lying = w >= h;
  // a plate whose long way is y is drawn a quarter turn clockwise: y to the right, x down
  const [long, wide] = lying ? [w, h] : [h, w];
  const at = (x: Mm, y: Mm): XY => (lying ? [MARGIN + x * scale, MARGIN + (h - y) * scale] : [MARGIN + y * scale, MARGIN + x * scale]);
  pen.rect("wide", at(0, 0), at(w, h));
  pen.rect("hidden", at(...jig.blank.min), at(...jig.blank.max));
  // of the blocks only what lies on the plate
  for (const s of jig.holding) {
    if (s.kind !== "box") continue;
    const lo: XY = [Math.max(0, s.min[0]), Math.max(0, s.min[1])];
    const hi: XY = [Math.min(w, s.max[0]), Math.min(h, s.max[1])];
    pen.rect("narrow", at(...lo), at(...hi), { ink: "soft" });
  }
  for (const m of jig.marks)
    for (const line of m.lines)
      pen.polyline(
        "narrow",
        line.map((p) => at(p[0], p[1])),
        m.id.startsWith("zero") ? { ink: "accent" } : {},
      );
  for (const side of ["board", "carve"] as const) {
    const p = at(...jig.zeros[side]);
    pen.text([p[0] + 2, p[1] - 1.2], `zero, ${side} side`, 2.2, { ink: "accent", ground: true });
  }
  jig.holes.forEach((hole, k) => {
    const p = at(hole.x, hole.y);
    pen.circle("wide", p, (hole.diameter / 2) * scale);
    pen.cross(p, (hole.diameter / 2) * scale, 1.2);
    pen.text([p[0] + (hole.diameter / 2) * scale + 1, p[1] + 3], `${k + 1}`, 2.5, { bold: true, ground: true });
  });
  const corner = at(0, 0);
  const low = MARGIN + wide * scale;
  pen.cross(corner, 2, 1.5, { ink: "accent" });
  // along the plate: each place of a hole once, and the whole
  const u = (x: Mm, y: Mm): Mm => (lying ? x : y);
  const v = (x: Mm, y: Mm): Mm => (lying ? y : x);
  const once = (values: readonly Mm[]): Mm[] => [...new Set(values.map((q) => Math.round(q * 1000) / 1000))].sort((a, b) => a - b);
  const alongs = once([...jig.holes.map((q) => u(q.x, q.y)), long]);
  const start = corner[0];
  const edge = lying ? low : MARGIN;
  const out = lying ? 1 : -1;
  alongs.forEach((d, k) => {
    pen.dimension({
      a: [start, edge],
      b: [start + d * scale, edge],
      along: "x",
      line: edge + out * (4 + 4.5 * k),
      text: dim(d),
      ground: true,
      size: 2.2,
    });
  });
  const acrosses = once([...jig.holes.map((q) => v(q.x, q.y)), wide]);
  acrosses.forEach((d, k) => {
    const y = lying ? corner[1] - d * scale : corner[1] + d * scale;
    pen.dimension({ a: [start, corner[1]], b: [start, y], along: "y", line: start - 4 - 4.5 * k, text: dim(d), ground: true, size: 2.2 });
  });
  const says = `Sheet ${dim(long)} x ${dim(wide)} x ${dim(jig.plate[2])} mm with ${jig.holes.length} pin holes, both sides' zeros and the places of the supports. Dashed: where the blank lies, on both sides. Across both ends: the blocks that hold the sheet while it is bored.`;
  return {
    id: "location-plate",
    title: "Location plate, from above",
    says,
    width: 2 * MARGIN + long * scale,
    height: 2 * MARGIN + wide * scale,
    group: 0.35,
    items: pen.items,
    scale,
  };
}

/** The sheet's pages. */
export function jigPages(s: JigSheet, paper: Paper): Drawing[] {
  const { jig } = s;
  const [first] = s.programs;
  const flow = new Flow({
    paper,
    headLeft: `Location plate: ${s.orderTitle}`,
    headRight: `${first?.file ?? ""}, ${shortHash(first?.sha256 ?? "")}`,
    footLeft: `Neckwright ${s.version}. Program SHA-256 ${first?.sha256 ?? ""}`,
  });
  flow.newPage("Location plate");
  flow.heading("Location plate", 1);
  flow.paragraph(
    `A plate for ${s.orderTitle} on ${s.machine}: one sheet that finds the blank on both sides. Holes are asked ${dim(jig.holes[0]!.nominal)} ${s.hole} (ISO 286: ${jig.fit.least.toFixed(3)} to ${jig.fit.most.toFixed(3)} mm); with pins of ${s.pin} the clearance is ${jig.fit.clearance.min.toFixed(3)} to ${jig.fit.clearance.max.toFixed(3)} mm. These are figures for metal: holes in sheet of wood move with moisture on top of them.`,
  );
  flow.note(CAUTIONS_TITLE, [DEFERS], "accent");
  flow.list(CAUTIONS, { box: true, size: 2.6 });
  flow.newPage("Set-up");
  flow.heading("Set up");
  flow.list(
    [
      `A flat sheet, ${dim(jig.plate[0])} x ${dim(jig.plate[1])} x ${dim(jig.plate[2])} mm along the machine's X and Y, both faces clean, a block on each end as drawn. It must not move when you push it hard.`,
      `Zero of these programs: the sheet's lower left corner is X 0 Y 0, Z 0 is the bed under it. Rapids travel at Z ${dim(jig.safeZ)}.`,
      ...s.programs.map(
        (p) =>
          `${p.file}: T${p.cutter} ${p.name}, ${dim(p.reach)} mm from tip to holder, ${p.rpm} rpm, ${timeText(p.seconds)}, SHA-256 ${shortHash(p.sha256)}. First run in air, hand at the stop.`,
      ),
      "Fix the plate to the bed with its edge along the machine's axis; then each side's zero is at its cross, and Z 0 of the neck's programs is the plate's upper face.",
      "Put pins only where the side that is being cut wants them; pull the others.",
    ],
    { box: true },
  );
  flow.figure(fitted((scale) => jigDrawing(jig, scale), flow.width, 110, 1));
  flow.heading("Holes");
  const measured = (id: string): string => {
    const m = s.measures.find((q) => q.id === id && q.what === "diameter");
    return m ? fixed(m.measured) : "–";
  };
  flow.table(
    [
      { head: "no.", share: 0.6 },
      { head: "for", share: 3 },
      { head: "X", share: 1, align: "right" },
      { head: "Y", share: 1, align: "right" },
      { head: "asked", share: 1.2 },
      { head: "programmed", share: 1.7, align: "right" },
      { head: "proved", share: 1, align: "right" },
      { head: "deep", share: 0.8, align: "right" },
      { head: "measured", share: 1.4 },
    ],
    jig.holes.map((h, k) => [
      { text: `${k + 1}`, bold: true },
      h.says,
      dim(h.x),
      dim(h.y),
      `${dim(h.nominal)} ${s.hole}`,
      h.diameter.toFixed(4),
      measured(h.id),
      dim(jig.plate[2] - h.zFloor),
      "",
    ]),
  );
  flow.paragraph(
    `All in mm. Programmed: the middle between the limits${jig.fit.allowance === 0 ? "" : `, and ${jig.fit.allowance.toFixed(3)} mm that the cutter was found to need on a coupon`}. ${s.forces}`,
    { size: 2.6, ink: "soft" },
  );
  return flow.done();
}
