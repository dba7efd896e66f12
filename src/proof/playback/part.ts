import { MoveBuilder, MoveKind, type MoveList } from "../../kernel/moves.ts";

/** In-plane axes of the arc planes: G17 is XY, G18 is ZX, G19 is YZ. */
const AXES = [
  [0, 1, 2],
  [2, 0, 1],
  [1, 2, 0],
] as const;

const endOf = (m: MoveList, k: number): [number, number, number] => (k < 0 ? [...m.start] : [m.x[k], m.y[k], m.z[k]]);

/** The tip after `share` (0..1) of move k. */
export function placeAt(m: MoveList, k: number, share: number): [number, number, number] {
  const a = endOf(m, k - 1);
  const b = endOf(m, k);
  if (share >= 1 || m.kind[k] === MoveKind.dwell) return b;
  const at: [number, number, number] = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])];
  if (m.kind[k] !== MoveKind.arc) return at;
  const [i, j] = AXES[m.plane[k]];
  const c = [m.cx[k], m.cy[k], m.cz[k]];
  const [u, v] = [a[i] - c[i], a[j] - c[j]];
  const turn = m.sweep[k] * share;
  at[i] = c[i] + u * Math.cos(turn) - v * Math.sin(turn);
  at[j] = c[j] + u * Math.sin(turn) + v * Math.cos(turn);
  return at;
}

/** Part of a feed move, from one share of it to another, as a list of one move; null for moves that cut nothing. */
export function partOfMove(m: MoveList, k: number, from: number, to: number): MoveList | null {
  if (m.kind[k] !== MoveKind.line && m.kind[k] !== MoveKind.arc) return null;
  const b = new MoveBuilder(placeAt(m, k, from), 1);
  const [x, y, z] = placeAt(m, k, to);
  if (m.kind[k] === MoveKind.line) b.lineTo(x, y, z, m.feed[k]);
  else b.arcTo(x, y, z, m.cx[k], m.cy[k], m.cz[k], m.sweep[k] * (to - from), m.feed[k], m.plane[k]);
  return b.list();
}
