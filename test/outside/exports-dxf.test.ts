/*
 * DXF files read back by programs and libraries that are not ours and measured against the exact neck: dxf-parser, and ezdxf
 * (Debian's python3-ezdxf) with its audit; sections, tables, entities and ranges of group codes by the DXF R12 reference (header, tables,
 * entities, "group codes by number").
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { beforeAll, describe, expect, test } from "vitest";
import { closestOnCurve, flatten } from "../../src/kernel/contour.ts";
import { polygonArea } from "../../src/kernel/polygon.ts";
import { templatesOf } from "../../src/sheet/exports/index.ts";
import {
  bothWays,
  type Case,
  caseOf,
  densely,
  dxfPieces,
  farthest,
  NAMES,
  nearest,
  orderBytes,
  type Piece,
  TEMPLATES,
  table,
  toPiece,
  type XY,
} from "./exports.ts";
import { ensureEzdxf, haveEzdxf } from "./ezdxf/setup.mjs";

const cases = new Map<string, Case>();
const of = (name: string): Case => cases.get(name)!;
beforeAll(async () => {
  for (const name of NAMES) cases.set(name, await caseOf(orderBytes(name), ["dxf", "frets-csv"]));
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

describe("a left-handed neck", () => {
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
