import { endOf, flattenCurve, startOf } from "../../src/kernel/contour.ts";
import type { Curve, Point } from "../../src/kernel/curve.ts";

/* Writers of test drawings: any curves, in any pieces, order, direction and unit. Not the writers of the program. */

export const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

/** Pairs as DXF lines. */
export const dxfText = (pairs: readonly (readonly [number, string | number])[], eol = "\n"): string =>
  pairs.map(([code, value]) => `${code}${eol}${typeof value === "number" ? dec(value) : value}${eol}`).join("");

/** Twelve digits after the point, as careful writers do. */
export const dec = (v: number): string => (Number.isInteger(v) ? `${v}` : v.toFixed(12));

export type Pairs = readonly (readonly [number, string | number])[];

/** A whole file around entities. */
export function dxfFile(
  entities: Pairs,
  more: { insUnits?: number | null; blocks?: Pairs; tables?: Pairs; eol?: string; eof?: boolean } = {},
): string {
  const { insUnits = 4, blocks = [], tables = [], eol = "\n", eof = true } = more;
  const section = (name: string, inside: Pairs): Pairs => [[0, "SECTION"], [2, name], ...inside, [0, "ENDSEC"]];
  return dxfText(
    [
      ...section("HEADER", [
        [9, "$ACADVER"],
        [1, "AC1015"],
        ...(insUnits === null
          ? []
          : ([
              [9, "$INSUNITS"],
              [70, `${insUnits}`],
            ] as const)),
      ]),
      ...(tables.length > 0 ? section("TABLES", tables) : []),
      ...(blocks.length > 0 ? section("BLOCKS", blocks) : []),
      ...section("ENTITIES", entities),
      ...(eof ? ([[0, "EOF"]] as const) : []),
    ],
    eol,
  );
}

export const line = (a: Point, b: Point, layer = "0"): Pairs => [
  [0, "LINE"],
  [8, layer],
  [10, a.x],
  [20, a.y],
  [30, 0],
  [11, b.x],
  [21, b.y],
  [31, 0],
];

export const light = (points: readonly (readonly [number, number, number?])[], closed: boolean, layer = "0"): Pairs => [
  [0, "LWPOLYLINE"],
  [8, layer],
  [90, `${points.length}`],
  [70, closed ? "1" : "0"],
  ...points.flatMap(([x, y, bulge]): Pairs => [[10, x], [20, y], ...(bulge ? ([[42, bulge]] as const) : [])]),
];

export const circle = (x: number, y: number, r: number, layer = "0"): Pairs => [
  [0, "CIRCLE"],
  [8, layer],
  [10, x],
  [20, y],
  [30, 0],
  [40, r],
];

const deg = (rad: number): number => (rad * 180) / Math.PI;

/** One curve as one entity: a line, an arc or a half-exact spline of degree 3. */
export function entity(c: Curve, layer = "0"): Pairs {
  if (c.kind === "line") return line(c.a, c.b, layer);
  if (c.kind === "arc") {
    const [from, to] = c.sweep > 0 ? [c.start, c.start + c.sweep] : [c.start + c.sweep, c.start];
    return [
      [0, "ARC"],
      [8, layer],
      [10, c.centre.x],
      [20, c.centre.y],
      [30, 0],
      [40, c.radius],
      [50, deg(from)],
      [51, deg(to)],
    ];
  }
  return spline([c.p0, c.p1, c.p2, c.p3], [0, 0, 0, 0, 1, 1, 1, 1], 3, null, layer);
}

export const spline = (
  points: readonly Point[],
  knots: readonly number[],
  degree: number,
  weights: readonly number[] | null,
  layer = "0",
): Pairs => [
  [0, "SPLINE"],
  [8, layer],
  [70, weights === null ? "8" : "12"],
  [71, `${degree}`],
  [72, `${knots.length}`],
  [73, `${points.length}`],
  [74, "0"],
  ...knots.map((k) => [40, k] as const),
  ...(weights ?? []).map((w) => [41, w] as const),
  ...points.flatMap(
    (p): Pairs => [
      [10, p.x],
      [20, p.y],
      [30, 0],
    ],
  ),
];

