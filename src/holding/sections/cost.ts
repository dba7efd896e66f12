import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";

/** A seam keeps so far from a slot's wall, a bore's rim, or the nut's seat. */
const GUARD: Mm = 2.5;
/** Within this of a feature a seam costs a little more than beyond it: room to blend. */
const ROOM: Mm = 12;
/** What the nearness of a feature costs, as a step in mm. */
const NEAR = 0.02;
/** Share of the bend at the far end that counts beside a step: it is long and slight. */
const BENT = 0.1;

export interface SeamErrorsAt {
  /** One deviation of where the section behind a seam lies, along and across. */
  readonly along: Mm;
  readonly across: Mm;
}

/** What the bend behind a seam adds to its cost: one deviation of the angle between two sections, and how far the neck goes on behind them. */
export const bendCost = (turn: number, on: Mm): Mm => BENT * turn * Math.max(0, on);

/** How far along the blank a place of the neck lies; of a neck along it, and of one that lies askew in it. */
export type AlongOf = (x: Mm, y: Mm) => Mm;

/**
 * Stretches that no seam may cross: slots, bores, seats, channels' ends, with the guard around them. Along the neck, or as `along` says:
 * in a blank where the neck lies askew a seam lies askew to the neck, and a slot takes more of the length.
 */
export function keptWhole(neck: Neck, along: AlongOf = (x) => x): readonly (readonly [Mm, Mm, string])[] {
  const f = neck.features;
  const p = neck.places;
  const out: (readonly [Mm, Mm, string])[] = [];
  const add = (id: string, points: readonly (readonly [Mm, Mm])[], more: Mm, guard = GUARD): void => {
    const at = points.map(([x, y]) => along(x, y));
    out.push([Math.min(...at) - more - guard, Math.max(...at) + more + guard, id]);
  };
  for (const s of f.frets)
    add(
      s.id,
      [
        [s.bass.x, s.bass.y],
        [s.treble.x, s.treble.y],
      ],
      s.kerf / 2,
    );
  for (const t of f.tuners) add(t.id, [[t.x, t.y]], Math.max(...t.steps.map((s) => s.diameter)) / 2);
  for (const m of f.markers) add(m.id, [[m.x, m.y]], m.diameter / 2);
  for (const s of f.screws) add(s.id, [[s.x, s.y]], s.diameter / 2);
  for (const h of f.headSlots)
    add(
      h.id,
      [h.xMin, h.xMax].flatMap((x) => [-h.width / 2, h.width / 2].map((d) => [x, h.y + d] as const)),
      0,
    );
  // a channel may be crossed in its length, not at its round ends
  for (const c of f.rod) for (const x of [c.xMin, c.xMax]) add(c.id, [[x, c.y ?? 0]], c.width);
  const half = Math.max(...neck.boardEdges(0).map(Math.abs));
  const lean = Math.abs(f.nut.slope) * half;
  const across = (x: Mm, ys: readonly Mm[]): readonly (readonly [Mm, Mm])[] => ys.map((y) => [x, y] as const);
  add(f.nut.id, [...across(f.nut.xMin - lean, [-half, half]), ...across(f.nut.xMax + lean, [-half, half])], 0);
  // the headstock with its ramp, to the board's crown and the carve's full depth
  const crown = Math.max(p.rampTop, p.boardFront, p.carveStart, 0);
  add("headstock", [...across(p.tip, neck.edges(p.tip + 0.01)), ...across(crown, neck.edges(crown))], 0);
  // from shaft to heel
  if (p.heelFront > p.carveEnd)
    add("heel", [...across(p.carveEnd, neck.edges(p.carveEnd)), ...across(p.heelFront, neck.edges(p.heelFront))], 0);
  return out;
}

/** How far the neck is turned in its blank, in its own frame: from the blank's length toward +y of the neck. */
export interface Lie {
  readonly cos: number;
  readonly sin: number;
}
const ALONG: Lie = { cos: 1, sin: 0 };

/** Slopes of the neck's edge and of its surfaces along the blank, the largest of each, where a seam meets the centreline. */
export function slopesAt(
  neck: Neck,
  x: Mm,
  { cos, sin }: Lie = ALONG,
): { readonly edge: number; readonly surface: number; readonly half: Mm } {
  const d = 0.5;
  const [a, b] = [neck.edges(x - d), neck.edges(x + d)];
  const lean = ([0, 1] as const).map((k) => {
    const m = (b[k] - a[k]) / (2 * d);
    return Math.abs((m * cos + sin) / (cos - m * sin));
  });
  const here = neck.edges(x);
  let surface = 0;
  for (const share of [0, 0.5, 0.9]) {
    for (const side of here) {
      const y = side * share;
      for (const f of [neck.back, neck.top]) {
        const s = Math.abs(f(x + d * cos, y - d * sin) - f(x - d * cos, y + d * sin)) / (2 * d);
        if (Number.isFinite(s) && s > surface) surface = s;
      }
    }
  }
  return { edge: Math.max(...lean), surface, half: Math.max(...here.map(Math.abs)) };
}

/**
 * What a seam does harm, in mm, but for the bend behind it: the step to expect (one deviation) in edge or surface, which grows with their
 * slopes, and a little for standing near a slot or bore. Infinity where something must stay whole. `at`: where `whole` is counted; `x`: the
 * same place on the neck's centreline.
 */
export function seamCost(neck: Neck, at: Mm, x: Mm, whole: ReturnType<typeof keptWhole>, e: SeamErrorsAt, lie: Lie = ALONG): number {
  let near = Number.POSITIVE_INFINITY;
  for (const [lo, hi] of whole) {
    if (at >= lo && at <= hi) return Number.POSITIVE_INFINITY;
    near = Math.min(near, Math.max(lo - at, at - hi));
  }
  const s = slopesAt(neck, x, lie);
  const edge = Math.hypot(e.across, e.along * s.edge);
  const surface = e.along * s.surface;
  return Math.max(edge, surface) + NEAR * Math.max(0, 1 - near / ROOM);
}
