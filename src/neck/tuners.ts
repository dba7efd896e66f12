import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { stringLine } from "./strings.ts";
import type { TunerBore } from "./types.ts";

/** A row of tuners on one side: `side` -1 bass, +1 treble; the line its posts stand on, as y (right-handed) over x. */
export interface TunerRow {
  readonly side: -1 | 1;
  readonly posts: readonly { readonly string: number; readonly x: Mm; readonly y: Mm }[];
  /** y of the row's line at x, and its slope dy/dx. */
  readonly lineAt: (x: Mm) => Mm;
  readonly slope: number;
}

/**
 * Places the posts. In line: every string runs straight, touching its post on the side toward the middle; the row
 * slants with the strings. Split: the rows stand where the order says; the outermost string takes the post nearest the nut.
 */
export function tunerRows(order: OrderSpec): TunerRow[] {
  const t = order.headstock.tuners;
  const at = stringLine(order);
  const n = order.strings.count;
  const xOf = (k: number): Mm => -(t.first + k * t.pitch);
  const rows: TunerRow[] = [];
  const add = (side: -1 | 1, count: number, yOf: (k: number, s: number) => Mm): void => {
    if (count === 0) return;
    const posts = Array.from({ length: count }, (_, k) => {
      const s = side < 0 ? n - k : 1 + k;
      return { string: s, x: xOf(k), y: yOf(k, s) };
    });
    const a = posts[0];
    const b = posts[count - 1];
    const slope = count > 1 ? (b.y - a.y) / (b.x - a.x) : 0;
    rows.push({ side, posts, slope, lineAt: (x) => a.y + slope * (x - a.x) });
  };
  if (t.layout === "in-line") {
    const side = t.side === "bass" ? -1 : 1;
    add(side, n, (k, s) => at(s, xOf(k)) + (side * t.winding) / 2);
  } else {
    const row = (side: -1 | 1, count: number) => (k: number) =>
      side * (t.rowAtFirst + (count > 1 ? ((t.rowAtLast - t.rowAtFirst) * k) / (count - 1) : 0));
    add(-1, t.bass, row(-1, t.bass));
    add(1, t.treble, row(1, t.treble));
  }
  return rows;
}

/** The stepped bores, string 1 first, with the angle by which each string turns aside at the nut. */
export function tunerBores(order: OrderSpec, rows: readonly TunerRow[]): TunerBore[] {
  const { headstock } = order;
  const t = headstock.tuners;
  const at = stringLine(order);
  const face = -headstock.drop;
  const back = face - headstock.thickness;
  const bores: TunerBore[] = [];
  for (const row of rows) {
    for (const post of row.posts) {
      const yNut = at(post.string, 0);
      const slope = at(post.string, 1) - yNut;
      const touch = post.y - (row.side * t.winding) / 2;
      const angle = Math.atan((touch - yNut) / post.x) - Math.atan(slope);
      const steps = [];
      if (t.bushDepth > 0 && t.bush > t.post) {
        steps.push({ diameter: t.bush, zTop: face, zBottom: face - t.bushDepth });
        steps.push({ diameter: t.post, zTop: face - t.bushDepth, zBottom: back });
      } else steps.push({ diameter: t.post, zTop: face, zBottom: back });
      bores.push({ id: `tuner-${post.string}`, string: post.string, x: post.x, y: post.y, steps, stringAngle: Math.abs(angle) });
    }
  }
  return bores.sort((a, b) => a.string - b.string);
}
