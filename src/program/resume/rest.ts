import { MoveBuilder, MoveKind, type MoveList } from "../../kernel/moves.ts";
import type { ProgramInput } from "../types.ts";
import type { ResumeStart, WayIn, Written } from "./types.ts";

type Cut = ProgramInput["cuts"][number];

/** Moves from <= k < to as a list of their own; dwells at its head are left out (the writer waits for the spindle itself). */
export function part(m: MoveList, from: number, to: number): MoveList {
  let a = from;
  while (a < to && m.kind[a] === MoveKind.dwell) a++;
  const start: readonly [number, number, number] = a === 0 ? m.start : [m.x[a - 1], m.y[a - 1], m.z[a - 1]];
  return {
    count: to - a,
    start,
    kind: m.kind.slice(a, to),
    x: m.x.slice(a, to),
    y: m.y.slice(a, to),
    z: m.z.slice(a, to),
    feed: m.feed.slice(a, to),
    cx: m.cx.slice(a, to),
    cy: m.cy.slice(a, to),
    cz: m.cz.slice(a, to),
    sweep: m.sweep.slice(a, to),
    plane: m.plane.slice(a, to),
    cut: m.cut.slice(a, to),
    line: m.line.slice(a, to),
  };
}

/**
 * What is left of a program from a start on: over the place at the safe height, down to the clear height at rapid, the rest of the way down
 * at the plunge's feed, and then the program's own moves.
 */
export function restOf(w: Written, start: ResumeStart, way: WayIn): Cut[] {
  const [x, y, z] = start.at;
  const b = new MoveBuilder([x, y, way.safeZ], 64);
  b.rapid(x, y, way.safeZ);
  if (z < way.clearZ) {
    b.rapid(x, y, way.clearZ);
    b.lineTo(x, y, z, way.plunge);
  } else b.rapid(x, y, z);
  const cut = w.cuts[start.cut];
  b.append(part(w.moves, start.move, cut.to));
  return [
    { id: cut.id, title: `${cut.title}, resumed at line ${start.line}`, rpm: cut.rpm, moves: b.list() },
    ...w.cuts.slice(start.cut + 1).map((c) => ({ id: c.id, title: c.title, rpm: c.rpm, moves: part(w.moves, c.from, c.to) })),
  ];
}

/** Moves elsewhere. */
export function movedBy(m: MoveList, [dx, dy, dz]: readonly [number, number, number]): MoveList {
  if (dx === 0 && dy === 0 && dz === 0) return m;
  const by = (a: Float64Array, d: number): Float64Array => a.map((v) => v + d);
  return {
    ...m,
    start: [m.start[0] + dx, m.start[1] + dy, m.start[2] + dz],
    x: by(m.x, dx),
    y: by(m.y, dy),
    z: by(m.z, dz),
    cx: by(m.cx, dx),
    cy: by(m.cy, dy),
    cz: by(m.cz, dz),
  };
}
