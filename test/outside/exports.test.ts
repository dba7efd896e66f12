/*
 * One file because every check reads the same exports, which take longer to make than to measure.
 * Exported files, read back by programs and libraries that are not ours and measured against the exact neck.
 * DXF: dxf-parser, and ezdxf (Debian's python3-ezdxf) with its audit; sections, tables, entities and ranges of
 * group codes by the DXF R12 reference (header, tables, entities, "group codes by number"). SVG: svgpath; arcs by SVG 1.1, F.6.5.
 * PDF: poppler's pdftotext. CSV: RFC 4180.
 */

import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import svgpath from "svgpath";
import { beforeAll, describe, expect, test } from "vitest";
import { KINDS } from "../../src/cli/app.ts";
import { cli, type Ran } from "../../src/cli/ran.test-data.ts";
import { EXPORT_KINDS } from "../../src/job/export.ts";
import { closestOnCurve, curveBounds, curveLength, flatten } from "../../src/kernel/contour.ts";
import type { Curve } from "../../src/kernel/curve.ts";
import { polygonArea } from "../../src/kernel/polygon.ts";
import { plainItems } from "../../src/sheet/draw/plain.ts";
import { framed } from "../../src/sheet/drawings/common.ts";
import { templatesOf } from "../../src/sheet/exports/index.ts";
import { tiledTemplates } from "../../src/sheet/exports/templates.ts";
import { chainsOf, OVERLAP, tileDrawing } from "../../src/sheet/exports/tiles.ts";
import {
  bothWays,
  type Case,
  caseOf,
  densely,
  dxfPieces,
  FLAT,
  farthest,
  nearest,
  orderBytes,
  type Piece,
  toPiece,
  type XY,
} from "./exports.ts";
import { ensureEzdxf, haveEzdxf } from "./ezdxf/setup.mjs";

const NAMES = ["loan-guitar", "loan-guitar-left", "loan-guitar-seven", "loan-guitar-twelve", "loan-cittern", "loan-bass-fretless"] as const;
const cases = new Map<string, Case>();
const of = (name: string): Case => cases.get(name)!;
beforeAll(async () => {
  // of these two the drawings and the tables are read
  const some = ["dxf", "svg", "frets-csv"] as const;
  for (const name of NAMES)
    cases.set(name, await caseOf(orderBytes(name), name === "loan-guitar-left" || name === "loan-bass-fretless" ? some : FLAT));
});
const TEMPLATES = ["plan", "profile", "headstock", "gauges"] as const;

test("the command and the job know the same kinds", () => {
  expect([...KINDS]).toEqual([...EXPORT_KINDS]);
});

const leaveOut = process.env.NECKWRIGHT_OFFLINE === "1" && !haveEzdxf();
describe.skipIf(leaveOut)("ezdxf", () => {
  test("opens every DXF, finds nothing to mend, and the areas it sees are the exact ones", { timeout: 300_000 }, () => {
    const dir = mkdtempSync(join(tmpdir(), "neckwright-dxf-"));
    try {
      const files = (["loan-guitar", "loan-guitar-seven", "loan-guitar-twelve"] as const).flatMap((n) =>
        TEMPLATES.map((t) => ({ n, t, path: join(dir, `${n}-${t}.dxf`) })),
      );
      for (const f of files) writeFileSync(f.path, of(f.n).file(`-${f.t}.dxf`));
      const env = ensureEzdxf((line) => console.log(line));
      const r = spawnSync("python3", [new URL("./ezdxf/audit.py", import.meta.url).pathname, ...files.map((f) => f.path)], {
        encoding: "utf8",
        env,
        maxBuffer: 1 << 26,
      });
      expect(r.stderr).toBe("");
      const seen = JSON.parse(r.stdout) as {
        version: string;
        errors: string[];
        fixes: string[];
        layers: string[];
        kinds: Record<string, number>;
        areas: Record<string, number[]>;
      }[];
      expect(seen).toHaveLength(files.length);
      seen.forEach((s, i) => {
        expect([s.version, s.errors, s.fixes], files[i].path).toEqual(["AC1009", [], []]);
        expect(s.kinds.POLYLINE, files[i].path).toBeGreaterThan(0);
        if (files[i].t !== "plan") return;
        const { neck } = of(files[i].n);
        const length = 1400; // of the outline, mm, at most: chords within 0.0005 mm change its area by less than this times that
        expect(Math.abs(s.areas.OUTLINE[0] - Math.abs(polygonArea(flatten(neck.outline, 1e-5))))).toBeLessThan(length * 0.0006);
        expect(Math.abs(s.areas.BOARD[0] - Math.abs(polygonArea(flatten(neck.board, 1e-5))))).toBeLessThan(length * 0.0006);
      });
    } finally {
      rmSync(dir, { recursive: true, force: true });
    }
  });
});

