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
  /** One deviation of the angle between two sections, and how far the neck goes on behind them. */
  readonly turn: number;
  readonly end: Mm;
}

/** Stretches along the neck (neck frame) that no seam may cross: slots, bores, seats, channels' ends, with the guard around them. */
export function keptWhole(neck: Neck): readonly (readonly [Mm, Mm, string])[] {
  const f = neck.features;
  const p = neck.places;
  const out: (readonly [Mm, Mm, string])[] = [];
  const add = (id: string, lo: Mm, hi: Mm, guard = GUARD): void => {
    out.push([lo - guard, hi + guard, id]);
  };
  for (const s of f.frets) add(s.id, Math.min(s.bass.x, s.treble.x) - s.kerf / 2, Math.max(s.bass.x, s.treble.x) + s.kerf / 2);
  for (const t of f.tuners) {
    const r = Math.max(...t.steps.map((s) => s.diameter)) / 2;
    add(t.id, t.x - r, t.x + r);
  }
  for (const m of f.markers) add(m.id, m.x - m.diameter / 2, m.x + m.diameter / 2);
  for (const s of f.screws) add(s.id, s.x - s.diameter / 2, s.x + s.diameter / 2);
  for (const h of f.headSlots) add(h.id, h.xMin, h.xMax);
  // a channel may be crossed in its length, not at its round ends
  for (const c of f.rod) for (const x of [c.xMin, c.xMax]) add(c.id, x - c.width, x + c.width);
  const lean = Math.abs(f.nut.slope) * Math.max(...neck.boardEdges(0).map(Math.abs));
  add(f.nut.id, f.nut.xMin - lean, f.nut.xMax + lean);
  // the headstock with its ramp, to the board's crown and the carve's full depth
  add("headstock", p.tip, Math.max(p.rampTop, p.boardFront, p.carveStart, 0));
  // from shaft to heel
  if (p.heelFront > p.carveEnd) add("heel", p.carveEnd, p.heelFront);
  return out;
}

/** Slopes of the neck's edge and of its surfaces along x, the largest of each. */
export function slopesAt(neck: Neck, x: Mm): { readonly edge: number; readonly surface: number; readonly half: Mm } {
  const d = 0.5;
  const [a, b] = [neck.edges(x - d), neck.edges(x + d)];
  const edge = Math.max(Math.abs(b[0] - a[0]), Math.abs(b[1] - a[1])) / (2 * d);
  const here = neck.edges(x);
  let surface = 0;
  for (const share of [0, 0.5, 0.9]) {
    for (const side of here) {
      const y = side * share;
      for (const f of [neck.back, neck.top]) {
        const s = Math.abs(f(x + d, y) - f(x - d, y)) / (2 * d);
        if (Number.isFinite(s) && s > surface) surface = s;
      }
    }
  }
  return { edge, surface, half: Math.max(...here.map(Math.abs)) };
}

/**
 * What a seam at x does harm, in mm: the step to expect (one deviation) in edge or surface, which grows with their slopes, a share of
 * the bend at the neck's end, and a little for standing near a slot or bore. Infinity where something must stay whole.
 */
export function seamCost(neck: Neck, x: Mm, whole: ReturnType<typeof keptWhole>, e: SeamErrorsAt): number {
  let near = Number.POSITIVE_INFINITY;
  for (const [lo, hi] of whole) {
    if (x >= lo && x <= hi) return Number.POSITIVE_INFINITY;
    near = Math.min(near, Math.max(lo - x, x - hi));
  }
  const s = slopesAt(neck, x);
  const edge = Math.hypot(e.across, e.along * s.edge);
  const surface = e.along * s.surface;
  const bend = e.turn * Math.max(0, e.end - x);
  return Math.max(edge, surface) + BENT * bend + NEAR * Math.max(0, 1 - near / ROOM);
}
