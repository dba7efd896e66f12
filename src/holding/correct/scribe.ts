import type { Polygon } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { type InBlank, placementProblem, upOf } from "../placement/neck.ts";
import { marginAt, place } from "../placement/solve.ts";
import type { PlacementProblem, Region } from "../placement/types.ts";
import { slip } from "./odd.ts";
import type { EdgeLine, Found, StationReading } from "./types.ts";

/** Readings may differ from a straight edge by this much: a rule read to half a millimetre, and a rough edge. */
const STRAIGHT: Mm = 1.2;
const r1 = (v: number): number => Math.round(v * 10) / 10;

export interface Scribed {
  /** The blank's edges where the readings put them, in the neck's frame. */
  readonly near: EdgeLine;
  readonly far: EdgeLine;
  /** Largest distance of a reading from its edge's line. */
  readonly off: Mm;
  /** Smallest margin as the line was scribed; the best by sliding alone (turned as it is); and the best there is, turned too. */
  readonly now: Mm;
  readonly slid: { readonly margin: Mm; readonly bound: Mm; readonly to: InBlank };
  readonly turned: { readonly margin: Mm; readonly bound: Mm; readonly to: InBlank };
}

function line(xs: readonly number[], ys: readonly number[]): EdgeLine {
  const n = xs.length;
  const mx = xs.reduce((a, b) => a + b, 0) / n;
  const my = ys.reduce((a, b) => a + b, 0) / n;
  let sxx = 0;
  let sxy = 0;
  xs.forEach((x, k) => {
    sxx += (x - mx) ** 2;
    sxy += (x - mx) * (ys[k] - my);
  });
  const slope = sxx > 0 ? sxy / sxx : 0;
  return { at: my - slope * mx, slope };
}

const worst = (l: EdgeLine, xs: readonly number[], ys: readonly number[]): number =>
  Math.max(...xs.map((x, k) => Math.abs(ys[k] - l.at - l.slope * x)));

/**
 * What distances from the scribed outline to the blank's edges say: least squares lines through both edges, the margins as the
 * neck lies now, and where it would lie better. The ends, the blocks' grip, defects and figure are taken to lie along the measured datum
 * edge as the order has them. `at` is where the order has the neck.
 */
