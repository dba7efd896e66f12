import type { OrderSpec } from "../spec/types.ts";
import type { Mm, Rad } from "../units/index.ts";
import { faceX, tiltOf } from "./places.ts";
import { stringLine } from "./strings.ts";
import type { HeadSlot, RollerBore, TunerBore } from "./types.ts";

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
export function tunerRows(order: OrderSpec, behindNut: Mm): TunerRow[] {
  const t = order.headstock.tuners;
  const at = stringLine(order);
  const n = order.strings.count;
  const xOf = (k: number): Mm => faceX(order, behindNut, t.first + k * t.pitch);
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

/** Angle by which the string turns aside at the nut on its way to the place where it leaves for a post at (x, y). */
function sideAngle(order: OrderSpec, string: number, x: Mm, touch: Mm, nutX: Mm): Rad {
  const at = stringLine(order);
  const yNut = at(string, nutX);
  const slope = at(string, nutX + 1) - yNut;
  return Math.abs(Math.atan((touch - yNut) / (x - nutX)) - Math.atan(slope));
}

export interface Face {
  /** Where string s crosses the nut's front line. */
  readonly nutX: (s: number) => Mm;
  /** Heights of the headstock's face and back at a place. */
  readonly top: (x: Mm, y: Mm) => Mm;
  readonly back: (x: Mm, y: Mm) => Mm;
  /** Bass and treble edge of the headstock. */
  readonly edges: (x: Mm) => readonly [Mm, Mm];
}

/** The stepped bores, string 1 first. On an angled headstock they stand square to its face and lean with it. */
export function tunerBores(order: OrderSpec, rows: readonly TunerRow[], face: Face): TunerBore[] {
  const { headstock } = order;
  if (headstock.slotted) return [];
  const t = headstock.tuners;
  const tilt = tiltOf(order);
  const bores: TunerBore[] = [];
  for (const row of rows) {
    for (const post of row.posts) {
      const stringAngle = sideAngle(order, post.string, post.x, post.y - (row.side * t.winding) / 2, face.nutX(post.string));
      const top = face.top(post.x, post.y);
      const back = face.back(post.x, post.y);
      const steps =
        t.bushDepth > 0 && t.bush > t.post
          ? [
              { diameter: t.bush, zTop: top, zBottom: top - t.bushDepth },
              { diameter: t.post, zTop: top - t.bushDepth, zBottom: back },
            ]
          : [{ diameter: t.post, zTop: top, zBottom: back }];
      bores.push({
        id: `tuner-${post.string}`,
        string: post.string,
        x: post.x,
        y: post.y,
        steps,
        stringAngle,
        ...(tilt > 0 ? { tilt } : {}),
      });
    }
  }
  return bores.sort((a, b) => a.string - b.string);
}

/** The two openings of a slotted headstock, one for each row of tuners, as wide as ordered about the row's line. */
export function headSlots(order: OrderSpec, rows: readonly TunerRow[], behindNut: Mm): HeadSlot[] {
  const s = order.headstock.slotted;
  if (!s) return [];
  return rows.map((r) => ({
    id: r.side < 0 ? "head-slot-bass" : "head-slot-treble",
    xMax: faceX(order, behindNut, s.from),
    xMin: faceX(order, behindNut, s.from + s.length),
    y: r.posts.reduce((a, p) => a + p.y, 0) / r.posts.length,
    width: s.width,
  }));
}

/** Bores for the rollers of a slotted headstock, from its sides, midway in its thickness. */
export function rollerBores(order: OrderSpec, rows: readonly TunerRow[], face: Face): RollerBore[] {
  const s = order.headstock.slotted;
  if (!s) return [];
  const out: RollerBore[] = [];
  for (const r of rows)
    for (const p of r.posts)
      out.push({
        id: `roller-${p.string}`,
        string: p.string,
        side: r.side < 0 ? "bass" : "treble",
        x: p.x,
        y: face.edges(p.x)[r.side < 0 ? 0 : 1],
        z: (face.top(p.x, p.y) + face.back(p.x, p.y)) / 2,
        diameter: s.rollerBore,
        depth: s.rollerDepth,
        stringAngle: sideAngle(order, p.string, p.x, p.y, face.nutX(p.string)),
      });
  return out.sort((a, b) => a.string - b.string);
}
