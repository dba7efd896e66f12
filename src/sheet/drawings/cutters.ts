import type { Cutter } from "../../cutting/types.ts";
import { wrapText } from "../draw/metrics.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { dim, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

/** Every cutter of the plan from the side, tip down: cutting part, shank, how far it sticks out of its holder. */
export function cuttersDrawing(cutters: readonly Cutter[], scale: number, width: number): Drawing {
  const pen = new Pen();
  const widest = Math.max(0, ...cutters.map((c) => Math.max(c.diameter, c.holder[0]?.diameter ?? 0)));
  const cell = Math.max(widest * scale + 16.5, width / Math.max(1, cutters.length));
  const columns = Math.max(1, Math.floor(width / cell));
  const shown = 12;
  const rowHeight = (Math.max(0, ...cutters.map((c) => c.reach)) + shown) * scale + 28;
  cutters.forEach((c, i) => {
    const cx = ((i % columns) + 0.5) * cell;
    const tipY = (Math.floor(i / columns) + 1) * rowHeight - 22;
    drawCutter(pen, c, [cx, tipY], scale, shown);
    pen.text([cx, tipY + 9], `T${c.number}`, SIZE.note, { anchor: "middle", bold: true });
    wrapText(c.name, cell - 4, SIZE.small)
      .slice(0, 2)
      .forEach((l, k) => {
        pen.text([cx, tipY + 12.8 + k * 3.2], l, SIZE.small, { anchor: "middle", ink: "soft" });
      });
  });
  const rows = Math.ceil(cutters.length / columns);
  return {
    id: "cutters",
    title: "Cutters",
    says: `${cutters.length} cutters with the length that sticks out of the holder: ${cutters.map((c) => `T${c.number} ${dim(c.reach)} mm`).join(", ")}.`,
    width,
    height: rows * rowHeight,
    group: 0.35,
    items: pen.items,
    scale,
  };
}

function drawCutter(pen: Pen, c: Cutter, [cx, tip]: XY, scale: number, shown: number): void {
  const half = profileOf(c);
  const mirror: XY[] = [
    ...half.map(([r, z]): XY => [cx + r * scale, tip - z * scale]),
    ...[...half].reverse().map(([r, z]): XY => [cx - r * scale, tip - z * scale]),
  ];
  pen.polyline("wide", mirror, { closed: true });
  const flute = Math.min(c.fluteLength, c.reach);
  const body = half.filter(([, z]) => z <= flute);
  const r = c.diameter / 2;
  const ring: XY[] = [...body, [r, flute] as XY].map(([a, z]): XY => [cx + a * scale, tip - z * scale]);
  const other: XY[] = [...body, [r, flute] as XY].map(([a, z]): XY => [cx - a * scale, tip - z * scale]);
  pen.hatch({ rings: [[...ring, ...other.reverse()]], grain: "metal", spacing: 0.9 });
  const y = (z: number): number => tip - z * scale;
  const nut = (c.holder[0]?.diameter ?? c.shankDiameter * 2.5) / 2;
  // the holder goes on upward: left open at the top
  pen.polyline("wide", [
    [cx - nut * scale, y(c.reach + shown)],
    [cx - nut * scale, y(c.reach)],
    [cx + nut * scale, y(c.reach)],
    [cx + nut * scale, y(c.reach + shown)],
  ]);
  pen.hatch({
    rings: [
      [
        [cx - nut * scale, y(c.reach + shown)],
        [cx - nut * scale, y(c.reach)],
        [cx + nut * scale, y(c.reach)],
        [cx + nut * scale, y(c.reach + shown)],
      ],
    ],
    grain: "metal",
    spacing: 1.6,
    turn: 90,
  });
  pen.line("centre", [cx, tip + 2], [cx, y(c.reach + shown) - 2], { ink: "soft" });
  const side = Math.max(nut, r) * scale;
  pen.dimension({
    a: [cx, tip],
    b: [cx + nut * scale, y(c.reach)],
    along: "y",
    line: cx + side + 4,
    text: dim(c.reach),
    size: SIZE.figure,
  });
  if (flute < c.reach - 0.01)
    pen.dimension({
      a: [cx - r * scale, tip],
      b: [cx - r * scale, y(flute)],
      along: "y",
      line: cx - Math.min(side + 3, r * scale + 4),
      text: dim(flute),
      size: SIZE.small,
    });
  pen.dimension({
    a: [cx - r * scale, tip],
    b: [cx + r * scale, tip],
    along: "x",
    line: tip + 2.6,
    text: `⌀${dim(c.diameter)}`,
    size: SIZE.small,
  });
}

/** Radius and height along the cutter from the tip to the holder. */
function profileOf(c: Cutter): XY[] {
  const r = c.diameter / 2;
  const out: XY[] = [];
  const arc = (centreR: number, radius: number): void => {
    for (let k = 0; k <= 12; k++) {
      const a = (k / 12) * (Math.PI / 2);
      out.push([centreR + radius * Math.sin(a), radius * (1 - Math.cos(a))]);
    }
  };
  switch (c.shape) {
    case "flat":
      out.push([0, 0], [r, 0]);
      break;
    case "ball":
      arc(0, r);
      break;
    case "bull":
      out.push([0, 0]);
      arc(r - c.cornerRadius, c.cornerRadius);
      break;
    default: {
      const tip = c.tipDiameter / 2;
      const h = (r - tip) / Math.tan(Math.max(1e-6, c.tipAngle) / 2);
      out.push([0, 0], [tip, 0], [r, Math.min(h, c.reach)]);
    }
  }
  const flute = Math.min(c.fluteLength, c.reach);
  const shank = c.shankDiameter / 2;
  if (out[out.length - 1][1] < flute) out.push([r, flute]);
  if (Math.abs(shank - r) > 1e-9 && flute < c.reach) {
    const taper = Math.min(c.reach, flute + Math.abs(shank - r));
    out.push([shank, taper]);
  }
  out.push([Math.abs(shank - r) > 1e-9 && flute < c.reach ? shank : r, c.reach]);
  return out;
}