export function readScribe(neck: Neck, at: InBlank, readings: readonly StationReading[]): Found<Scribed> {
  const bad = (says: string, tryThis: string): Found<Scribed> => ({ ok: false, says, tryThis });
  if (readings.length < 2)
    return bad("One station does not show how the blank's edge runs.", "Measure at two stations or more, far apart.");
  const { tip, end } = neck.places;
  const { length } = neck.order.blank;
  // square to the neck, as it is measured
  const width = neck.order.blank.width / Math.cos(at.rotation);
  if (neck.order.blank.outline !== undefined)
    return bad(
      "This blank is given by its corners; readings at stations are understood only where both edges are straight and side by side.",
      "Measure the corners again, put them into the order (blank.outline), and run place without --at.",
    );
  const up = upOf(neck);
  const span = Math.max(...readings.map((r) => r.x)) - Math.min(...readings.map((r) => r.x));
  if (span < (end - tip) / 4)
    return bad(
      `All stations lie within ${r1(span)} mm; over so short a way half a millimetre of reading turns the neck by degrees.`,
      `Measure near the headstock's tip and near the body, at least ${r1((end - tip) / 4)} mm apart.`,
    );
  const edges = readings.map((r) => {
    const [lo, hi] = neck.edges(Math.min(end - 0.01, Math.max(tip + 0.01, r.x)));
    return up > 0 ? [lo, hi] : [-hi, -lo];
  });
  const offWidth = (r: StationReading, k: number): Mm => Math.abs(r.near + r.far + edges[k][1] - edges[k][0] - width);
  const exchanged = (i: number, j: number): StationReading[] =>
    readings.map((r, k) => (k === i ? { ...readings[j], x: r.x } : k === j ? { ...readings[i], x: r.x } : r));
  if (readings.some((r, k) => offWidth(r, k) > 2))
    for (let i = 0; i < readings.length; i++)
      for (let j = i + 1; j < readings.length; j++)
        if (exchanged(i, j).every((r, k) => offWidth(r, k) < 1.2))
          return bad(
            `The readings of stations ${r1(readings[i].x)} and ${r1(readings[j].x)} fit the blank's width only when they change places.`,
            "Were the two written down the wrong way round? Measure both again.",
          );
  for (const [k, r] of readings.entries()) {
    const where = `at station ${r1(r.x)}`;
    if (!(r.x > tip && r.x < end))
      return bad(
        `There is no neck ${where}: it reaches from ${r1(tip)} (the tip) to ${r1(end)} mm from the nut.`,
        "Stations count from the nut, those on the headstock are negative.",
      );
    const own = edges[k][1] - edges[k][0];
    for (const [name, v, other] of [
      ["datum edge", r.near, r.far],
      ["far edge", r.far, r.near],
    ] as const) {
      const rest = width - own - other;
      const fits = (u: Mm): boolean => u >= -0.5 && Math.abs(u - rest) < Math.max(4, width * 0.04);
      if (fits(v)) continue;
      const otherFits = other >= -0.5 && Math.abs(other - (width - own - v)) < 4;
      if (
        v < rest &&
        other > rest + v &&
        !otherFits &&
        slip(other, (u) => Math.abs(u - (width - own - v)) < Math.max(4, width * 0.04)) !== null
      )
        continue;
      const guess = slip(v, fits);
      return bad(
        `${where[0].toUpperCase()}${where.slice(1)} you measured ${r1(v)} mm to the ${name}. With the neck (${r1(own)}) and the other side (${r1(other)}) that is ${r1(own + v + other)} mm, but the blank is ${r1(width)} mm wide.`,
        guess === null ? "Measure this station again, both sides." : `Look at ${r1(v)} again: ${guess}?`,
      );
    }
  }
  const xs = readings.map((r) => r.x);
  const through = (rs: readonly StationReading[]): { near: EdgeLine; far: EdgeLine; off: number } => {
    const nears = rs.map((r, k) => edges[k][0] - r.near);
    const fars = rs.map((r, k) => edges[k][1] + r.far);
    const [near, far] = [line(xs, nears), line(xs, fars)];
    return { near, far, off: Math.max(worst(near, xs, nears), worst(far, xs, fars)) };
  };
  const f = through(readings);
  if (f.off > STRAIGHT) {
    // would it fit with two stations' readings exchanged?
    for (let i = 0; i < readings.length; i++)
      for (let j = i + 1; j < readings.length; j++) {
        const swapped = exchanged(i, j);
        if (through(swapped).off < STRAIGHT / 2)
          return bad(
            `The edges come out ${r1(f.off)} mm crooked, but straight when the readings of stations ${r1(readings[i].x)} and ${r1(readings[j].x)} change places.`,
            "Were the two written down the wrong way round? Measure both again.",
          );
      }
    return bad(
      `No straight edge fits these readings: one is ${r1(f.off)} mm off.`,
      "Measure again, square to the neck; if the edge is rough, give its corners in the order (blank.outline).",
    );
  }
  // the blank as it is, in the frame of the nut's middle as the neck was scribed; its ends lie square to its length as the order has it
  const [cos, sin] = [Math.cos(at.rotation), Math.sin(at.rotation)];
  const on = (l: EdgeLine, fromEnd: Mm): readonly [number, number] => {
    const x = (fromEnd - at.tipFromEnd + tip + sin * l.at) / (cos - sin * l.slope);
    return [x, l.at + l.slope * x];
  };
  const corners: Polygon = Float64Array.from([on(f.near, 0), on(f.near, length), on(f.far, length), on(f.far, 0)].flat());
  return { ok: true, value: { ...f, ...marginsIn(neck, at, corners) } };
}

/** The margin of the neck where the order has it, and the best there is, in a blank with these corners (frame of the neck as placed). */
function marginsIn(neck: Neck, at: InBlank, corners: Polygon): Pick<Scribed, "now" | "slid" | "turned"> {
  const here = seenFromScribe(placementProblem(neck), corners);
  const slid = place({ ...here, rotation: { min: 0, max: 0 } });
  const turned = place(here);
  const [cos, sin] = [Math.cos(at.rotation), Math.sin(at.rotation)];
  const to = (p: { readonly rotation: number; readonly shift: { readonly x: number; readonly y: number } }): InBlank => ({
    tipFromEnd: at.tipFromEnd + cos * p.shift.x - sin * p.shift.y,
    centreFromDatum: at.centreFromDatum + sin * p.shift.x + cos * p.shift.y,
    rotation: at.rotation + p.rotation,
  });
  return {
    now: marginAt(here, { rotation: 0, shift: { x: 0, y: 0 } }).margin,
    slid: { margin: slid.margin, bound: slid.bound, to: to(slid) },
    turned: { margin: turned.margin, bound: turned.bound, to: to(turned) },
  };
}

/** A blank farther from its pins than this was not touched there: a number is wrong. */
const FROM_PINS: Mm = 15;
const FROM_PINS_TURN = 0.03;

/**
 * What three touches say, in the board side's frame with x along the blank from the end stop and y from the fence into the blank: two on the
 * datum edge and one on the headstock end.
 */
