import type { Part } from "../../materials/beam.ts";
import { woodByName } from "../../materials/woods.ts";
import type { MegaPascal, Mm, Mm2, Rad } from "../../units/index.ts";
import { sectionZ } from "../carve.ts";
import type { Neck, RodChannel } from "../types.ts";

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

/** How the outer ends of a figure are met: upright: an oval's flank, whose slope has no bound there; smooth: nothing special. */
type Ends = "upright" | "smooth";

/**
 * Integrals over the figure between z = low(y) and z = high(y), y from a to b, on each side of `split`. Toward upright ends
 * y = outer + (inner - outer) s^3, which makes the flank smooth in s: two panels of 16 points each; smooth sides take one.
 */
export function planeFigure(low: (y: Mm) => Mm, high: (y: Mm) => Mm, a: Mm, b: Mm, split: Mm = 0, ends: Ends = "upright"): PlaneFigure {
  let area = 0;
  let first = 0;
  let second = 0;
  const add = (y: Mm, w: number): void => {
    const z0 = low(y);
    const z1 = high(y);
    area += w * (z1 - z0);
    first += (w * (z1 * z1 - z0 * z0)) / 2;
    second += (w * (z1 * z1 * z1 - z0 * z0 * z0)) / 3;
  };
  const cubic = ends === "upright";
  const panels = cubic ? 2 : 1;
  for (const outer of [a, b]) {
    const span = split - outer;
    if (span === 0) continue;
    const size = Math.abs(span) / (2 * panels);
    for (let panel = 0; panel < panels; panel++)
      for (const [g, w] of GAUSS)
        for (let sign = -1; sign <= 1; sign += 2) {
          const s = (panel + (1 + sign * g) / 2) / panels;
          add(outer + span * (cubic ? s * s * s : s), w * size * (cubic ? 3 * s * s : 1));
        }
  }
  const centroid = first / area;
  return { area, centroid, inertia: second - area * centroid * centroid };
}

/** The shaft at x: from the finished back up to the glue plane (or the headstock's face), channels not taken out; `thicker`: the back lies that much lower. */
export function shaftFigure(neck: Neck, x: Mm, thicker: Mm = 0): PlaneFigure {
  const [lo, hi] = neck.edges(x);
  return shaftBetween(neck, x, lo, hi, thicker);
}

function shaftBetween(neck: Neck, x: Mm, a: Mm, b: Mm, thicker: Mm): PlaneFigure {
  const s = neck.section(x);
  const back = (y: Mm): Mm => sectionZ(s, Math.min(s.yMax, Math.max(s.yMin, y))) - thicker;
  // a strip that does not reach the edges meets no upright flank
  const inner = a > s.yMin + 1e-9 && b < s.yMax - 1e-9;
  return planeFigure(back, (y) => Math.min(0, neck.top(x, y)), a, b, Math.min(b, Math.max(a, 0)), inner ? "smooth" : "upright");
}

interface Strip {
  readonly wood: string;
  readonly from: Mm;
  readonly to: Mm;
  /** Of its fibres to the centreline in plan, toward the treble side. */
  readonly grain: Rad;
}

/** Strips of a laminated shaft across the neck, from -y to +y: the outermost reach as far as there is wood. */
export function stripsOf(neck: Neck): readonly Strip[] {
  const { blank, wood, hand } = neck.order;
  const { strips } = wood;
  if (!strips || strips.length === 0) return [];
  const total = strips.reduce((a, s) => a + s.width, 0);
  // strips lie centred in the blank, and the blank as it is placed about the centreline; bass edge at -y, right-handed
  const fromBass =
    blank.centreFromDatum === null
      ? blank.width / 2
      : blank.datumEdge === "bass"
        ? blank.centreFromDatum
        : blank.width - blank.centreFromDatum;
  let y = blank.width / 2 - fromBass - total / 2;
  const right = strips.map((s, i) => {
    const from = i === 0 ? -1e4 : y;
    y += s.width;
    return { wood: s.wood, from, to: i === strips.length - 1 ? 1e4 : y, grain: s.grain ?? 0 };
  });
  return hand === "left" ? right.map((s) => ({ ...s, from: -s.to, to: -s.from })).reverse() : right;
}