describe.each(NAMES)("DXF of %s", (name) => {
  test("group codes in pairs, four sections each closed, R12 entities only, every layer and line type in its table", () => {
    for (const t of TEMPLATES) {
      const lines = of(name).text(`-${t}.dxf`).split("\r\n");
      expect(lines.pop()).toBe("");
      expect(lines.length % 2).toBe(0);
      const pairs = Array.from({ length: lines.length / 2 }, (_, i) => [Number(lines[2 * i]), lines[2 * i + 1]] as const);
      expect(pairs[0]).toEqual([999, "units: millimetres, 1:1 (DXF R12 has no unit of its own)"]);
      expect(pairs.at(-1)).toEqual([0, "EOF"]);
      const zero = pairs.filter(([c]) => c === 0).map(([, v]) => v);
      expect(zero.filter((v) => v === "SECTION")).toHaveLength(4);
      expect(zero.filter((v) => v === "ENDSEC")).toHaveLength(4);
      const start = pairs.findIndex(([c, v]) => c === 2 && v === "ENTITIES");
      const allowed = new Set(["LINE", "CIRCLE", "ARC", "POLYLINE", "VERTEX", "SEQEND", "TEXT", "ENDSEC", "EOF"]);
      const tables = { LAYER: new Set<string>(), LTYPE: new Set<string>() };
      pairs.slice(0, start).forEach(([c, v], i, all) => {
        if (c === 0 && (v === "LAYER" || v === "LTYPE")) tables[v].add(all[i + 1][1]);
      });
      pairs.forEach(([c, v], i) => {
        // 0-9 text, 10-59 real, 60-79 integer, 999 comment (DXF reference, group codes)
        if (c >= 10 && c <= 59) expect(v, `${t} group ${c}`).toMatch(/^-?\d+\.\d+$/);
        if (c >= 60 && c <= 79) expect(v).toMatch(/^\d+$/);
        if (c === 6) expect(tables.LTYPE.has(v)).toBe(true);
        if (i < start) return;
        if (c === 0) expect(allowed.has(v), v).toBe(true);
        if (c === 8) expect(tables.LAYER.has(v), v).toBe(true);
      });
      for (const l of tables.LAYER) expect(l).toMatch(/^[A-Z0-9$_-]{1,31}$/);
      expect(zero.filter((v) => v === "SEQEND")).toHaveLength(zero.filter((v) => v === "POLYLINE").length);
    }
  });

  test("outline and board of the plan lie within 0.001 mm of the exact curves, both ways", () => {
    const { neck, text } = of(name);
    const read = dxfPieces(text("-plan.dxf"));
    for (const [layer, contour] of [
      ["OUTLINE", neck.outline],
      ["BOARD", neck.board],
    ] as const) {
      const near = (q: XY): number => Math.min(...contour.curves.map((c) => closestOnCurve(c, q[0], q[1]).distance));
      expect(bothWays(read.get(layer)!, densely(contour.curves, 60), near), layer).toBeLessThan(0.001);
    }
    // the parts are parts of the outline: nowhere else but where they are cut off
    const outline = read.get("OUTLINE")!;
    const cut = (q: XY): boolean => Math.abs(q[0] - neck.places.shaftEnd) < 1e-5;
    for (const p of read.get("SHAFT")!)
      if (p.kind === "line" && !cut(p.b)) expect(Math.min(...outline.map((o) => toPiece(p.b, o)))).toBeLessThan(0.001);
  });

  test("slots, bores and markers stand where the neck has them", () => {
    const { neck, text } = of(name);
    const read = dxfPieces(text("-plan.dxf"));
    const slots = (read.get("FRET-SLOTS") ?? []) as Extract<Piece, { kind: "line" }>[];
    expect(slots).toHaveLength(neck.features.frets.length);
    neck.features.frets.forEach((f, i) => {
      const { a, b } = slots[i];
      for (const [got, want] of [
        [a[0], f.bass.x],
        [a[1], f.bass.y],
        [b[0], f.treble.x],
        [b[1], f.treble.y],
      ])
        expect(Math.abs(got - want)).toBeLessThan(1e-6);
      if (!neck.order.fan) expect(a[0]).toBeCloseTo(neck.order.scale * (1 - 2 ** (-f.number / 12)), 5);
    });
    const round = (layer: string): Extract<Piece, { kind: "arc" }>[] => (read.get(layer) ?? []).filter((p) => p.kind === "arc");
    expect(round("MARKERS").map((m) => [m.c[0], m.c[1], m.r])).toEqual(
      neck.features.markers.map((m) => [expect.closeTo(m.x, 5), expect.closeTo(m.y, 5), expect.closeTo(m.diameter / 2, 6)]),
    );
    if (!neck.features.tuners[0]?.tilt)
      expect(round("TUNERS").map((m) => [m.c[0], m.c[1], m.r])).toEqual(
        neck.features.tuners.map((m) => [expect.closeTo(m.x, 5), expect.closeTo(m.y, 5), expect.closeTo(m.steps.at(-1)!.diameter / 2, 6)]),
      );
  });

  test("the face laid flat: true circles, and distances from the nut along the face as ordered", () => {
    const { neck, text } = of(name);
    const read = dxfPieces(text("-headstock.dxf"));
    const bores = (read.get("TUNERS") ?? []).filter((p) => p.kind === "arc");
    expect(bores).toHaveLength(neck.features.tuners.length);
    const t = neck.order.headstock.tuners;
    // every post stands at first + k pitch from the nut along the face (square to the centreline's direction on one scale)
    if (!neck.order.fan)
      for (const b of bores) {
        const k = (-b.c[0] - t.first) / t.pitch;
        expect(Math.abs(k - Math.round(k)) * t.pitch).toBeLessThan(1e-5);
      }
    for (const b of bores) expect(b.r).toBeCloseTo(t.post / 2, 6);
    const walls = read.get("HEAD-SLOTS") ?? [];
    expect(walls.length > 0).toBe(neck.features.headSlots.length > 0);
    if (walls.length > 0) {
      // the ordered opening: from and length along the face
      const s = neck.order.headstock.slotted!;
      const xs = walls.flatMap((p) => (p.kind === "line" ? [p.a[0], p.b[0]] : []));
      expect(-Math.max(...xs)).toBeCloseTo(s.from, 3);
      expect(-Math.min(...xs)).toBeCloseTo(s.from + s.length, 3);
    }
  });

  test("profile and gauges lie within 0.001 mm of the neck's own surfaces", () => {
    const { neck, text } = of(name);
    const read = dxfPieces(text("-profile.dxf"));
    const p = neck.places;
    const top = read.get("TOP")!;
    const back = read.get("BACK")!;
    const middle = (x: number): number => {
      const [lo, hi] = neck.edges(x);
      return Math.max(lo + 1e-9, Math.min(hi - 1e-9, 0));
    };
    const toTop = nearest(top);
    const toBack = nearest(back);
    const { nut } = neck.features;
    for (let k = 1; k < 900; k++) {
      const x = p.tip + ((p.boardEnd - p.tip) * (k + 0.37)) / 900.5;
      // where a nut stands on a shelf the profile shows the shelf, the neck's top is without it
      const shelf = nut.kind === "shelf" && x > nut.xMin && x < 0;
      if (!shelf) expect(toTop([x, neck.top(x, middle(x))]), `top at ${x}`).toBeLessThan(0.001);
      if (x < p.shaftEnd) expect(toBack([x, neck.back(x, middle(x))]), `back at ${x}`).toBeLessThan(0.001);
    }
    // and from the file to the surface: the middles of its chords, against the surface close by
    for (const q of back)
      if (q.kind === "line") {
        const [x, z] = [(q.a[0] + q.b[0]) / 2, (q.a[1] + q.b[1]) / 2];
        let worst = Number.POSITIVE_INFINITY;
        const step = Math.abs(q.b[0] - q.a[0]) / 200;
        for (let k = -100; k <= 100; k++) {
          const u = Math.min(p.shaftEnd - 1e-9, Math.max(p.tip + 1e-9, x + k * step));
          worst = Math.min(worst, Math.hypot(u - x, neck.back(u, middle(u)) - z));
        }
        expect(worst, `back at ${x}`).toBeLessThan(0.001);
      }
    const cards = dxfPieces(text("-gauges.dxf")).get("GAUGES")!;
    // the first card stands at the drawing's origin
    const first = templatesOf(neck)[3].says.match(/at (?:fret (\d+)|x (-?[\d.]+))/)!;
    const x = first[1] !== undefined ? neck.fretAt(Number(first[1])) : Number(first[2]);
    const [lo, hi] = neck.edges(x);
    const toCard = nearest(cards);
    for (let k = 0; k <= 400; k++) {
      const y = (lo + hi) / 2 - ((hi - lo) / 2) * Math.cos((Math.PI * k) / 400) * (1 - 1e-12);
      expect(toCard([y, neck.back(x, y)]), `y ${y}`).toBeLessThan(0.001);
    }
  });
});

