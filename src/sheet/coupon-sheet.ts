import type { Solid } from "../holding/types.ts";
import type { Mm, Seconds } from "../units/index.ts";
import { CAUTIONS, CAUTIONS_TITLE, DEFERS } from "./cautions.ts";
import type { Drawing } from "./draw/types.ts";
import { dim, shortHash } from "./drawings/common.ts";
import { Pen } from "./drawings/pen.ts";
import { Flow, type Paper } from "./page/flow.ts";
import { fitted } from "./page/parts.ts";
import { fixed, timeText } from "./words.ts";

/** What the sheet of a fit coupon says. */
export interface CouponSheet {
  readonly shopTitle: string;
  readonly machine: string;
  readonly cutter: { readonly number: number; readonly name: string; readonly reach: Mm };
  readonly recess: Mm;
  readonly depth: Mm;
  readonly scrap: readonly [Mm, Mm, Mm];
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly holding: readonly Solid[];
  readonly recesses: readonly {
    readonly position: number;
    readonly allowance: Mm;
    readonly diameter: Mm;
    readonly x: Mm;
    readonly y: Mm;
    readonly zFloor: Mm;
  }[];
  readonly measures: readonly { readonly id: string; readonly what: string; readonly measured: Mm }[];
  readonly file: string;
  readonly sha256: string;
  readonly seconds: Seconds;
  readonly rpm: number;
  readonly safeZ: Mm;
  /** The command that stores position K. */
  readonly choose: string;
  readonly forces: string;
  readonly version: string;
}

/** The piece from above, lying as at the machine: zero, blocks, recesses with their numbers. */
export function couponDrawing(c: CouponSheet, scale: number): Drawing {
  const pen = new Pen();
  const { min, max } = c.stock;
  const boxes = c.holding.filter((s) => s.kind === "box");
  const [x0, y0] = [0, 1].map((k) => Math.min(min[k]!, ...boxes.map((b) => b.min[k]!)) - 6);
  const [x1, y1] = [0, 1].map((k) => Math.max(max[k]!, ...boxes.map((b) => b.max[k]!)) + 6);
  const at = (x: Mm, y: Mm): [number, number] => [(x - x0!) * scale, (y1! - y) * scale];
  pen.rect("wide", at(min[0], min[1]), at(max[0], max[1]));
  for (const b of boxes) {
    pen.rect("narrow", at(b.min[0], b.min[1]), at(b.max[0], b.max[1]));
    pen.text(at((b.min[0] + b.max[0]) / 2, (b.min[1] + b.max[1]) / 2), "block", 2.2, { anchor: "middle", ink: "soft", ground: true });
  }
  for (const r of c.recesses) {
    const [px, py] = at(r.x, r.y);
    pen.circle("narrow", [px, py], (r.diameter / 2) * scale);
    pen.text([px, py + 0.9], `${r.position}`, 2.5, { anchor: "middle", bold: true });
  }
  const zero = at(0, 0);
  pen.cross(zero, 2, 1.5, { ink: "accent" });
  pen.text([zero[0] + 1.5, zero[1] - 1.2], "X 0 Y 0", 2.2, { ink: "accent", ground: true });
  const says = `Scrap ${dim(c.scrap[0])} x ${dim(c.scrap[1])} x ${dim(c.scrap[2])} mm, ${c.recesses.length} recesses, number 1 nearest to zero, a block on each end.`;
  return {
    id: "coupon",
    title: "Fit coupon, from above",
    says,
    width: (x1! - x0!) * scale,
    height: (y1! - y0!) * scale,
    group: 0.35,
    items: pen.items,
    scale,
  };
}

/** The sheet's pages. */
export function couponPages(c: CouponSheet, paper: Paper): Drawing[] {
  const flow = new Flow({
    paper,
    headLeft: `Fit coupon: T${c.cutter.number} ${c.cutter.name}`,
    headRight: `${c.file}, ${shortHash(c.sha256)}`,
    footLeft: `Neckwright ${c.version}. Program SHA-256 ${c.sha256}`,
  });
  flow.newPage("Fit coupon");
  flow.heading("Fit coupon", 1);
  flow.paragraph(
    `${c.recesses.length} round recesses of ${dim(c.recess)} mm, each 0.05 mm wider than the one before, cut with T${c.cutter.number} ${c.cutter.name} on ${c.machine} (${c.shopTitle}) exactly as marker recesses are. The one your marker fits tells what this cutter on this machine needs.`,
  );
  flow.note(CAUTIONS_TITLE, [DEFERS], "accent");
  flow.list(CAUTIONS, { box: true, size: 2.6 });
  flow.newPage("Set-up and choice");
  flow.heading("Set up");
  flow.list(
    [
      `A flat piece of scrap of the same wood, ${dim(c.scrap[0])} x ${dim(c.scrap[1])} x ${dim(c.scrap[2])} mm. Write "1" with a pencil at the end that lies at zero.`,
      "Long edge against the fence, end against the stop, both blocks screwed or clamped down as drawn. It must not move when you push it hard.",
      `Zero: the corner where fence and stop meet is X 0 Y 0, Z 0 is the bed. Rapids travel at Z ${dim(c.safeZ)}.`,
      `T${c.cutter.number} in the spindle, ${dim(c.cutter.reach)} mm from tip to holder, ${c.rpm} rpm. First run in air, hand at the stop. ${timeText(c.seconds)} of cutting.`,
    ],
    { box: true },
  );
  flow.figure(fitted((s) => couponDrawing(c, s), flow.width, 90, 1));
  flow.heading("Choose");
  flow.list(
    [
      "Blow nothing out by mouth: use the extraction. Try the marker in every recess, beginning with number 1.",
      "Choose the first that takes the marker as you like it: in by hand pressure, no rattle, room for a film of glue.",
      `Store it: ${c.choose}`,
      "From then on the recesses that this cutter makes are that much wider or narrower than the order says; sheets and proof say so.",
    ],
    { box: true },
  );
  const measured = (k: number): string => {
    const m = c.measures.find((q) => q.id === `recess-${k}` && q.what === "diameter");
    return m ? fixed(m.measured) : "–";
  };
  flow.table(
    [
      { head: "position", share: 1 },
      { head: "allowance", share: 1.3, align: "right" },
      { head: "diameter", share: 1.3, align: "right" },
      { head: "proved", share: 1.3, align: "right" },
      { head: "X", share: 1.2, align: "right" },
      { head: "Y", share: 1.2, align: "right" },
      { head: "depth", share: 1, align: "right" },
      { head: "how the marker fits", share: 3 },
    ],
    c.recesses.map((r) => [
      { text: `${r.position}`, bold: true },
      `${r.allowance > 0 ? "+" : ""}${r.allowance.toFixed(2)}`,
      r.diameter.toFixed(2),
      measured(r.position),
      dim(r.x),
      dim(r.y),
      dim(c.depth),
      "",
    ]),
  );
  flow.paragraph(`All in mm. ${c.forces}`, { size: 2.6, ink: "soft" });
  return flow.done();
}