/** The shaft at x wood by wood: one figure, or one for each strip. */
export function shaftByWood(neck: Neck, x: Mm, thicker: Mm = 0): readonly { readonly wood: string; readonly figure: PlaneFigure }[] {
  const strips = stripsOf(neck);
  if (strips.length === 0) return [{ wood: neck.order.wood.shaft, figure: shaftFigure(neck, x, thicker) }];
  const [lo, hi] = neck.edges(x);
  return strips.flatMap((s) => {
    const [a, b] = [Math.max(lo, s.from), Math.min(hi, s.to)];
    return b - a > 1e-9 ? [{ wood: s.wood, figure: shaftBetween(neck, x, a, b, thicker) }] : [];
  });
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
    0,
    "smooth",
  );
}

/** Middle height of what lies in a channel at x (its floor may be curved), z. */
export function channelMiddle(c: RodChannel, x: Mm): Mm {
  const u = c.xMax > c.xMin ? (2 * (x - c.xMin)) / (c.xMax - c.xMin) - 1 : 0;
  const floor = c.zFloor - (c.sag ?? 0) * Math.max(0, 1 - u * u);
  return c.from === "carve" ? floor - c.rodHeight / 2 : floor + c.rodHeight / 2;
}

/**
 * What stiffens the neck at x: shaft (strip by strip) and board glued together, less the room of rods and bars. Bars are glued in and
 * count where they lie. A rod lies loose: it bends beside the wood, about its own middle. The filler strip is wood again; slots are filled
 * by their frets.
 */
export function partsAt(neck: Neck, x: Mm, shaft: MegaPascal, board: MegaPascal, thicker: Mm = 0): Part[] {
  const laminated = (neck.order.wood.strips?.length ?? 0) > 0;
  const parts: Part[] = shaftByWood(neck, x, thicker).map((p) => ({
    modulus: laminated ? (woodByName(p.wood)?.moe ?? shaft) : shaft,
    ...p.figure,
  }));
  const b = boardFigure(neck, x);
  if (b) parts.push({ modulus: board, ...b });
  for (const c of neck.features.rod) {
    if (x < c.xMin || x > c.xMax || c.rodHeight === 0) continue;
    const area = c.width * c.rodHeight;
    const room = { centroid: channelMiddle(c, x), inertia: (c.width * c.rodHeight ** 3) / 12 };
    const around = laminated ? modulusAt(neck, c.y ?? 0, shaft) : shaft;
    const bar = c.id.startsWith("bar") ? BAR_MODULUS[neck.order.bars?.material ?? "hardwood"] : 0;
    // the channel takes wood away, a glued bar puts its own stiffness there
    parts.push({ modulus: bar - around, area, ...room });
    if (c.id === "rod-channel") parts.push({ modulus: BAR_MODULUS.steel, area: 0, centroid: room.centroid, inertia: rodInertia(c) });
  }
  return parts;
}

const modulusAt = (neck: Neck, y: Mm, other: MegaPascal): MegaPascal => {
  const strip = stripsOf(neck).find((s) => y >= s.from && y <= s.to);
  return (strip && woodByName(strip.wood)?.moe) ?? other;
};

/** Of the rod about its own middle, mm4: one round bar of 5 mm, or two one over the other (common practice, no source). */
const rodInertia = (c: RodChannel): number => {
  const d = Math.min(5, c.width, c.rodHeight);
  const bars = c.sag === undefined && c.rodHeight >= 1.6 * d ? 2 : 1;
  return (bars * Math.PI * d ** 4) / 64;
};

/** Orders of magnitude from memory: unidirectional carbon pultrusion, steel, a hard wood along its grain. */
const BAR_MODULUS = { carbon: 120_000, steel: 200_000, hardwood: 12_000 } as const;

/** Length around the section at x, board included: what the hand feels. Chords of 400 steps, error below 0.01 mm. */
export function girth(neck: Neck, x: Mm, steps = 400): Mm {
  const [lo, hi] = neck.boardEdges(x);
  const s = neck.section(x);
  let sum = 0;
  let last: readonly [Mm, Mm] | null = null;
  const go = (y: Mm, z: Mm): void => {
    if (last) sum += Math.hypot(y - last[0], z - last[1]);
    last = [y, z];
  };
  const n = steps;
  const yAt = (k: number): Mm => {
    const c = -Math.cos((Math.PI * k) / n);
    return c < 0 ? -c * lo : c * hi;
  };
  for (let k = 0; k <= n; k++) go(yAt(k), sectionZ(s, Math.min(s.yMax, Math.max(s.yMin, yAt(k)))));
  for (let k = n; k >= 0; k--) go(yAt(k), neck.top(x, yAt(k)));
  go(yAt(0), sectionZ(s, s.yMin));
  return sum;
}