/** Pieces of SVG path data, read by svgpath; arcs in centre form by SVG 1.1, F.6.5 (circles only). Cubics by 400 chords (within 0.0003 mm on a neck). */
function svgPieces(d: string): Piece[] {
  const out: Piece[] = [];
  let start: XY = [0, 0];
  svgpath(d)
    .abs()
    .iterate((s, _i, x, y) => {
      const at: XY = [x, y];
      const n = s.slice(1) as number[];
      if (s[0] === "M") start = [n[0], n[1]];
      else if (s[0] === "L") out.push({ kind: "line", a: at, b: [n[0], n[1]] });
      else if (s[0] === "Z") out.push({ kind: "line", a: at, b: start });
      else if (s[0] === "C") {
        let a = at;
        for (let k = 1; k <= 400; k++) {
          const [t, u] = [k / 400, 1 - k / 400];
          const b = [0, 1].map(
            (i) => u ** 3 * at[i] + 3 * u * u * t * n[i] + 3 * u * t * t * n[2 + i] + t ** 3 * n[4 + i],
          ) as unknown as XY;
          out.push({ kind: "line", a, b });
          a = b;
        }
      } else if (s[0] === "A") out.push(arcOf(at, n));
      else throw new Error(`path command ${s[0]}`);
    });
  return out;
}

