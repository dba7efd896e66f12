import { alongNeck } from "../holding/check.ts";
import type { Side } from "../holding/types.ts";
import type { MoveList } from "../kernel/moves.ts";

/**
 * Moves planned with x along the neck as the side's program has them: turned about z as far as the neck is turned in its blank (arcs
 * are seen from above only), and by a quarter, (x, y) -> (-y, x), when the machine's long axis is y.
 */
export function turnMoves(moves: MoveList, side: Side): MoveList {
  const { cos, sin } = alongNeck(side).turn;
  const m = sin === 0 ? moves : turned(moves, cos, sin);
  if (Math.abs(side.neckToProgram[0]) > 0.5) return m;
  const minus = (a: Float64Array): Float64Array => a.map((v) => -v + 0);
  return { ...m, start: [-m.start[1] + 0, m.start[0], m.start[2]], x: minus(m.y), y: m.x, cx: minus(m.cy), cy: m.cx };
}

function turned(m: MoveList, cos: number, sin: number): MoveList {
  const x = (u: Float64Array, v: Float64Array): Float64Array => u.map((_, k) => cos * u[k] - sin * v[k]);
  const y = (u: Float64Array, v: Float64Array): Float64Array => u.map((_, k) => sin * u[k] + cos * v[k]);
  const [sx, sy, sz] = m.start;
  return {
    ...m,
    start: [cos * sx - sin * sy, sin * sx + cos * sy, sz],
    x: x(m.x, m.y),
    y: y(m.x, m.y),
    cx: x(m.cx, m.cy),
    cy: y(m.cx, m.cy),
    feed: m.feed.slice(),
  };
}
