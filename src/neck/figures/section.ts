import type { Part } from "../../materials/beam.ts";
import type { MegaPascal, Mm, Mm2 } from "../../units/index.ts";
import { sectionZ } from "../carve.ts";
import type { Neck } from "../types.ts";

/** Area, centroid and second moments of a plane figure between two heights over y. */
export interface PlaneFigure {
  readonly area: Mm2;
  /** z of the centroid. */
  readonly centroid: Mm;
  /** About its own centroid, bending in the plane of x and z, mm4. */
  readonly inertia: number;
}

/** Gauss-Legendre abscissae and weights, 16 points on -1..1 (Abramowitz and Stegun, table 25.4). */
const GAUSS: readonly (readonly [number, number])[] = [
  [0.0950125098376374, 0.1894506104550685],
  [0.2816035507792589, 0.1826034150449236],
  [0.4580167776572274, 0.1691565193950025],
  [0.6178762444026438, 0.1495959888165767],
  [0.755404408355003, 0.1246289712555339],
  [0.8656312023878318, 0.0951585116824928],
  [0.9445750230732326, 0.0622535239386479],
  [0.9894009349916499, 0.0271524594117541],
];

/**
 * Integrals over the figure between z = low(y) and z = high(y), y from a to b. y = middle + half sin(t): upright flanks at the
 * ends, where an oval's slope has no bound, become smooth in t. Two panels on each side of `split`.
 */
export function planeFigure(low: (y: Mm) => Mm, high: (y: Mm) => Mm, a: Mm, b: Mm, split = 0): PlaneFigure {
  let area = 0;
  let first = 0;
  let second = 0;
  const add = (y: Mm, w: number): void => {
    const z0 = low(y);
    const z1 = high(y);
    area += w * (z1 - z0);
    first += (w * (z1 * z1 - z0 * z0)) / 2;
    second += (w * (z1 ** 3 - z0 ** 3)) / 3;
  };
  for (const [from, to] of [
    [a, split],
    [split, b],
  ]) {
    // distance from the outer end: y = outer + (inner - outer) s^3, which spreads an oval's upright end
    const outer = from === split ? to : from;
    const inner = split;
    const span = Math.abs(inner - outer);
    for (let panel = 0; panel < 4; panel++)
      for (const [g, w] of GAUSS)
        for (const sign of [-1, 1]) {
          const s = (panel + (1 + sign * g) / 2) / 4;
          add(outer + (inner - outer) * s ** 3, (w / 8) * span * 3 * s * s);
        }
  }
  const centroid = first / area;
  return { area, centroid, inertia: second - area * centroid * centroid };
}

/** The shaft at x: from the finished back up to the glue plane (or the headstock's face), channels not taken out. */
export function shaftFigure(neck: Neck, x: Mm): PlaneFigure {
  const s = neck.section(x);
  const [lo, hi] = neck.edges(x);
  const back = (y: Mm): Mm => sectionZ(s, Math.min(s.yMax, Math.max(s.yMin, y)));
  return planeFigure(back, (y) => Math.min(0, neck.top(x, y)), lo, hi);
}

/** The board at x; null where there is none. */
export function boardFigure(neck: Neck, x: Mm): PlaneFigure | null {
  const { places } = neck;
  if (x < places.boardFront || x > places.boardEnd) return null;
  const [lo, hi] = neck.boardEdges(x);
  return planeFigure(
    () => 0,
    (y) => Math.max(0, neck.top(x, y)),
    lo,
    hi,
  );
}

/** What stiffens the neck at x: shaft and board, less the room of rods that lie loose in their channels; bars glued in count. */
export function partsAt(neck: Neck, x: Mm, shaft: MegaPascal, board: MegaPascal): Part[] {
  const parts: Part[] = [{ modulus: shaft, ...shaftFigure(neck, x) }];
  const b = boardFigure(neck, x);
  if (b && neck.order.blank.kind === "board-glued") parts.push({ modulus: board, ...b });
  for (const c of neck.features.rod) {
    if (x < c.xMin || x > c.xMax || c.rodHeight === 0) continue;
    const bottom = c.from === "carve" ? c.zFloor - c.rodHeight : c.zFloor;
    const area = c.width * c.rodHeight;
    const room = { centroid: bottom + c.rodHeight / 2, inertia: (c.width * c.rodHeight ** 3) / 12 };
    const bar = c.id.startsWith("bar") ? BAR_MODULUS[neck.order.bars?.material ?? "hardwood"] : 0;
    // the channel takes wood away, a glued bar puts its own stiffness there
    parts.push({ modulus: bar - shaft, area, ...room });
  }
  return parts;
}

/** Orders of magnitude from memory: unidirectional carbon pultrusion, steel, a hard wood along its grain. */
const BAR_MODULUS = { carbon: 120_000, steel: 200_000, hardwood: 12_000 } as const;

/** Length around the section at x, board included: what the hand feels. Chords of 400 steps, error below 0.01 mm. */
export function girth(neck: Neck, x: Mm): Mm {
  const [lo, hi] = neck.boardEdges(x);
  const s = neck.section(x);
  let sum = 0;
  let last: readonly [Mm, Mm] | null = null;
  const go = (y: Mm, z: Mm): void => {
    if (last) sum += Math.hypot(y - last[0], z - last[1]);
    last = [y, z];
  };
  const n = 400;
  const yAt = (k: number): Mm => {
    const c = -Math.cos((Math.PI * k) / n);
    return c < 0 ? -c * lo : c * hi;
  };
  for (let k = 0; k <= n; k++) go(yAt(k), sectionZ(s, Math.min(s.yMax, Math.max(s.yMin, yAt(k)))));
  for (let k = n; k >= 0; k--) go(yAt(k), neck.top(x, yAt(k)));
  go(yAt(0), sectionZ(s, s.yMin));
  return sum;
}