function arcOf(a: XY, [r0, , , large, sweep, bx, by]: number[]): Piece {
  const [hx, hy] = [(a[0] - bx) / 2, (a[1] - by) / 2];
  const q = hx * hx + hy * hy;
  const r = Math.max(r0, Math.sqrt(q));
  const f = (large === sweep ? -1 : 1) * Math.sqrt(Math.max(0, r * r - q) / q);
  const c: XY = [(a[0] + bx) / 2 + f * hy, (a[1] + by) / 2 - f * hx];
  const from = Math.atan2(a[1] - c[1], a[0] - c[0]);
  let turn = Math.atan2(by - c[1], bx - c[0]) - from;
  if (sweep && turn < 0) turn += 2 * Math.PI;
  if (!sweep && turn > 0) turn -= 2 * Math.PI;
  return { kind: "arc", c, r, from, turn };
}

describe.each(NAMES)("SVG of %s", (name) => {
  test("is in millimetres of its own view box, and outline and board are within 0.001 mm of the exact curves, both ways", () => {
    const { neck, text } = of(name);
    for (const t of TEMPLATES) {
      const [, w, h, vw, vh] = /<svg[^>]* width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(text(`-${t}.svg`))!;
      expect([w, h]).toEqual([vw, vh]);
    }
    const origin = framed(templatesOf(neck)[0], { order: name, hash: "0".repeat(64) }).origin!;
    // the outline is drawn first, the board next
    const paths = [...text("-plan.svg").matchAll(/<path[^>]* d="([^"]*)"/g)].slice(0, 2).map((m) => svgPieces(m[1]));
    [neck.outline, neck.board].forEach((contour, k) => {
      const exact = densely(contour.curves, 60).map(([x, y]): XY => [origin[0] + x, origin[1] - y]);
      const near = (q: XY): number =>
        Math.min(...contour.curves.map((c) => closestOnCurve(c, q[0] - origin[0], origin[1] - q[1]).distance));
      expect(bothWays(paths[k], exact, near), contour.name).toBeLessThan(0.001);
    });
  });
});

describe("sheets of a template", () => {
  test.each([
    ["loan-guitar", "A4"],
    ["loan-guitar-seven", "Letter"],
  ] as const)("%s on %s: put together they give the whole, and no more", (name, paper) => {
    for (const { drawing, tiles } of tiledTemplates(of(name).neck, paper)) {
      const whole = plainItems(drawing.items).flatMap((i) =>
        i.kind === "text" || i.kind === "image" || ("fill" in i && i.fill) ? [] : chainsOf(i).flat(),
      );
      const seen = new Set<number>();
      for (const t of tiles) {
        const page = tileDrawing(drawing, t);
        const pieces = plainItems(page.items)
          .filter(
            (i) => i.kind !== "text" && i.kind !== "image" && i.layer !== "register" && i.layer !== "cut-line" && !("fill" in i && i.fill),
          )
          .flatMap((i) => (i.kind === "text" || i.kind === "image" ? [] : chainsOf(i).flat()));
        // exact length of what the window holds, from the whole by midpoints
        let inside = 0;
        whole.forEach((c, k) => {
          const n = 400;
          const step = curveLength(c) / n;
          if (step === 0) return;
          const b = curveBounds(c);
          if (b.xMin > t.x + t.width || b.xMax < t.x || b.yMin > t.y + t.height || b.yMax < t.y) return;
          if (c.kind === "line") {
            inside += lineInside(c, t);
            if (lineInside(c, t) > 0) seen.add(k);
            return;
          }
          for (let m = 0; m < n; m++) {
            const q = at(c, (m + 0.5) / n);
            if (q[0] >= t.x && q[0] <= t.x + t.width && q[1] >= t.y && q[1] <= t.y + t.height) {
              inside += step;
              seen.add(k);
            }
          }
        });
        const drawn = pieces.reduce((s, c) => s + curveLength(c), 0);
        expect(Math.abs(drawn - inside), `${drawing.id} ${t.name} ${paper}`).toBeLessThan(0.6);
        for (const c of pieces)
          for (const q of densely([c], 1))
            expect(q[0] > -1e-6 && q[0] < t.width + 1e-6 && q[1] > -1e-6 && q[1] < t.height + 1e-6).toBe(true);
      }
      expect(seen.size).toBe(whole.filter((c) => curveLength(c) > 1e-9).length);
    }
  });

  test.each(NAMES)("%s: windows cover, overlap enough, and every register mark stands on both sheets of its joint", (name) => {
    for (const paper of ["A4", "Letter"] as const)
      for (const { drawing, tiles, lies } of tiledTemplates(of(name).neck, paper)) {
        const xs = [...new Set(tiles.map((t) => t.x))].sort((a, b) => a - b);
        const { width, height } = tiles[0];
        const room = paper === "A4" ? [210, 297] : [215.9, 279.4];
        if (lies === "landscape") room.reverse();
        expect(width).toBeLessThanOrEqual(room[0] - 30 + 1e-9);
        expect(height).toBeLessThanOrEqual(room[1] - 50);
        xs.slice(1).forEach((x, k) => {
          expect(xs[k] + width - x).toBeGreaterThanOrEqual(OVERLAP - 1e-9);
        });
        expect(xs.at(-1)! + width).toBeCloseTo(drawing.width, 9);
        const counts = new Map<string, number>();
        for (const t of tiles) for (const m of t.marks) counts.set(m.join(), (counts.get(m.join()) ?? 0) + 1);
        for (const n of counts.values()) expect(n).toBeGreaterThanOrEqual(2);
        if (tiles.length > 1) expect(counts.size).toBeGreaterThanOrEqual(2 * (tiles.length - 1));
      }
  });
});