/** Path data that go on from the curve's start. */
export function pathStep(c: Curve): string {
  if (c.kind === "line") return `L${dec(c.b.x)} ${dec(c.b.y)}`;
  if (c.kind === "cubic") return `C${[c.p1, c.p2, c.p3].map((p) => `${dec(p.x)},${dec(p.y)}`).join(" ")}`;
  // arcs of at most half a turn, so that the flags are plain
  const pieces = Math.ceil(Math.abs(c.sweep) / 3);
  return Array.from({ length: pieces }, (_, k) => {
    const a = c.start + (c.sweep * (k + 1)) / pieces;
    const [x, y] = [c.centre.x + c.radius * Math.cos(a), c.centre.y + c.radius * Math.sin(a)];
    return `A${dec(c.radius)} ${dec(c.radius)} 0 0 ${c.sweep > 0 ? 1 : 0} ${dec(x)} ${dec(y)}`;
  }).join("");
}

export const svgFile = (inside: string, root = 'width="200mm" height="200mm" viewBox="0 0 200 200"', before = ""): string =>
  `<?xml version="1.0" encoding="UTF-8"?>\n${before}<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" ${root}>\n${inside}\n</svg>\n`;

/** Farthest distance from places on the curves to a polygon or other curves, by dense sampling. */
export const samplesOf = (curves: readonly Curve[], chord = 0.05): Point[] =>
  curves.flatMap((c) => {
    const flat = flattenCurve(c, chord);
    return Array.from({ length: flat.length / 2 }, (_, k) => ({ x: flat[2 * k], y: flat[2 * k + 1] }));
  });

/** R12's polyline: vertices as entities of their own. */
export const heavy = (points: readonly (readonly [number, number, number?])[], closed: boolean, layer = "0"): Pairs => [
  [0, "POLYLINE"],
  [8, layer],
  [66, "1"],
  [70, closed ? "1" : "0"],
  ...points.flatMap(
    ([x, y, bulge]): Pairs => [[0, "VERTEX"], [8, layer], [10, x], [20, y], [30, 0], ...(bulge ? ([[42, bulge]] as const) : [])],
  ),
  [0, "SEQEND"],
  [8, layer],
];

/** Lines and arcs as one run of vertices, each with the bulge of the piece after it: tan(sweep / 4). */
export const bulges = (curves: readonly Curve[]): (readonly [number, number, number])[] =>
  curves.map((c) => {
    const p = startOf(c);
    if (c.kind === "cubic") throw new Error("a polyline has no cubics");
    return [p.x, p.y, c.kind === "arc" ? Math.tan(c.sweep / 4) : 0] as const;
  });

/** An arc as a rational spline of degree 2: middle weight cos(sweep / 2) (Piegl and Tiller, section 7.3). Below half a turn. */
export function rationalArc(c: Extract<Curve, { kind: "arc" }>, layer = "0"): Pairs {
  const [half, mid] = [c.sweep / 2, c.start + c.sweep / 2];
  const r = c.radius / Math.cos(half);
  const middle = { x: c.centre.x + r * Math.cos(mid), y: c.centre.y + r * Math.sin(mid) };
  return spline([startOf(c), middle, endOf(c)], [0, 0, 0, 1, 1, 1], 2, [1, Math.cos(half), 1], layer);
}

/** A cubic as a spline of degree 5, raised twice, and cut by no knot. */
export function raisedCubic(c: Extract<Curve, { kind: "cubic" }>, layer = "0"): Pairs {
  let points: Point[] = [c.p0, c.p1, c.p2, c.p3];
  for (let n = 4; n <= 5; n++) {
    const p = points;
    const mix = (k: number): Point => ({
      x: (k / n) * p[k - 1].x + (1 - k / n) * p[k].x,
      y: (k / n) * p[k - 1].y + (1 - k / n) * p[k].y,
    });
    points = [p[0], ...Array.from({ length: n - 1 }, (_, k) => mix(k + 1)), p[n - 1]];
  }
  return spline(points, [0, 0, 0, 0, 0, 0, 2, 2, 2, 2, 2, 2], 5, null, layer);
}

/** An arc as an ellipse of ratio 1, its parameters counted from a turned axis. */
export function roundEllipse(c: Extract<Curve, { kind: "arc" }>, axis: number, layer = "0"): Pairs {
  const [from, to] = c.sweep > 0 ? [c.start, c.start + c.sweep] : [c.start + c.sweep, c.start];
  return [
    [0, "ELLIPSE"],
    [8, layer],
    ...([
      [10, c.centre.x],
      [20, c.centre.y],
      [30, 0],
    ] as const),
    ...([
      [11, c.radius * Math.cos(axis)],
      [21, c.radius * Math.sin(axis)],
      [31, 0],
    ] as const),
    [40, 1],
    [41, from - axis],
    [42, to - axis],
  ];
}
