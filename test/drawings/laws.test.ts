/** What is drawn is what is read: any outline, in any pieces, order, direction, unit and form. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { endOf, startOf } from "../../src/kernel/contour.ts";
import type { Contour, Curve, Point } from "../../src/kernel/curve.ts";
import { type DrawingOptions, type DrawingUnit, readDrawing } from "../../src/spec/drawing/index.ts";
import { apart, outlineArb } from "./outlines.ts";
import {
  bulges,
  bytes,
  dec,
  dxfFile,
  entity,
  heavy,
  light,
  type Pairs,
  pathStep,
  raisedCubic,
  rationalArc,
  roundEllipse,
  svgFile,
} from "./write.ts";

const RUNS = { seed: 20260101, numRuns: 60 };
const NEAR = 1e-3;

const any = outlineArb(["line", "arc", "cubic"]);
const round = outlineArb(["line", "arc"]);
const real = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

function read(
  text: string,
  kind: "dxf" | "svg",
  options: DrawingOptions = {},
): { outline: Contour; unit: string | null; scale: number | null } {
  const r = readDrawing(bytes(text), kind, options);
  const bad = r.findings.filter((f) => f.severity === "stop" || f.rule === "SP-331").map((f) => `${f.rule} ${f.where}: ${f.says}`);
  expect(bad).toEqual([]);
  expect(r.outline).not.toBeNull();
  return { outline: r.outline as Contour, unit: r.facts.unit, scale: r.facts.scale };
}

function backwards(c: Curve): Curve {
  if (c.kind === "line") return { kind: "line", a: c.b, b: c.a };
  if (c.kind === "arc") return { ...c, start: c.start + c.sweep, sweep: -c.sweep };
  return { kind: "cubic", p0: c.p3, p1: c.p2, p2: c.p1, p3: c.p0 };
}

function scaled(c: Curve, s: number): Curve {
  const p = (q: Point): Point => ({ x: q.x * s, y: q.y * s });
  if (c.kind === "line") return { kind: "line", a: p(c.a), b: p(c.b) };
  if (c.kind === "arc") return { ...c, centre: p(c.centre), radius: c.radius * s };
  return { kind: "cubic", p0: p(c.p0), p1: p(c.p1), p2: p(c.p2), p3: p(c.p3) };
}

/** The pieces in any order, each in either direction. */
const shuffled = (curves: readonly Curve[]): fc.Arbitrary<readonly Curve[]> =>
  fc
    .tuple(fc.shuffledSubarray([...curves], { minLength: curves.length }), fc.array(fc.boolean(), { minLength: 9, maxLength: 9 }))
    .map(([list, turn]) => list.map((c, k) => (turn[k] ? backwards(c) : c)));
const loose = any.chain((curves) => fc.record({ curves: fc.constant(curves), pieces: shuffled(curves) }));

const INS: readonly (readonly [number, DrawingUnit, number])[] = [
  [1, "in", 25.4],
  [2, "ft", 304.8],
  [4, "mm", 1],
  [5, "cm", 10],
  [6, "m", 1000],
];

