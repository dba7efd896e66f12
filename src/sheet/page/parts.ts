import { holeOf } from "../../holding/grid.ts";
import type { Side, Solid } from "../../holding/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import type { Drawing } from "../draw/types.ts";
import { holdingMarks } from "../drawings/blank.ts";
import { dim } from "../drawings/common.ts";
import type { Flow } from "./flow.ts";

/** Scales that drawings on a page may have, largest first. */
const SCALES = [2, 1.5, 1, 1 / 1.5, 1 / 2, 1 / 2.5, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10];

/**
 * The drawing at the largest usual scale at which it fits into the room. What is drawn grows with the scale and its margins do not, so a drawing
 * too wide at one scale says of which smaller ones it is too wide as well: those are not tried.
 */
export function fitted(draw: (scale: number) => Drawing, width: number, height: number, most = 2): Drawing {
  let largest = most;
  for (const s of SCALES) {
    if (s > largest) continue;
    const d = draw(s);
    if (d.width <= width && d.height <= height) return d;
    largest = Math.min(largest, (s * width) / d.width);
  }
  return draw(1 / 20);
}

/** Where each holding part stands, two to a row; on a bed with a grid, in which hole. */
export function holdingTable(flow: Flow, side: Side, machine?: MachineSpec): void {
  const span = (a: number, b: number): string => `${dim(Math.min(a, b))} to ${dim(Math.max(a, b))}`;
  const byMark = new Map<string, string[]>();
  const marks = holdingMarks(side);
  for (const { mark, solid: s } of marks) {
    if (byMark.has(mark)) continue;
    if (s.kind === "cylinder") {
      byMark.set(mark, [mark, s.name, `X ${dim(s.x)} Y ${dim(s.y)}, ⌀${dim(s.diameter)}`, span(s.zMin, s.zMax)]);
      continue;
    }
    // a block with a foot: one row for all of it
    const boxes = marks.filter((m) => m.mark === mark).map((m) => boundsOf(m.solid));
    const low = [0, 1, 2].map((k) => Math.min(...boxes.map((b) => b.min[k])));
    const high = [0, 1, 2].map((k) => Math.max(...boxes.map((b) => b.max[k])));
    byMark.set(mark, [mark, s.name, `X ${span(low[0], high[0])}, Y ${span(low[1], high[1])}`, span(low[2], high[2])]);
  }
  if (machine?.grid !== undefined)
    for (const [mark, cells] of byMark) {
      const solids = marks.filter((m) => m.mark === mark).map((m) => m.solid);
      const foot = solids.find((s) => s.name.endsWith(", foot")) ?? solids[0];
      const hole = holeOf(foot, side, machine);
      if (hole !== null) cells[1] = `${cells[1]}: hole ${hole.column} / ${hole.row}`;
    }
  const cells = [...byMark.values()];
  const half = Math.ceil(cells.length / 2);
  const head = (align: "left" | "right" = "left") => [
    { head: "mark", share: 0.7 },
    { head: "part", share: 2.6 },
    { head: "place from zero", share: 3.4 },
    { head: "Z", share: 1.3, align },
  ];
  const rows = Array.from({ length: half }, (_, i) => [...cells[i], ...(cells[i + half] ?? ["", "", "", ""])]);
  flow.table([...head(), ...head()], rows, { size: 2.4 });
}

function boundsOf(s: Solid): { readonly min: readonly number[]; readonly max: readonly number[] } {
  if (s.kind === "box") return s;
  if (s.kind === "cylinder") {
    const r = s.diameter / 2;
    return { min: [s.x - r, s.y - r, s.zMin], max: [s.x + r, s.y + r, s.zMax] };
  }
  const xs = s.points.map((p) => p[0]);
  const ys = s.points.map((p) => p[1]);
  return { min: [Math.min(...xs), Math.min(...ys), s.zMin], max: [Math.max(...xs), Math.max(...ys), s.zMax] };
}
