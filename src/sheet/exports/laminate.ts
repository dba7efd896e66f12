import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView } from "../draw/view.ts";
import { dim, SIZE } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import type { Flow } from "../page/flow.ts";
import { fitted } from "../page/parts.ts";
import { COMMON, type ExportInput, hundredths } from "./input.ts";

/** Left on the thickness of every strip for planing its two glue faces. Common practice, no source. */
const PLANING = 1;

/** The shaft of strips: widths, woods and joints in order from the datum edge. */
export function laminatePage(flow: Flow, input: ExportInput): void {
  const { neck } = input;
  const o = neck.order;
  const strips = o.wood.strips ?? [];
  const sum = strips.reduce((s, x) => s + x.width, 0);
  const fromBass = o.blank.datumEdge === "bass";
  const order = fromBass ? strips : [...strips].reverse();
  flow.newPage("Laminate");
  flow.heading("Shaft of strips");
  flow.paragraph(
    `${strips.length} strips side by side, ${strips.length - 1} joints, counted here from the datum edge (${o.blank.datumEdge} side). Together ${hundredths(sum)} mm${
      Math.abs(sum - o.blank.width) < 0.005
        ? ", the blank's width"
        : `; the blank is ${hundredths(o.blank.width)} wide: ${hundredths(Math.abs(o.blank.width - sum))} ${o.blank.width > sum ? "are missing, make the outer strips wider" : "are planed off, half on each side unless the middle strip is to move"}`
    }. Shaft ${dim(o.blank.shaftThickness)} thick.`,
  );
  const thick = o.blank.shaftThickness;
  flow.figure(
    fitted((k) => endDrawing(order, thick, sum, k), flow.width, 60, 2),
    { caption: "End of the shaft, datum edge left" },
  );
  let at0 = 0;
  const rows = order.map((s, i) => {
    const from = at0;
    at0 += s.width;
    return [
      `${i + 1}`,
      s.wood,
      hundredths(s.width),
      hundredths(s.width + PLANING),
      hundredths(from),
      hundredths(at0),
      i + 1 < order.length ? hundredths(at0 - input.blank.placement.centreFromDatum) : "–",
    ];
  });
  flow.table(
    [
      { head: "strip", share: 0.6, align: "right" },
      { head: "wood", share: 2 },
      { head: "finished", share: 1, align: "right" },
      { head: "sawn", share: 1, align: "right" },
      { head: "from datum", share: 1, align: "right" },
      { head: "to", share: 1, align: "right" },
      { head: "joint from centreline", share: 1.3, align: "right" },
    ],
    rows,
  );
  flow.list(
    [
      `Saw each strip ${PLANING} mm over (${COMMON}); plane both glue faces flat and parallel just before gluing, not the day before. Length ${hundredths(o.blank.length)} and a little for trimming.`,
      "Lay the strips so that the grain of neighbours runs opposite ways along the neck, growth rings upright; mark a triangle over all of them so that none is turned or swapped.",
      "Glue all joints, or two at a time with thin middle strips; clamp between straight cauls with stops so that the pack neither bows nor slides. Let it rest until its moisture is even again before planing the datum edge.",
      ...(strips.some((_, i) => i > 0 && Math.abs(jointAt(strips, i) - sum / 2) < 4)
        ? ["A joint runs near the centreline: the rod's channel will cut into it."]
        : []),
    ],
    { box: true, size: 2.8 },
  );
}

const jointAt = (strips: readonly { readonly width: number }[], i: number): number => strips.slice(0, i).reduce((s, x) => s + x.width, 0);

/** The pack from its end: every strip with its width and its wood. */
function endDrawing(order: readonly { readonly wood: string; readonly width: number }[], thick: number, sum: number, k: number): Drawing {
  const view = uprightView([10, 10 + thick * k], k);
  const pen = new Pen();
  let x = 0;
  const low = at(view, 0, 0)[1];
  const woods = [...new Set(order.map((s) => s.wood))];
  order.forEach((s, i) => {
    const ring: XY[] = [at(view, x, 0), at(view, x + s.width, 0), at(view, x + s.width, thick), at(view, x, thick)];
    const w = woods.indexOf(s.wood);
    pen.hatch({ rings: [ring], grain: "end", spacing: w % 2 === 0 ? 1.6 : 0.8, turn: 30 * w + 7 * (i % 2) });
    pen.polyline("wide", ring, { closed: true });
    pen.dimension({ a: at(view, x, 0), b: at(view, x + s.width, 0), along: "x", line: low + 6, text: dim(s.width) });
    pen.text([(at(view, x, 0)[0] + at(view, x + s.width, 0)[0]) / 2, at(view, 0, thick)[1] - 1.6], `${i + 1}`, SIZE.small, {
      anchor: "middle",
    });
    x += s.width;
  });
  pen.line("heavy", at(view, 0, 0), at(view, 0, thick), { ink: "accent" });
  pen.dimension({ a: at(view, sum, 0), b: at(view, sum, thick), along: "y", line: at(view, sum, 0)[0] + 6, text: dim(thick) });
  return {
    id: "laminate",
    title: "Laminate",
    says: "The strips from the end of the shaft.",
    width: 24 + sum * k,
    height: low + 10,
    group: 0.35,
    items: pen.items,
    scale: k,
  };
}