describe("DXF", () => {
  it("loose lines, arcs, splines, ellipses and rational splines, in every unit that the file states", () => {
    fc.assert(
      fc.property(
        loose,
        fc.constantFrom(...INS),
        fc.array(fc.integer({ min: 0, max: 2 }), { minLength: 9, maxLength: 9 }),
        ({ curves, pieces }, [code, unit, mm], how) => {
          const written = pieces
            .map((c) => scaled(c, 1 / mm))
            .flatMap((c, k): Pairs => {
              if (c.kind === "arc" && how[k] === 1) return roundEllipse(c, k);
              if (c.kind === "arc" && how[k] === 2) return rationalArc(c);
              if (c.kind === "cubic" && how[k] > 0) return raisedCubic(c);
              return entity(c);
            });
          const got = read(dxfFile(written, { insUnits: code }), "dxf");
          expect(got.unit).toBe(unit);
          expect(got.scale).toBe(mm);
          expect(apart(curves, got.outline)).toBeLessThan(NEAR);
        },
      ),
      RUNS,
    );
  });

  it("the order's unit and scale go before the file's", () => {
    fc.assert(
      fc.property(any, fc.constantFrom(...INS), real(0.25, 4), (curves, [, unit, mm], scale) => {
        const text = dxfFile(
          curves.flatMap((c) => entity(scaled(c, 1 / (mm * scale)))),
          { insUnits: null },
        );
        const got = read(text, "dxf", { unit, scale });
        expect(got.scale).toBeCloseTo(mm * scale, 9);
        expect(apart(curves, got.outline)).toBeLessThan(NEAR);
      }),
      { ...RUNS, numRuns: 20 },
    );
  });

  it("polylines of R12 and light ones, with bulges, in either direction, with any line end", () => {
    fc.assert(
      fc.property(round, fc.boolean(), fc.boolean(), fc.constantFrom("\n", "\r\n", "\r"), (curves, old, turned, eol) => {
        const run = turned ? [...curves].reverse().map(backwards) : curves;
        const got = read(dxfFile((old ? heavy : light)(bulges(run), true), { eol }), "dxf");
        expect(apart(curves, got.outline)).toBeLessThan(NEAR);
      }),
      RUNS,
    );
  });

  it("looked at from below: extrusion 0, 0, -1 turns x over", () => {
    fc.assert(
      fc.property(round, fc.boolean(), (curves, asPolyline) => {
        const below: Pairs = [
          [210, 0],
          [220, 0],
          [230, -1],
        ];
        const flip = (p: Point): Point => ({ x: -p.x, y: p.y });
        const entities = asPolyline
          ? [...light(bulges(curves), true), ...below]
          : // lines are in the world's frame, arcs in their own
            curves.flatMap((c): Pairs => (c.kind === "line" ? entity({ ...c, a: flip(c.a), b: flip(c.b) }) : [...entity(c), ...below]));
        expect(apart(curves, read(dxfFile(entities), "dxf").outline, flip, flip)).toBeLessThan(NEAR);
      }),
      { ...RUNS, numRuns: 30 },
    );
  });

  it("blocks within blocks, moved, turned and stretched: circles become ellipses", () => {
    const at = fc.record({
      x: real(-80, 80),
      y: real(-80, 80),
      deg: real(-180, 180),
      sx: real(0.7, 1.4),
      sy: real(0.7, 1.4),
      mirror: fc.boolean(),
      bx: real(-20, 20),
      by: real(-20, 20),
    });
    fc.assert(
      fc.property(round, at, at, (curves, p, q) => {
        const insert = (name: string, i: typeof p): Pairs => [
          [0, "INSERT"],
          [8, "0"],
          [2, name],
          [10, i.x],
          [20, i.y],
          [30, 0],
          [41, i.mirror ? -i.sx : i.sx],
          [42, i.sy],
          [50, i.deg],
        ];
        const block = (name: string, i: typeof p, inside: Pairs): Pairs => [
          [0, "BLOCK"],
          [8, "0"],
          [2, name],
          [70, "0"],
          [10, i.bx],
          [20, i.by],
          [30, 0],
          ...inside,
          [0, "ENDBLK"],
          [8, "0"],
        ];
        const map =
          (i: typeof p) =>
          (v: Point): Point => {
            const [x, y] = [(v.x - i.bx) * (i.mirror ? -i.sx : i.sx), (v.y - i.by) * i.sy];
            const [c, s] = [Math.cos((i.deg * Math.PI) / 180), Math.sin((i.deg * Math.PI) / 180)];
            return { x: c * x - s * y + i.x, y: s * x + c * y + i.y };
          };
        const back =
          (i: typeof p) =>
          (v: Point): Point => {
            const [c, s] = [Math.cos((i.deg * Math.PI) / 180), Math.sin((i.deg * Math.PI) / 180)];
            const [x, y] = [c * (v.x - i.x) + s * (v.y - i.y), -s * (v.x - i.x) + c * (v.y - i.y)];
            return { x: x / (i.mirror ? -i.sx : i.sx) + i.bx, y: y / i.sy + i.by };
          };
        const blocks = [
          ...block(
            "inner",
            p,
            curves.flatMap((c) => entity(c)),
          ),
          ...block("Outer", q, insert("INNER", p)),
        ];
        const got = read(dxfFile(insert("outer", q), { blocks }), "dxf");
        expect(
          apart(
            curves,
            got.outline,
            (v) => map(q)(map(p)(v)),
            (v) => back(p)(back(q)(v)),
          ),
        ).toBeLessThan(NEAR);
      }),
      { ...RUNS, numRuns: 30 },
    );
  });
});

/** The outline as one path, y down. Relative steps count from the start of each. */
function pathOf(curves: readonly Curve[], relative: boolean): string {
  const first = startOf(curves[0]);
  if (!relative) return `M${dec(first.x)},${dec(first.y)}${curves.map(pathStep).join("")}Z`;
  const d = (a: Point, b: Point): string => `${dec(b.x - a.x)},${dec(b.y - a.y)}`;
  const steps = curves.map((c) => {
    const s = startOf(c);
    if (c.kind === "line") return `l${d(s, c.b)}`;
    if (c.kind === "cubic") return `c${d(s, c.p1)} ${d(s, c.p2)} ${d(s, c.p3)}`;
    return `a${dec(c.radius)},${dec(c.radius)} 30 0${c.sweep > 0 ? 1 : 0}${d(s, endOf(c))}`;
  });
  return `m${dec(first.x)} ${dec(first.y)}${steps.join("")}z`;
}
const flipY = (p: Point): Point => ({ x: p.x, y: -p.y });