export function readTouched(
  neck: Neck,
  at: InBlank,
  touches: readonly (readonly [Mm, Mm])[],
): Found<Pick<Scribed, "now" | "slid" | "turned">> {
  const bad = (says: string, tryThis: string): Found<Scribed> => ({ ok: false, says, tryThis });
  const { blank } = neck.order;
  if (blank.outline !== undefined)
    return bad("This blank is given by its corners; three touches tell of a straight one.", "Run place without --touch.");
  const found = readTouches(touches, blank.length);
  if (!found.ok) return found;
  const { angle, edge, end } = found.value;
  for (const [what, v] of [
    ["datum edge", edge],
    ["headstock end", end],
  ] as const) {
    if (Math.abs(v) <= FROM_PINS) continue;
    const tenth = Math.abs(v / 10) <= FROM_PINS ? ` Was ${r1(v / 10)} meant?` : "";
    return bad(
      `By these touches the ${what} lies ${r1(v)} mm from where the pins have it.`,
      `Look at the numbers again.${tenth} If they are right, seat the blank against its pins and touch again.`,
    );
  }
  if (Math.abs(angle) > FROM_PINS_TURN)
    return bad(
      `By these touches the blank lies ${r1((Math.abs(angle) * 180) / Math.PI)} degrees askew along its fence.`,
      "Look at the numbers again, a digit may have slipped. If they are right, seat the blank against its pins and touch again.",
    );
  const [ux, uy] = [Math.cos(angle), Math.sin(angle)];
  const x0 = end * ux - (at.tipFromEnd - neck.places.tip);
  const y0 = edge + end * uy - at.centreFromDatum;
  const [cos, sin] = [Math.cos(at.rotation), Math.sin(at.rotation)];
  const corner = (along: Mm, across: Mm): readonly [Mm, Mm] => {
    const [x, y] = [x0 + along * ux - across * uy, y0 + along * uy + across * ux];
    return [cos * x + sin * y, cos * y - sin * x];
  };
  const { length, width } = blank;
  const corners = [corner(0, 0), corner(length, 0), corner(length, width), corner(0, width)];
  return { ok: true, value: marginsIn(neck, at, Float64Array.from(corners.flat())) };
}

/**
 * The problem with the blank where it was measured: `corners` from the headstock end of its datum edge on, in the frame of the scribed
 * neck. Everything else of the blank moves with that corner and edge.
 */
export function seenFromScribe(problem: PlacementProblem, corners: Polygon): PlacementProblem {
  const [x0, y0, x1, y1] = corners;
  const d = Math.hypot(x1 - x0, y1 - y0);
  const [c, s] = [(x1 - x0) / d, (y1 - y0) / d];
  const moved = (r: Region): Region => ({
    ...r,
    polygon: r.polygon.map((_, k) => {
      const [x, y] = [r.polygon[k - (k % 2)], r.polygon[k - (k % 2) + 1]];
      return k % 2 === 0 ? x0 + c * x - s * y : y0 + s * x + c * y;
    }),
  });
  const [blank, ...others] = problem.within;
  // the grain lies along the datum edge, wherever that is
  const lies = Math.atan2(s, c);
  const rotation = { min: problem.rotation.min + lies, max: problem.rotation.max + lies };
  return { ...problem, rotation, within: [{ ...blank, polygon: corners }, ...others.map(moved)], without: problem.without.map(moved) };
}

/** Where the blank really lies from three touch-offs, in the program's frame: turned by `angle` about the datum edge's place over x = 0. */
export interface TouchedOff {
  readonly angle: number;
  /** The datum edge's y at x = 0, and the end's x where it meets the datum edge. */
  readonly edge: Mm;
  readonly end: Mm;
}

/** Two touches on the datum edge and one on the end, in program coordinates (the cutter's or pin's radius taken off already). */
export function readTouches(points: readonly (readonly [Mm, Mm])[], length: Mm): Found<TouchedOff> {
  const bad = (says: string, tryThis: string): Found<TouchedOff> => ({ ok: false, says, tryThis });
  if (points.length !== 3)
    return bad(`Three touches are needed, not ${points.length}.`, "Two on the datum edge, far apart, and one on the end.");
  const [a, b, c] = points;
  const d = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (d < length / 5)
    return bad(
      `The two touches on the datum edge are ${r1(d)} mm apart; over so short a way a tenth of a millimetre turns the whole neck.`,
      `Touch the datum edge at two places at least ${r1(length / 5)} mm apart.`,
    );
  const across = Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / d;
  if (across < 5)
    return bad(
      `The three touches lie on one line (within ${r1(across)} mm): they show the datum edge, but nothing of the end.`,
      "Touch the end itself, well off the datum edge's corner.",
    );
  const angle = Math.atan2(b[1] - a[1], b[0] - a[0]);
  const lean = Math.abs(angle) > Math.PI / 2 ? angle - Math.sign(angle) * Math.PI : angle;
  if (Math.abs(lean) > 0.1)
    return bad(
      `The datum edge would lie ${r1((Math.abs(lean) * 180) / Math.PI)} degrees askew on the bed.`,
      "Were x and y of a touch exchanged, or a point typed wrongly? Touch again, or seat the blank against its pins.",
    );
  const [ux, uy] = [Math.cos(lean), Math.sin(lean)];
  const edge = a[1] - (a[0] * uy) / ux;
  const along = ux * c[0] + uy * (c[1] - edge);
  return { ok: true, value: { angle: lean, edge, end: along } };
}
