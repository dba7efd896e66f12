import type { DeviationScale, DeviationTally } from "../kernel/deviation.ts";
import { sectionZ } from "../neck/carve.ts";
import type { BackSection, Neck } from "../neck/types.ts";
import { type Feature, featuresOf, type SideFrame } from "./place.ts";
import { add, count, type Limits, type Tally, tallyOf } from "./tally.ts";

/** Nothing is compared so close to an edge of the plan or a feature's wall; the walls are measured on their own. */
const INSET = 0.03;
/** Deepest below the target, mm. */
const MOST_BELOW = 0.01;
/** Left above the target besides the cut's own cusp, mm. */
export const MOST_ABOVE = 0.02;
/** Floors of seats, recesses and channels. */
const FLOOR_BELOW = 0.02;
/** Floors of fret slots: a flat cutter on a floor that slopes across its width digs in and misses by a hundredth either way. */
const SLOT_FLOOR = 0.02;
/** Blind ends keep a little in the corner where the cutter ramps in; where the floor falls steeply with the board, more: see slotLimits. */
const SLOT_CORNER = 0.04;

/** A quarter and three quarters, and what thinning the way and a curve of the floor add. */
const DIGS = 0.27;
const LEAVES = 0.78;

const FLOOR_LIMITS: Limits = { below: FLOOR_BELOW, above: MOST_ABOVE };

/**
 * A cutter's end is level. Where a slot's floor falls with the board by some height over the cutter's width, its lower rim digs in by a quarter of
 * that and its middle misses as much; at a blind end three quarters are left.
 */
export function slotLimits(neck: Neck): Limits {
  let [below, above] = [SLOT_FLOOR, SLOT_CORNER];
  for (const { bass, treble, kerf, ends } of neck.features.frets) {
    const [dx, dy] = [treble.x - bass.x, treble.y - bass.y];
    const share = kerf / Math.hypot(dx, dy);
    for (const [end, sign] of [
      [bass, share],
      [treble, -share],
    ] as const) {
      const falls = Math.abs(neck.boardTop(end.x, end.y) - neck.boardTop(end.x + sign * dx, end.y + sign * dy));
      below = Math.max(below, falls * DIGS);
      above = Math.max(above, falls * (ends === "blind" ? LEAVES : DIGS));
    }
  }
  return { below, above };
}

/** Where the slope along the neck turns by more than this between neighbouring cells, the surface has an edge. */
const CREASE = 0.2;

/** What the finished surface of a side is, column by column along the neck. */
interface Target {
  /** Sets the column; false when it lies off the neck. */
  column(x: number): boolean;
  lo: number;
  hi: number;
  /** Height of the target at y of the column, neck frame. */
  z(y: number): number;
  /** The region that all of the column lies in; empty where it depends on the place. */
  whole: string;
  /** Region of a point of the surface, whose height is `want`. */
  region(x: number, y: number, want: number): string;
}

/** Compares place by place, whatever is there: the surface, a feature's floor, or nothing beside a wall; and counts. */
export class Place {
  readonly target: Target;
  readonly scale: DeviationScale;
  readonly limits: Limits;
  private readonly slots: Limits;
  private readonly features: readonly Feature[];
  private readonly neck: Neck;
  private readonly board: boolean;
  private readonly up: 1 | -1;
  private readonly tallies = new Map<string, Tally>();
  private last: Tally | null = null;
  private nearby: readonly Feature[] = [];
  /** Nothing of a feature nearby lies beyond these. */
  nearLo = 0;
  nearHi = 0;

  constructor(neck: Neck, frame: SideFrame, cell: number, cusp: number, filled: ReadonlySet<string>) {
    this.neck = neck;
    this.board = frame.side === "board";
    this.up = frame.up;
    this.target = this.board ? boardTarget(neck) : carveTarget(neck);
    this.features = featuresOf(neck, frame.side, filled);
    this.slots = slotLimits(neck);
    this.limits = { below: MOST_BELOW, above: cusp + MOST_ABOVE };
    this.scale = { up: frame.up, zero: frame.toProgram[11], step: 2 * cell, crease: CREASE * cell };
  }

  found(): readonly Tally[] {
    return [...this.tallies.values()];
  }

  /** Looks only at features that come between two places along the neck from now on. */
  between(xLeast: number, xMost: number): void {
    this.nearby = this.features.filter((f) => xMost > f.xMin - INSET && xLeast < f.xMax + INSET);
    this.nearLo = Math.min(...this.nearby.map((f) => f.yMin)) - INSET;
    this.nearHi = Math.max(...this.nearby.map((f) => f.yMax)) + INSET;
  }

  /** Inside the outline by the inset in every direction: where it runs across (the tip), along x counts. */
  inside(x: number): readonly [number, number] {
    const [beforeLo, beforeHi] = this.neck.edges(x - INSET);
    const [afterLo, afterHi] = this.neck.edges(x + INSET);
    const { lo, hi } = this.target;
    return [Math.max(lo + INSET, beforeLo, afterLo), Math.min(hi - INSET, beforeHi, afterHi)];
  }