describe("SVG", () => {
  it("one path, absolute or relative, in every unit of width and height", () => {
    const units = [
      ["mm", 1],
      ["cm", 10],
      ["in", 25.4],
      ["pt", 25.4 / 72],
      ["pc", 25.4 / 6],
      ["Q", 0.25],
    ] as const;
    fc.assert(
      fc.property(any, fc.boolean(), fc.constantFrom(...units), fc.constantFrom(1, 90, 3.78), (curves, relative, [unit, mm], perMm) => {
        const path = pathOf(
          curves.map((c) => scaled(c, perMm)),
          relative,
        );
        const size = 400;
        const root = `width="${size / mm}${unit}" height="${size / mm}${unit}" viewBox="-200 -200 ${size * perMm} ${size * perMm}"`;
        const got = read(svgFile(`<path d="${path}"/>`, root), "svg");
        expect(got.scale).toBeCloseTo(1 / perMm, 9);
        expect(apart(curves, got.outline, flipY, flipY)).toBeLessThan(NEAR);
      }),
      RUNS,
    );
  });

  it("loose pieces as lines, polylines and paths", () => {
    fc.assert(
      fc.property(loose, ({ curves, pieces }) => {
        const inside = pieces.map((c, k) => {
          const s = startOf(c);
          if (c.kind !== "line") return `<path d="M ${dec(s.x)} ${dec(s.y)} ${pathStep(c)}"/>`;
          return k % 2 === 0
            ? `<line x1="${dec(c.a.x)}" y1="${dec(c.a.y)}" x2="${dec(c.b.x)}" y2="${dec(c.b.y)}"/>`
            : `<polyline points="${dec(c.a.x)},${dec(c.a.y)} ${dec(c.b.x)},${dec(c.b.y)}"/>`;
        });
        expect(apart(curves, read(svgFile(inside.join("")), "svg").outline, flipY, flipY)).toBeLessThan(NEAR);
      }),
      RUNS,
    );
  });

  it("transforms, nested and in lists, and a used copy", () => {
    const step = fc.oneof(
      fc.tuple(real(-50, 50), real(-50, 50)).map(([x, y]) => [`translate(${x} ${y})`, [1, 0, 0, 1, x, y]] as const),
      fc.tuple(real(0.8, 1.25), real(-1.25, -0.8)).map(([x, y]) => [`scale(${x},${y})`, [x, 0, 0, y, 0, 0]] as const),
      real(-180, 180).map((a) => {
        const [c, s] = [Math.cos((a * Math.PI) / 180), Math.sin((a * Math.PI) / 180)];
        return [`rotate(${a}, 7 9)`, [c, s, -s, c, 7 - 7 * c + 9 * s, 9 - 7 * s - 9 * c]] as const;
      }),
      real(-20, 20).map((a) => [`skewX(${a})`, [1, 0, Math.tan((a * Math.PI) / 180), 1, 0, 0]] as const),
      real(-20, 20).map((a) => [`skewY(${a})`, [1, Math.tan((a * Math.PI) / 180), 0, 1, 0, 0]] as const),
      fc
        .tuple(real(0.8, 1.2), real(-0.2, 0.2), real(-0.2, 0.2), real(0.8, 1.2), real(-9, 9), real(-9, 9))
        .map((m) => [`matrix(${m.join(" ")})`, m] as const),
    );
    fc.assert(
      fc.property(any, fc.array(step, { minLength: 1, maxLength: 3 }), step, fc.boolean(), (curves, outer, inner, used) => {
        const path = `<path id="head" transform="${inner[0]}" d="${pathOf(curves, false)}"/>`;
        const list = outer.map(([text]) => text.replace(/(\d)e-\d+/g, "$1e-9")).join(" , ");
        const inside = used
          ? `<defs>${path}</defs><g transform="${list}"><use x="5" y="-3" xlink:href="#head"/></g>`
          : `<g transform="${list}">${path}</g>`;
        const matrices = [...outer.map(([, m]) => m), ...(used ? [[1, 0, 0, 1, 5, -3]] : []), inner[1]];
        const map = (p: Point): Point => {
          let q = p;
          for (const [a, b, c, d, e, f] of [...matrices].reverse()) q = { x: a * q.x + c * q.y + e, y: b * q.x + d * q.y + f };
          return flipY(q);
        };
        const back = (p: Point): Point => {
          let q = flipY(p);
          for (const [a, b, c, d, e, f] of matrices) {
            const [x, y, det] = [q.x - e, q.y - f, a * d - b * c];
            q = { x: (d * x - c * y) / det, y: (a * y - b * x) / det };
          }
          return q;
        };
        expect(apart(curves, read(svgFile(inside), "svg").outline, map, back)).toBeLessThan(NEAR);
      }),
      RUNS,
    );
  });
});