const at = (c: Curve, t: number): XY => {
  const [, q] = densely([c], 1);
  if (c.kind === "line") return [c.a.x + (c.b.x - c.a.x) * t, c.a.y + (c.b.y - c.a.y) * t];
  if (c.kind === "arc")
    return [c.centre.x + c.radius * Math.cos(c.start + c.sweep * t), c.centre.y + c.radius * Math.sin(c.start + c.sweep * t)];
  const u = 1 - t;
  const b = (k: "x" | "y"): number => u ** 3 * c.p0[k] + 3 * u * u * t * c.p1[k] + 3 * u * t * t * c.p2[k] + t ** 3 * c.p3[k];
  return q ? [b("x"), b("y")] : q;
};

/** Length of a segment inside a window (Liang and Barsky, 1984). */
function lineInside(c: Extract<Curve, { kind: "line" }>, w: { x: number; y: number; width: number; height: number }): number {
  const [dx, dy] = [c.b.x - c.a.x, c.b.y - c.a.y];
  let [t0, t1] = [0, 1];
  for (const [p, q] of [
    [-dx, c.a.x - w.x],
    [dx, w.x + w.width - c.a.x],
    [-dy, c.a.y - w.y],
    [dy, w.y + w.height - c.a.y],
  ]) {
    if (p === 0) {
      if (q < 0) return 0;
    } else if (p < 0) t0 = Math.max(t0, q / p);
    else t1 = Math.min(t1, q / p);
  }
  return t1 > t0 ? (t1 - t0) * Math.hypot(dx, dy) : 0;
}

describe("laws", () => {
  test("the same bytes twice", async () => {
    for (const name of ["loan-guitar-twelve"] as const) {
      const again = await caseOf(orderBytes(name));
      expect(again.made.files!.map((f) => f.path)).toEqual(of(name).made.files!.map((f) => f.path));
      again.made.files!.forEach((f, i) => {
        expect(Buffer.compare(f.bytes, of(name).made.files![i].bytes), f.path).toBe(0);
      });
    }
  });

  test.each(["loan-guitar", "loan-guitar-seven", "loan-guitar-twelve"] as const)(
    "%s made left-handed is its mirror image, layer by layer",
    async (name) => {
      const left = await caseOf(
        orderBytes(name, (o) => {
          o.hand = "left";
        }),
        ["dxf", "frets-csv"],
      );
      const mirror = (p: Piece): Piece =>
        p.kind === "line"
          ? { kind: "line", a: [p.a[0], -p.a[1]], b: [p.b[0], -p.b[1]] }
          : { ...p, c: [p.c[0], -p.c[1]], from: -p.from, turn: -p.turn };
      for (const t of ["plan", "headstock"] as const) {
        const a = dxfPieces(of(name).text(`-${t}.dxf`));
        const b = dxfPieces(left.text(`-${t}.dxf`));
        expect([...b.keys()].sort()).toEqual([...a.keys()].sort());
        for (const [layer, pieces] of a) {
          // the bar to measure by stands below whichever side is below
          if (layer === "CHECK-BAR") continue;
          const want = pieces.map(mirror);
          expect(farthest(b.get(layer)!, want, 1), `${t} ${layer}`).toBeLessThan(0.001);
          expect(farthest(want, b.get(layer)!, 1), `${t} ${layer}`).toBeLessThan(0.001);
        }
      }
      const [a, b] = [of(name).text("-frets.csv"), left.text("-frets.csv")].map(table);
      a.forEach((row, i) => {
        for (const [key, v] of Object.entries(row)) expect(b[i][key], key).toBeCloseTo(key.endsWith("_y_mm") ? -v : v, 6);
      });
    },
  );
});