  /** What a cell of height `got` lies off at a place where `want` is wanted, `sx` and `sy` its slopes and `bend` its turn along the neck; NaN where nothing is compared. */
  at(x: number, y: number, got: number, want: number, sx: number, sy: number, bend: number): number {
    const { neck, board, up, target } = this;
    const z = up * (got - this.scale.zero);
    let region = "";
    let dev = Number.NaN;
    let limit: Limits = this.limits;
    if (y > this.nearLo && y < this.nearHi) {
      const feature = featureAt(this.nearby, x, y, up);
      if (feature === "edge") return Number.NaN;
      if (feature !== null) {
        if (feature.floor === null) return Number.NaN;
        const floor = feature.floor(x, y);
        // a pocket deeper than the surface counts by its floor, one that the surface has swallowed by the surface
        if (board ? floor < want : floor > want) {
          region = feature.region;
          dev = up * (z - floor);
          limit = region === "fret slots" ? this.slots : FLOOR_LIMITS;
        }
      }
    }
    if (region === "") {
      const g2 = sx * sx + sy * sy;
      // at a crease the slope across it is neither side's
      dev = g2 < 4 && !(bend > this.scale.crease) ? (up * (z - want)) / Math.sqrt(1 + g2) : distance(neck, board, x, y, z, want);
      region = target.region(x, y, want);
    }
    if (this.last === null || this.last.region !== region) this.last = tallyOf(this.tallies, region, limit, x, y);
    count(this.last, dev, x, y);
    return dev;
  }

  /** Puts what was counted elsewhere of a region to the rest. */
  join(region: string, t: DeviationTally, xy: (at: readonly [number, number]) => readonly [number, number]): void {
    if (t.cells === 0) return;
    const belowAt = xy(t.belowAt);
    const own = tallyOf(this.tallies, region, this.limits, ...belowAt);
    add(own, { ...t, region, limits: this.limits, belowAt, aboveAt: xy(t.aboveAt) });
  }
}

/** The neck's own distance where the surface is steep; the exact sign where it has none. */
function distance(neck: Neck, board: boolean, x: number, y: number, z: number, want: number): number {
  // without the board the face is the glue plane, which the neck's own distance does not know
  if (board && neck.order.blank.kind === "shaft-alone" && neck.top(x, y) >= 0) return z - want;
  const d = board ? neck.topDistance(x, y, z) : neck.backDistance(x, y, z);
  return Number.isFinite(d) ? d : board ? z - want : want - z;
}

function boardTarget(neck: Neck): Target {
  const p = neck.places;
  const bare = neck.order.blank.kind === "shaft-alone";
  const tilted = neck.order.headstock.kind === "angled" || neck.order.headstock.kind === "scarfed";
  let at = 0;
  return {
    lo: 0,
    hi: 0,
    whole: "",
    column(x) {
      // without the board the neck ends with its shaft
      if (x < p.tip + INSET || x > (bare ? p.shaftEnd : p.end) - INSET) return false;
      at = x;
      [this.lo, this.hi] = neck.edges(x);
      this.whole = bare ? "" : wholeAt(x, this.lo, this.hi);
      return this.hi > this.lo;
    },
    z: (y) => (bare ? Math.min(0, neck.top(at, y)) : neck.top(at, y)),
    region: (x, y, want) => {
      if (want >= (bare ? 0 : neck.boardTop(x, y))) return "board";
      return !tilted && x - p.nutSlope * y > p.rampFoot ? "ramp" : "headstock face";
    },
  };
  /** Past the ramp's upper end, at either edge, the board is all there is; before its foot the face, where it lies under the board's surface, which bows down toward the edges. */
  function wholeAt(x: number, lo: number, hi: number): string {
    const [a, b] = [x - p.nutSlope * lo, x - p.nutSlope * hi];
    if (Math.min(a, b) > p.rampTop + INSET) return "board";
    if (Math.max(a, b) > Math.min(p.rampFoot, p.rampTop) - INSET) return "";
    return neck.top(x, lo) < neck.boardTop(x, lo) && neck.top(x, hi) < neck.boardTop(x, hi) ? "headstock face" : "";
  }
}

function carveTarget(neck: Neck): Target {
  const p = neck.places;
  let section: BackSection | null = null;
  let flat = false;
  return {
    lo: 0,
    hi: 0,
    whole: "",
    column(x) {
      if (x < p.tip + INSET || x > p.end - INSET || Math.abs(x - p.shaftEnd) < INSET) return false;
      [this.lo, this.hi] = neck.edges(x);
      section = neck.section(x);
      flat = x > p.shaftEnd;
      this.whole = regionAt(x);
      return this.hi > this.lo;
    },
    z: (y) => (flat || section === null ? 0 : sectionZ(section, y)),
    region: regionAt,
  };
  function regionAt(x: number): string {
    return x > p.shaftEnd
      ? "overhang"
      : x >= p.heelFront
        ? "heel"
        : x > p.carveEnd
          ? "heel transition"
          : x >= p.carveStart
            ? "carve"
            : x > p.headBack
              ? "head transition"
              : "headstock back";
  }
}

/** The feature whose floor a point shows (of several, the deepest), "edge" beside a wall, null on the plain surface. */
function featureAt(nearby: readonly Feature[], x: number, y: number, up: 1 | -1): Feature | "edge" | null {
  let found: Feature | null = null;
  let wall = false;
  for (const f of nearby) {
    const d = f.distance(x, y);
    if (d > INSET) continue;
    if (d > -INSET) {
      wall = true;
      continue;
    }
    if (f.floor === null) return f;
    if (f.inner !== null) {
      const e = f.inner(x, y);
      if (Math.abs(e) <= INSET) return "edge";
      if (e < 0) return { ...f, floor: null };
    }
    if (found === null || found.floor === null || up * (f.floor(x, y) - found.floor(x, y)) < 0) found = f;
  }
  return wall ? "edge" : found;
}
