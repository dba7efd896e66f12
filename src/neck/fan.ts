import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { fretDistance } from "./frets.ts";

/** A straight line across the neck: x = x0 + slope * y. */
export interface CrossLine {
  /** Where it crosses the centreline. */
  readonly x0: Mm;
  readonly slope: number;
}

/** The lines of nut, frets and bridge. `n` may be any number: 0 the nut, 12 the octave, Infinity the bridge. */
export type FretLines = (n: number) => CrossLine;

/**
 * One scale: every line is square to the centreline at d_n = L (1 - 2^(-n/12)).
 * Two scales: on the outermost strings' lines the frets divide the bass and the treble scale, both measured along x as the
 * single scale is; fret n runs straight from one to the other. The share f_n = 1 - 2^(-n/12) of both scales is the same, so a
 * string that divides the width in a constant ratio is divided by the same shares. The fret `square` stands square:
 *     x_bass(n) = c - d/2 + L_bass f_n,   x_treble(n) = c + d/2 + L_treble f_n,   d = (L_bass - L_treble) f_square,
 * and c puts the nut's line through x = 0 on the centreline.
 */
export function fretLines(order: OrderSpec, outer: (x: Mm) => readonly [Mm, Mm]): FretLines {
  const { fan, scale } = order;
  if (!fan || fan.bass === fan.treble) return (n) => ({ x0: n === Number.POSITIVE_INFINITY ? scale : fretDistance(scale, n), slope: 0 });
  const share = (n: number): number => (n === Number.POSITIVE_INFINITY ? 1 : 1 - 2 ** (-n / 12));
  const d = (fan.bass - fan.treble) * share(fan.square);
  const line = (c: Mm, n: number): CrossLine => {
    const f = share(n);
    const xb = c - d / 2 + fan.bass * f;
    const xt = c + d / 2 + fan.treble * f;
    const [yb, yt] = apart(outer(xb)[0], outer(xt)[1]);
    // steeper than 45 degrees is no fret; the rule on fans speaks long before
    const slope = Math.max(-1, Math.min(1, (xt - xb) / (yt - yb)));
    return { x0: xb - slope * yb, slope };
  };
  // the nut's crossing moves with c almost one to one; a few corrections reach the last bit
  let c = 0;
  for (let k = 0; k < 8; k++) c -= line(c, 0).x0;
  // strings that spread absurdly fast have no such place; the nut then stays near where it was
  if (!(Math.abs(c) < 300)) c = 0;
  return (n) => line(c, n);
}

/** Strings that all but meet give a line no direction: it is then taken across 5 mm (such an order has been told so). */
const apart = (a: Mm, b: Mm): readonly [Mm, Mm] => (b - a >= 5 ? [a, b] : [(a + b) / 2 - 2.5, (a + b) / 2 + 2.5]);

/** Where the line crosses an edge given as y over x. Edges are nearly parallel to x, so a few substitutions converge. */
export function crossEdge(line: CrossLine, edge: (x: Mm) => Mm): { readonly x: Mm; readonly y: Mm } {
  let y = edge(line.x0);
  let x = line.x0 + line.slope * y;
  for (let k = 0; k < 40; k++) {
    y = edge(x);
    const next = line.x0 + line.slope * y;
    if (next === x || !(Math.abs(next - line.x0) < 2000)) break;
    x = next;
  }
  return { x, y };
}

/** Lines of the outermost strings (bass, treble), by x; the board's edges where there is one string. */
export function outerStrings(order: OrderSpec): (x: Mm) => readonly [Mm, Mm] {
  const { count, spreadAtNut, spreadAtBridge } = order.strings;
  const a = count === 1 ? 20 : spreadAtNut;
  const b = count === 1 ? 20 : spreadAtBridge;
  return (x) => {
    const half = (a + (b - a) * (x / order.scale)) / 2;
    return [-half, half];
  };
}