/** Rows of a CSV file by column name. */
function table(text: string): Record<string, number>[] {
  expect(text.endsWith("\r\n")).toBe(true);
  const [head, ...rows] = text
    .slice(0, -2)
    .split("\r\n")
    .map((l) => l.split(","));
  for (const r of rows) expect(r).toHaveLength(head.length);
  return rows.map((r) => Object.fromEntries(head.map((h, k) => [h, r[k] === "" ? Number.POSITIVE_INFINITY : Number(r[k])])));
}

describe("fret tables", () => {
  test("one scale: L (1 - 2^(-n/12)), slots as long as the board is wide there, wire over the arc", () => {
    const rows = table(of("loan-guitar").text("-frets.csv"));
    expect(rows).toHaveLength(22);
    const end = 648 * (1 - 2 ** (-22 / 12)) + 8;
    rows.forEach((r, i) => {
      const x = 648 * (1 - 2 ** (-(i + 1) / 12));
      expect(Math.abs(r.from_nut_mm - x)).toBeLessThan(5.1e-5);
      const next = i < 21 ? 648 * (1 - 2 ** (-(i + 2) / 12)) : 648;
      expect(Math.abs(r.to_next_mm - (next - x))).toBeLessThan(5.1e-5);
      const width = 43 + ((56 - 43) * x) / end;
      expect(Math.abs(r.slot_length_mm - width)).toBeLessThan(5.1e-5);
      expect(Math.abs(r.crown_length_mm - 2 * 305 * Math.asin(width / 2 / 305))).toBeLessThan(1e-4);
      expect(r.wire_length_mm - r.crown_length_mm).toBeCloseTo(6, 3);
      expect(r.wire_bend_radius_mm).toBeCloseTo(0.85 * 305, 3);
      expect([r.slot_depth_centre_mm, r.slot_depth_edge_mm, r.tang_nip_each_end_mm]).toEqual([2.2, 2.2, 0]);
      expect(r.board_under_slot_centre_mm).toBeCloseTo(6.2 - 2.2, 4);
      expect(Math.abs(r.board_under_slot_edge_mm - (6.2 - 2.2 - (305 - Math.sqrt(305 ** 2 - (width / 2) ** 2))))).toBeLessThan(1e-4);
    });
  });

  test("two scales: the outer strings are divided as two single scales are; blind slots leave a tang to nip", () => {
    const rows = table(of("loan-guitar-seven").text("-frets.csv"));
    expect(rows.map((r) => r.fret)).toEqual(Array.from({ length: 25 }, (_, n) => n));
    for (const r of rows) {
      const share = 1 - 2 ** (-r.fret / 12);
      expect(Math.abs(r.string_7_from_nut_mm - 673 * share)).toBeLessThan(6e-5);
      expect(Math.abs(r.string_1_from_nut_mm - 648 * share)).toBeLessThan(6e-5);
      expect(Math.hypot(r.treble_x_mm - r.bass_x_mm, r.treble_y_mm - r.bass_y_mm)).toBeCloseTo(r.slot_length_mm, 3);
      // 3 mm over, 1.5 mm of margin (a little more along a slant), 0.5 mm of air
      expect(r.tang_nip_each_end_mm).toBeGreaterThanOrEqual(4.99);
      expect(r.tang_nip_each_end_mm).toBeLessThan(5.1);
    }
    expect(rows.find((r) => r.fret === 7)!.bass_x_mm).toBeCloseTo(rows.find((r) => r.fret === 7)!.treble_x_mm, 3);
  });

  test("flat boards have no bend, fretless boards with lines have lines", () => {
    for (const r of table(of("loan-guitar-twelve").text("-frets.csv"))) expect(r.wire_bend_radius_mm).toBe(Number.POSITIVE_INFINITY);
    expect(of("loan-bass-fretless").made.files!.some((f) => f.path.endsWith("-lines.csv"))).toBe(true);
  });
});

