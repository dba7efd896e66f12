import type { Mm, Rad } from "../../units/index.ts";
import { type Grid, valueAt } from "./grid.ts";
import type { Uncut } from "./uncut.ts";

/*
 * One pass along the front of what is uncut, steered so that the disc meets the angle aimed at and never more than allowed:
 *
 *        ///////////////      look a little ahead, turn toward the uncut side as far as the angle there allows, no tighter
 *      ->(o)   <- ahead       than the least radius; then, step by step, turn away until the step itself is allowed
 */
export interface MarchOptions {
  readonly step: Mm;
  readonly ahead: Mm;
  readonly leastRadius: Mm;
  /** Angle aimed at, and never exceeded. */
  readonly aim: Rad;
  readonly most: Rad;
}

/** A pass: where the disc's centre went (x, y pairs) and about how much it took. */
export interface Pass {
  readonly xy: number[];
  readonly area: number;
}

/** Widest turn looked at when steering, and the step of turning away. */
const LOOK: Rad = 0.9;
const NUDGE: Rad = 0.05;
const AWAY = 40;
const TOWARD = 8;

/**
 * Marches from (x, y) along heading h; `side` +1: the uncut is on the right, -1: on the left. `allowed` (a grid of the same
 * layout) is not negative where the centre may be. Ends where no step is allowed, or after nothing was met for a while.
 */
export function march(u: Uncut, grid: Grid, allowed: Float32Array, x: Mm, y: Mm, h: Rad, side: 1 | -1, o: MarchOptions, longest: Mm): Pass {
  const { step, ahead, aim, most } = o;
  const xy = [x, y];
  const turnMost = step / o.leastRadius;
  const patience = u.radius * 0.6;
  let area = 0;
  let idle = 0;
  let contact = false;
  let kept = 2;
  const tries = Math.ceil(longest / step);
  for (let n = 0; n < tries; n++) {
    // steer
    const look = (d: Rad): Rad => {
      const c = Math.cos(h - side * d);
      const s = Math.sin(h - side * d);
      return u.met(x + ahead * c, y + ahead * s, c, s);
    };
    let turn: Rad;
    if (look(turnMost) < aim) turn = covers(u, x, y, h, side, ahead, look) ? 0 : turnMost;
    else if (look(-turnMost) > aim) turn = look(-LOOK) > aim ? -LOOK : -turnMost;
    else {
      let lo = -turnMost;
      let hi = turnMost;
      for (let k = 0; k < 4; k++) {
        const mid = (lo + hi) / 2;
        if (look(mid) > aim) hi = mid;
        else lo = mid;
      }
      turn = (lo + hi) / 2;
    }
    if (turn < -turnMost) turn = -turnMost;
    h -= side * turn;
    // guard
    let found = false;
    let e = 0;
    let c = 0;
    let s = 0;
    for (let k = 0; k <= AWAY + TOWARD; k++) {
      const d = k <= AWAY ? k * NUDGE : (AWAY - k) * NUDGE;
      c = Math.cos(h + side * d);
      s = Math.sin(h + side * d);
      if (valueAt(grid, allowed, x + step * c, y + step * s, -1) < 0) continue;
      e = u.met(x + step * c, y + step * s, c, s);
      if (e > most) continue;
      h += side * d;
      found = true;
      break;
    }
    if (!found) break;
    const nx = x + step * c;
    const ny = y + step * s;
    u.sweep(x, y, nx, ny, n > 0);
    xy.push(nx, ny);
    x = nx;
    y = ny;
    if (e > 0.03) {
      area += step * u.radius * (1 - Math.cos(Math.min(e, Math.PI)));
      idle = 0;
      contact = true;
      kept = xy.length;
    } else {
      idle += step;
      if (idle > (contact ? patience : 2.5 * patience)) break;
    }
  }
  xy.length = kept;
  return { xy, area };
}

/**
 * Whether the disc, a little ahead, reaches over the far side of what is uncut (a thin ridge): turning further toward it would
 * cross the ridge instead of taking it along.
 */
function covers(u: Uncut, x: Mm, y: Mm, h: Rad, side: 1 | -1, ahead: Mm, look: (d: Rad) => Rad): boolean {
  if (look(0) < 0.1) return false;
  const a = h - side * FLANK;
  const px = x + ahead * Math.cos(h) + u.radius * Math.cos(a);
  const py = y + ahead * Math.sin(h) + u.radius * Math.sin(a);
  return u.depthAt(px, py) <= 0;
}

/** Just before square to the way. */
const FLANK: Rad = 1.48;
