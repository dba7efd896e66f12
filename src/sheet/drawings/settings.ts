import { compose } from "../../holding/transform.ts";
import type { Holding, Side, Transform } from "../../holding/types.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, type View } from "../draw/view.ts";
import { blankDrawing } from "./blank.ts";
import { dim, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

/** A side as it lies in one of its sections: everything in that section's program frame. */
export function sectionSide(side: Side, number: number): Side {
  const section = side.sections?.find((s) => s.number === number);
  if (section === undefined) return side;
  const [dx, dy] = section.shift;
  const back: Transform = [1, 0, 0, -dx, 0, 1, 0, -dy, 0, 0, 1, 0];
  const { min, max } = side.stock;
  return {
    ...side,
    neckToProgram: compose(back, side.neckToProgram),
    stock: { min: [min[0] - dx, min[1] - dy, min[2]], max: [max[0] - dx, max[1] - dy, max[2]] },
    holding: section.holding,
  };
}

/**
 * One section of a side at the machine, from above: the blank where it lies, what stands out over the bed, pins and blocks, the seams
 * between which this section cuts, and the index holes it bores for the next.
 */
export function settingDrawing(
  neck: Neck,
  holding: Holding,
  machine: Pick<MachineSpec, "bed" | "grid">,
  name: "board" | "carve",
  number: number,
  scale: number,
): Drawing {
  const whole = holding.sides[name];
  const plan = holding.sections;
  const section = whole.sections?.find((s) => s.number === number);
  if (plan === undefined || section === undefined) return blankDrawing(neck, holding, name, scale);
  const side = sectionSide(whole, number);
  const base = blankDrawing(neck, { ...holding, sides: { ...holding.sides, [name]: side } }, name, scale, machine);
  const { min, max } = side.stock;
  const turned = Math.abs(side.neckToProgram[0]) < 0.5;
  const view: View = turned
    ? { origin: base.origin ?? [0, 0], scale, ex: [0, 1], ey: [1, 0] }
    : { origin: base.origin ?? [0, 0], scale, ex: [1, 0], ey: [0, -1] };
  const pen = new Pen();
  // the bed, from its own corner
  const [zx, zy] = side.zeroOnBed;
  const corner = (x: number, y: number): XY => at(view, x - zx, y - zy);
  const clip = (p: XY): XY => [Math.min(Math.max(p[0], 1), base.width - 1), Math.min(Math.max(p[1], 1), base.height - 1)];
  const ring = [corner(0, 0), corner(machine.bed.x, 0), corner(machine.bed.x, machine.bed.y), corner(0, machine.bed.y)].map(clip);
  pen.polyline("phantom", ring, { closed: true, layer: "bed" });
  const [left, low] = [Math.min(...ring.map((p) => p[0])), Math.max(...ring.map((p) => p[1]))];
  // above the lines of words at the foot of the drawing
  pen.text([left + 2, Math.min(low - 1.5, base.height - 16)], `bed ${dim(machine.bed.x)} x ${dim(machine.bed.y)}`, SIZE.small, {
    ink: "soft",
    ground: true,
  });
  // seams across the blank, and index holes of this section
  const [wx, wy] = section.shift;
  const frame = (along: number, across: number): XY => {
    const sign = (a: number, b: number): number => (Math.abs(a) > Math.abs(b) ? Math.sign(a) : Math.sign(b));
    const u = along * sign(turned ? whole.stock.max[1] : whole.stock.max[0], turned ? whole.stock.min[1] : whole.stock.min[0]);
    const v = across * sign(turned ? whole.stock.max[0] : whole.stock.max[1], turned ? whole.stock.min[0] : whole.stock.min[1]);
    return turned ? at(view, v - wx, u - wy) : at(view, u - wx, v - wy);
  };
  const width = turned ? max[0] - min[0] : max[1] - min[1];
  plan.seams.forEach((s, i) => {
    if (i + 1 !== number && i + 2 !== number) return;
    const [a, b] = [frame(s.at, -4), frame(s.at, width + 4)];
    pen.line("wide", a, b, { layer: "seam", ink: "accent" });
    pen.text([a[0] + 1.5, (a[1] + b[1]) / 2], `seam ${i + 1}`, SIZE.small, { ink: "accent", ground: true });
  });
  for (const h of plan.holes.filter((q) => q.section === number + 1)) {
    const c = frame(h.along, h.across);
    pen.circle(name === "board" ? "wide" : "hidden", c, (h.diameter / 2) * scale, { layer: "index hole" });
    pen.cross(c, (h.diameter / 2) * scale, 0.8);
  }
  const what = name === "board" ? "Board side" : "Carve side";
  return {
    ...base,
    id: `setting-${name}-${number}`,
    title: `${what}, section ${number} of ${plan.count}`,
    says: `Section ${number} of ${plan.count} of the ${name} side from above: the blank, shifted by ${dim(Math.hypot(...section.shift))} mm from section 1, on a bed of ${dim(machine.bed.x)} x ${dim(machine.bed.y)} mm; it cuts between ${dim(section.from)} and ${dim(section.to)} mm along the blank. ${section.holding.filter((s) => s.role === "index pin").length} index pins.`,
    items: [...base.items, ...pen.items],
  };
}