const EPS_MM = 72 / 25.4;
describe.each(["A4", "Letter"] as const)("PDF on %s", (paper) => {
  test("as many pages as sheets, of that paper, unscaled, numbered and with the order's name and hash", async () => {
    for (const name of ["loan-guitar", "loan-guitar-seven"] as const) {
      const made = paper === "A4" ? of(name) : await caseOf(orderBytes(name), ["pdf"], "Letter");
      const bytes = made.file("-templates.pdf");
      const tiles = tiledTemplates(made.neck, paper);
      const sheets = tiles.reduce((s, t) => s + t.tiles.length, 0);
      const raw = Buffer.from(bytes).toString("latin1");
      expect(raw).toContain("/PrintScaling /None");
      const boxes = [...raw.matchAll(/\/MediaBox \[([^\]]*)\]/g)].map((m) => m[1].trim().split(/\s+/).map(Number));
      const [w, h] = paper === "A4" ? [210 * EPS_MM, 297 * EPS_MM] : [612, 792];
      expect(boxes.length).toBeGreaterThan(sheets);
      for (const [x0, y0, x1, y1] of boxes) {
        expect([x0, y0]).toEqual([0, 0]);
        const size = [x1, y1].sort((a, b) => a - b);
        expect(size[0]).toBeCloseTo(w, 2);
        expect(size[1]).toBeCloseTo(h, 2);
      }
      const text = pdfText(bytes);
      expect(text).toHaveLength(boxes.length);
      text.forEach((t, i) => {
        expect(t).toContain(`page ${i + 1} of ${boxes.length}`);
        expect(t).toContain(made.name);
        expect(t).toMatch(/Order hash [0-9a-f]{64}/);
        expect(t.match(/100 mm: measure this bar/g)?.length).toBe(2);
      });
      expect(text.slice(boxes.length - sheets).every((t) => t.includes("scale 1:1"))).toBe(true);
      expect(text[0]).toContain("Print at 100 %");
      expect(text[0]).toMatch(/people trained on the\s+machine/);
    }
  });
});

/** Text of each page, by poppler. */
function pdfText(bytes: Uint8Array): string[] {
  const r = spawnSync("pdftotext", ["-layout", "-", "-"], { input: bytes, maxBuffer: 1 << 26 });
  if (r.error) throw new Error(`pdftotext cannot be run here (Debian package poppler-utils): ${r.error.message}`);
  return r.stdout.toString("utf8").split("\f").slice(0, -1);
}

describe("sheets for hands", () => {
  test("measured on paper: both bars of a template sheet, to 0.1 mm", () => {
    const { file } = of("loan-guitar");
    const px = pixels(file("-templates.pdf"), 2, 254);
    // 10 pixels a millimetre: the bar along the lower edge, the bar along the left edge
    const across = longestRun(px, "x", Math.round(px.height - 85), px.height - 70);
    const up = longestRun(px, "y", 60, 80);
    // the ticks at its ends are 0.175 mm wide, half of that beyond each end
    for (const run of [across, up]) expect(Math.abs(run / 10 - 100 - 0.175)).toBeLessThanOrEqual(0.1);
  });

  test("nut: equal air between strings, the ordered spread, sheets say so", () => {
    const text = pdfText(of("loan-guitar").file("-nut.pdf")).join("\n");
    // outer strings 35.5 apart, diameters 0.046 to 0.010 in: air (35.5 - sum of what lies between) / 5
    const d = [0.046, 0.036, 0.026, 0.017, 0.013, 0.01].map((v) => v * 25.4);
    const air = (35.5 - (d.reduce((a, b) => a + b) - (d[0] + d[5]) / 2)) / 5;
    expect(text.split(air.toFixed(2)).length - 1).toBeGreaterThanOrEqual(5);
    expect(text).toContain("Equal air between neighbouring strings");
    for (const v of d) expect(text).toContain(v.toFixed(3));
    expect(text).toMatch(/people trained on the\s+machine/);
  });

  test("marking out: scarf and laminate by their own formulas", async () => {
    const scarf = pdfText(of("loan-guitar-seven").file("-marking-out.pdf")).join("\n");
    const a = (12 * Math.PI) / 180;
    expect(scarf).toContain(`${(14.5 / Math.sin(a)).toFixed(2)} long`);
    expect(scarf).toContain(`${(14.5 / Math.tan(a)).toFixed(2)} along the face`);
    const five = await caseOf(orderBytes("loan-bass-five"), ["marking"]);
    const strips = pdfText(five.file("-marking-out.pdf")).join("\n");
    expect(strips).toContain("5 strips side by side, 4 joints");
    expect(strips).toContain("black walnut");
  });

  test("rollers: a sheet for slotted heads alone; bores along the face a pitch apart, midway in the thickness", () => {
    expect(of("loan-guitar").made.left).toEqual([{ kind: "rollers", why: expect.stringContaining("not slotted"), stopped: false }]);
    const text = pdfText(of("loan-guitar-twelve").file("-rollers.pdf")).join("\n");
    const rows = [...text.matchAll(/^\s*(bass|treble)\s+(\d)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)/gm)].map((m) =>
      m.slice(3).map(Number),
    );
    expect(rows).toHaveLength(6);
    expect(rows[1][0] - rows[0][0]).toBeCloseTo(32, 2);
    for (const r of rows) expect(r.slice(1)).toEqual([9.5, 9.5, 10, 36]);
  });
});

