import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Path, RAMP_ANGLE, retract, reversedPath } from "./common.ts";
import type { PocketOptions } from "./pocket.ts";
import { thinPath } from "./thin.ts";

/*
 * A straight channel with round ends whose floor, or the surface it opens in, is no level plane: a rod's channel with a hollow floor, an
 * opening through a leaning headstock. Each pass lies `depth` further under the surface, none lower than the floor:
 *
 *   surface  --.__                     passes run along the middle, then round the walls in rings
 *                 `--.__
 *   pass 1   ..          `--.__
 *   floor    ----------------------
 */
export interface ShapedChannel {
  /** Centres of the round ends. */
  readonly from: readonly [Mm, Mm];
  readonly to: readonly [Mm, Mm];
  readonly width: Mm;
  /** Heights at length u from `from` along the middle line; also a little before 0 and past its end. */
  readonly top: (u: Mm) => Mm;
  readonly floor: (u: Mm) => Mm;
}

/** Longest chord of a ring's round ends, as an angle: within 0.6 um for a radius of 4 mm. */
const TURN = Math.PI / 90;
/** Longest step along a straight, and how many there are at least: a hollow floor bends over the whole length. */
const STEP: Mm = 2;
const LEAST_STEPS = 40;
const SAME_WIDTH: Mm = 0.001;

/** Cuts the channel. Throws a RangeError for one that is narrower than its cutter, or has no length or no depth. */
export function shapedChannel(b: MoveBuilder, c: ShapedChannel, o: PocketOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  above0("step", o.step);
  const d = o.cutterDiameter;
  const [dx, dy] = [c.to[0] - c.from[0], c.to[1] - c.from[1]];
  const length = Math.hypot(dx, dy);
  if (!(length > 0)) throw new RangeError("a channel needs two different ends");
  if (!(c.width >= d - SAME_WIDTH)) throw new RangeError(`a channel of ${c.width} mm is narrower than its cutter of ${d} mm`);
  const side = Math.max(0, (c.width - d) / 2);
  const n = Math.max(LEAST_STEPS, Math.ceil(length / STEP));
  let deepest = 0;
  for (let k = 0; k <= 4 * n; k++) deepest = Math.max(deepest, c.top((length * k) / (4 * n)) - c.floor((length * k) / (4 * n)));
  if (!(deepest > 0)) throw new RangeError("a channel whose floor nowhere lies under its surface has no depth");
  const at = (u: Mm, left: Mm): readonly [Mm, Mm] => [c.from[0] + (u * dx - left * dy) / length, c.from[1] + (u * dy + left * dx) / length];
  const passes = Math.max(1, Math.ceil(deepest / o.depth - 1e-9));
  const height = (u: Mm, k: number): Mm => Math.max(c.floor(u), c.top(u) - (deepest * k) / passes);
  const put = (out: number[], u: Mm, left: Mm, k: number): void => {
    out.push(...at(u, left), height(u, k));
  };
  const middle = (k: number): Path => {
    const out: number[] = [];
    for (let i = 0; i <= n; i++) put(out, (length * i) / n, 0, k);
    return Float64Array.from(out);
  };
  /** Counter-clockwise round both ends, the wall on the right of the travel. */
  const ring = (r: Mm, k: number): Path => {
    const turn = o.milling === "conventional" ? -1 : 1;
    const out: number[] = [];
    const m = Math.ceil(Math.PI / TURN);
    for (let i = 0; i <= n; i++) put(out, (length * i) / n, -turn * r, k);
    for (let i = 1; i <= m; i++) {
      const a = -Math.PI / 2 + (Math.PI * i) / m;
      put(out, length + r * Math.cos(a), turn * r * Math.sin(a), k);
    }
    for (let i = 1; i <= n; i++) put(out, length - (length * i) / n, turn * r, k);
    for (let i = 1; i <= m; i++) {
      const a = Math.PI / 2 + (Math.PI * i) / m;
      put(out, r * Math.cos(a), turn * r * Math.sin(a), k);
    }
    return Float64Array.from(out);
  };
  const rings = side <= SAME_WIDTH / 2 ? 0 : Math.max(1, Math.ceil(side / o.step - 1e-9));
  const slope = Math.tan(o.rampAngle ?? RAMP_ANGLE);
  const thin = { vertical: 0.001, lateral: 0.0005 };
  retract(b, o);
  goAbove(b, c.from[0], c.from[1], o, height(0, 0));
  for (let k = 1; k <= passes; k++) {
    // down along the middle and back, from one pass's heights to the next one's, no steeper than the ramp
    const bite = deepest / passes;
    const legs = 2 * Math.max(1, Math.ceil(bite / slope / length / 2 - 1e-9));
    for (let leg = 1; leg <= legs; leg++) {
      const p = leg % 2 === 1 ? middle(k) : reversedPath(middle(k));
      const m = p.length / 3;
      for (let i = 0; i < m; i++) {
        const u = (length * (leg % 2 === 1 ? i : m - 1 - i)) / (m - 1);
        const share = (leg - 1 + i / (m - 1)) / legs;
        p[3 * i + 2] = Math.max(c.floor(u), c.top(u) - bite * (k - 1 + share));
      }
      follow(b, thinPath(p, thin), o.ramp);
    }
    follow(b, thinPath(middle(k), thin), o.feed);
    follow(b, thinPath(reversedPath(middle(k)), thin), o.feed);
    for (let i = 1; i <= rings; i++) follow(b, thinPath(ring((side * i) / rings, k), thin), o.feed);
    if (rings > 0) b.lineTo(c.from[0], c.from[1], height(0, k), o.feed);
  }
  retract(b, o);
}
