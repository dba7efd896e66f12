import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { checkMotion, follow, goAbove, type Motion, type Path, RAMP_ANGLE, rampFrom, retract, reversedPath } from "./common.ts";
import { THIN, type ThinTolerance, thinPath } from "./thin.ts";

/*
 * Rows over a surface, one after the other:
 *
 *   ----->----->-----.      link: along the surface, when it is short and the surface
 *   .-----<-----<----'            between the rows is known
 *   '---->----->----->      otherwise: up to the safe height, across, down
 */
export interface RowsOptions extends Motion {
  /** zigzag: every other row backward; one-way: all as given. */
  readonly direction?: "zigzag" | "one-way";
  /** Lowest free height of the cutter's tip over the finished surface, for links and nothing else. Missing: always lift. */
  readonly surface?: (x: Mm, y: Mm) => Mm;
  /** Longest link along the surface, seen from above; default 0. */
  readonly maxLink?: Mm;
  /** Links keep this far above the surface; default 0 (they touch like a row). */
  readonly linkGap?: Mm;
  /** Distance between samples of a link; default 0.2 mm. */
  readonly sampling?: Mm;
  /** plunge: straight down onto a row's first point (round-nosed cutters, or rows that begin in the air); ramp: along the row. */
  readonly entry?: "plunge" | "ramp";
  readonly rampAngle?: Rad;
  readonly thin?: ThinTolerance;
}

function linkOver(x0: Mm, y0: Mm, x1: Mm, y1: Mm, o: RowsOptions): Path | null {
  const { surface, maxLink = 0, linkGap = 0, sampling = 0.2 } = o;
  const L = Math.hypot(x1 - x0, y1 - y0);
  if (surface === undefined || L > maxLink) return null;
  const n = Math.max(1, Math.ceil(L / sampling));
  const out = new Float64Array(3 * (n + 1));
  for (let k = 0; k <= n; k++) {
    const x = x0 + ((x1 - x0) * k) / n;
    const y = y0 + ((y1 - y0) * k) / n;
    const z = surface(x, y) + linkGap;
    if (!Number.isFinite(z)) return null;
    out[3 * k] = x;
    out[3 * k + 1] = y;
    out[3 * k + 2] = z;
  }
  return out;
}

/**
 * Cuts rows in the order given. Each row is a path of the tip (x, y, z triples, two points or more). Throws a RangeError for
 * a row that is not.
 */
export function rows(b: MoveBuilder, lines: readonly Path[], o: RowsOptions): void {
  checkMotion(o);
  const { direction = "zigzag", entry = "plunge", rampAngle = RAMP_ANGLE, thin = THIN } = o;
  retract(b, o);
  let backward = false;
  let cutting = false;
  for (let r = 0; r < lines.length; r++) {
    const line = lines[r];
    if (line.length < 6 || line.length % 3 !== 0) throw new RangeError(`row ${r} is not a path of two points or more`);
    if (!line.every(Number.isFinite)) throw new RangeError(`row ${r} has a coordinate that is not a number`);
    const p = thinPath(backward ? reversedPath(line) : line, thin);
    const link = cutting ? linkOver(b.px, b.py, p[0], p[1], o) : null;
    if (link !== null) follow(b, thinPath(link, thin), o.feed);
    else if (entry === "ramp") rampFrom(b, p, o.approachZ, o, rampAngle);
    else goAbove(b, p[0], p[1], o);
    if (b.px !== p[0] || b.py !== p[1] || b.pz !== p[2]) b.lineTo(p[0], p[1], p[2], link === null ? o.plunge : o.feed);
    follow(b, p, o.feed, 1);
    cutting = true;
    if (direction === "zigzag") backward = !backward;
  }
  retract(b, o);
}