describe("a design that is stopped", () => {
  test("is still drawn, and every file says that it is not for cutting", async () => {
    const made = await caseOf(
      orderBytes("loan-guitar", (o) => {
        (o.headstock as { tuners: { pitch: number } }).tuners.pitch = 9;
      }),
      ["dxf", "svg", "pdf", "frets-pdf", "nut"],
    );
    expect(made.made.blocking.length).toBeGreaterThan(0);
    const id = made.made.blocking[0].rule;
    for (const t of TEMPLATES) {
      expect(made.text(`-${t}.dxf`)).toContain(`STOPPED by ${id}`);
      expect(made.text(`-${t}.svg`)).toContain("(stopped)");
    }
    for (const f of made.made.files!.filter((q) => q.path.endsWith(".pdf")))
      expect(pdfText(f.bytes).join("\n"), f.path).toContain("This design is stopped");
  });
});

describe("the command", () => {
  test("writes what is asked, whole, beside what was there; its exit code tells what is missing", async () => {
    const dir = mkdtempSync(join(tmpdir(), "neckwright-export-"));
    try {
      const order = join(dir, "loan-guitar.order.json");
      writeFileSync(order, orderBytes("loan-guitar"));
      mkdirSync(join(dir, "out"));
      writeFileSync(join(dir, "out", "mine.txt"), "mine");
      const ran = (...args: string[]): Promise<Ran> => cli("export", ...args, "--out", join(dir, "out"));
      const sound = await ran(order, "--as", "frets-csv,nut");
      expect(sound.code).toBe(0);
      expect(readdirSync(join(dir, "out")).sort()).toEqual(["loan-guitar-frets.csv", "loan-guitar-nut.pdf", "mine.txt"]);
      expect(sound.out.trim().split("\n")).toHaveLength(2);
      const none = await ran(order, "--as", "rollers");
      expect([none.code, none.out]).toEqual([1, ""]);
      expect(none.err).toContain("no rollers");
      const wrong = await ran(order, "--as", "nut,cake");
      expect(wrong.code).toBe(2);
      expect(wrong.err).toContain('"cake" is none of dxf, svg, pdf');
      writeFileSync(order, "{}");
      const bad = await ran(order, "--as", "dxf");
      expect(bad.code).toBe(2);
      expect(readdirSync(join(dir, "out"))).toHaveLength(3);
    } finally {
      rmSync(dir, { recursive: true, force: true });
    }
  });

  test("an override stands on every sheet and in every drawing file", async () => {
    const made = await caseOf(
      orderBytes("loan-guitar", (o) => {
        (o.headstock as { tuners: { pitch: number } }).tuners.pitch = 9;
        o.overrides = [...new Set(of("loan-guitar").neck.findings.map((f) => f.rule)), "NK-001"].map((rule) => ({
          rule,
          reason: "a trial in waste wood",
        }));
      }),
      ["dxf", "nut"],
    );
    expect(made.text("-plan.dxf")).toContain("the order overrides NK-001: a trial in waste wood");
    expect(pdfText(made.file("-nut.pdf"))[0]).toContain("a trial in waste wood");
  });
});

interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly dark: (x: number, y: number) => boolean;
}

/** A page as grey pixels (PGM), by poppler's pdftoppm. */
function pixels(bytes: Uint8Array, page: number, dpi: number): Pixels {
  const r = spawnSync("pdftoppm", ["-r", `${dpi}`, "-f", `${page}`, "-l", `${page}`, "-gray", "-"], { input: bytes, maxBuffer: 1 << 28 });
  if (r.error) throw new Error(`pdftoppm cannot be run here (Debian package poppler-utils): ${r.error.message}`);
  const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(r.stdout.subarray(0, 40).toString("latin1"))!;
  const [width, height] = [Number(head[1]), Number(head[2])];
  const from = head[0].length;
  return { width, height, dark: (x, y) => r.stdout[from + y * width + x] < 128 };
}

/** The longest run of dark pixels along an axis, looked for in a band across it. */
function longestRun(p: Pixels, along: "x" | "y", lo: number, hi: number): number {
  let best = 0;
  for (let v = lo; v < hi; v++) {
    let run = 0;
    const n = along === "x" ? p.width : p.height;
    for (let u = 0; u < n; u++) {
      run = (along === "x" ? p.dark(u, v) : p.dark(v, u)) ? run + 1 : 0;
      best = Math.max(best, run);
    }
  }
  return best;
}
