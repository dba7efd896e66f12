import type { Side } from "../holding/types.ts";
import type { MoveList } from "../kernel/moves.ts";

/** Moves planned with x along the neck, turned by a quarter about z when the machine's long axis is y: (x, y) -> (-y, x). */
export function turnMoves(m: MoveList, side: Side): MoveList {
  if (Math.abs(side.neckToProgram[0]) > 0.5) return m;
  const minus = (a: Float64Array): Float64Array => a.map((v) => -v + 0);
  return { ...m, start: [-m.start[1] + 0, m.start[0], m.start[2]], x: minus(m.y), y: m.x, cx: minus(m.cy), cy: m.cx };
}
