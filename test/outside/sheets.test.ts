import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { inflateSync } from "node:zlib";
import { beforeAll, describe, expect, test } from "vitest";
import { flatten } from "../../src/kernel/contour.ts";
import { polygonArea } from "../../src/kernel/polygon.ts";
import { drawingsOf, dxf, runSheetPages, runSheetPdf, svg, templateDrawing } from "../../src/sheet/index.ts";
import { sampleInput } from "../../src/sheet/sample-proof.ts";

/*
 * Finished files, read back by the rules of their formats and by nothing of ours: PDF (ISO 32000-1: user space unit 1/72 in, section
 * 8.3.2.3; ViewerPreferences, table 150; content operators, annex A), SVG 1.1 (section 7.10: units), DXF R12 group codes.
 */

const require = createRequire(import.meta.url);
const font = (name: string): Uint8Array => readFileSync(require.resolve(`dejavu-fonts-ttf/ttf/${name}`));
const fonts = { regular: font("DejaVuSans.ttf"), bold: font("DejaVuSans-Bold.ttf") };
const input = sampleInput();

/** 100 mm in points: 100 / 25.4 * 72. */
const BAR = 283.4646;

interface Segment {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
  /** Line width, points. */
  readonly width: number;
}

interface Page {
  readonly box: readonly number[];
  readonly segments: readonly Segment[];
}

/** Objects of a PDF without object streams: number -> dictionary text and stream bytes. */
function objectsOf(bytes: Uint8Array): Map<number, { dict: string; stream: Uint8Array | null }> {
  const text = Buffer.from(bytes).toString("latin1");
  const out = new Map<number, { dict: string; stream: Uint8Array | null }>();
  for (const m of text.matchAll(/(\d+) 0 obj\s([\s\S]*?)endobj/g)) {
    const body = m[2];
    const s = body.indexOf("stream\n");
    if (s < 0) {
      out.set(Number(m[1]), { dict: body, stream: null });
      continue;
    }
    const dict = body.slice(0, s);
    const length = Number(/\/Length (\d+)/.exec(dict)?.[1]);
    const from = m.index + m[0].indexOf("stream\n") + 7;
    out.set(Number(m[1]), { dict, stream: bytes.subarray(from, from + length) });
  }
  return out;
}

type Matrix = readonly [number, number, number, number, number, number];
const times = (a: Matrix, b: Matrix): Matrix => [
  a[0] * b[0] + a[1] * b[2],
  a[0] * b[1] + a[1] * b[3],
  a[2] * b[0] + a[3] * b[2],
  a[2] * b[1] + a[3] * b[3],
  a[4] * b[0] + a[5] * b[2] + b[4],
  a[4] * b[1] + a[5] * b[3] + b[5],
];

/** Straight stroked segments of a content stream, in points: operators q Q cm w m l S only. */
function segmentsOf(content: string): Segment[] {
  const out: Segment[] = [];
  let ctm: Matrix = [1, 0, 0, 1, 0, 0];
  let width = 1;
  const saved: [Matrix, number][] = [];
  let path: [number, number][] = [];
  let n: number[] = [];
  const at = (x: number, y: number): [number, number] => [ctm[0] * x + ctm[2] * y + ctm[4], ctm[1] * x + ctm[3] * y + ctm[5]];
  for (const word of content.split(/\s+/)) {
    if (/^[-+.\d]/.test(word)) {
      n.push(Number(word));
      continue;
    }
    if (word === "q") saved.push([ctm, width]);
    else if (word === "Q") [ctm, width] = saved.pop() ?? [ctm, width];
    else if (word === "cm") ctm = times(n.slice(-6) as unknown as Matrix, ctm);
    else if (word === "w") width = n[n.length - 1] * Math.hypot(ctm[0], ctm[1]);
    else if (word === "m") path = [at(n[n.length - 2], n[n.length - 1])];
    else if (word === "l") path.push(at(n[n.length - 2], n[n.length - 1]));
    else if (word === "S") {
      for (let k = 1; k < path.length; k++) out.push({ x0: path[k - 1][0], y0: path[k - 1][1], x1: path[k][0], y1: path[k][1], width });
      path = [];
    }
    n = [];
  }
  return out;
}

function pagesOf(bytes: Uint8Array): Page[] {
  const objects = objectsOf(bytes);
  const out: Page[] = [];
  for (const { dict } of objects.values()) {
    if (!/\/Type \/Page\b/.test(dict)) continue;
    const box = /\/MediaBox \[([^\]]*)\]/.exec(dict)![1].trim().split(/\s+/).map(Number);
    const content = objects.get(Number(/\/Contents (\d+)/.exec(dict)![1]))!;
    out.push({ box, segments: segmentsOf(inflateSync(content.stream!).toString("latin1")) });
  }
  return out;
}

const SIZES = { A4: [595.276, 841.89], Letter: [612, 792] } as const;

describe.each(["A4", "Letter"] as const)("PDF run sheet, %s", (paper) => {
  let bytes: Uint8Array;
  let pages: Page[];
  beforeAll(async () => {
    bytes = await runSheetPdf({ ...input, fonts }, paper);
    pages = pagesOf(bytes);
  });

  test("every page is a sheet of that paper, upright or lying", () => {
    const [w, h] = SIZES[paper];
    expect(pages.length).toBe(runSheetPages(input, paper).length);
    for (const { box } of pages) {
      const size = [box[2] - box[0], box[3] - box[1]].sort((a, b) => a - b);
      expect(size[0]).toBeCloseTo(w, 2);
      expect(size[1]).toBeCloseTo(h, 2);
    }
  });

  test("100 mm bars measure 283.4646 pt in both axes on every page to scale, and on no other", () => {
    const scaled = runSheetPages(input, paper).map((p) => p.scale !== null);
    expect(scaled.filter((s) => s).length).toBeGreaterThanOrEqual(7);
    pages.forEach((p, i) => {
      const bar = (along: "x" | "y"): boolean =>
        p.segments.some((s) => {
          const [dx, dy] = [Math.abs(s.x1 - s.x0), Math.abs(s.y1 - s.y0)];
          const [run, aside] = along === "x" ? [dx, dy] : [dy, dx];
          return Math.abs(run - BAR) < 0.001 && aside < 0.001 && Math.abs(s.width - (0.35 * 72) / 25.4) < 0.01;
        });
      expect([bar("x"), bar("y")], `page ${i + 1}`).toEqual([scaled[i], scaled[i]]);
    });
  });

  test("asks the printer not to scale, embeds subsets of its fonts, draws vectors", () => {
    const text = Buffer.from(bytes).toString("latin1");
    expect(text.startsWith("%PDF-1.7")).toBe(true);
    expect(text).toMatch(/\/ViewerPreferences (\d+) 0 R|\/ViewerPreferences <</);
    expect(text).toContain("/PrintScaling /None");
    const names = [...text.matchAll(/\/FontName \/([A-Z]{6})\+([A-Za-z-]+)/g)].map((m) => m[2]);
    expect(new Set(names)).toEqual(new Set(["DejaVuSans", "DejaVuSans-Bold"]));
    expect(text.match(/\/FontFile2/g)?.length).toBe(names.length);
    expect(text).not.toMatch(/\/BaseFont \/(Helvetica|Times|Courier)/);
    // pictures are the proof's four maps, all else is drawn
    expect(text.match(/\/Subtype \/Image/g)).toHaveLength(4);
    expect(text).not.toMatch(/\/JavaScript|\/URI|\/Launch/);
  });

  test("the frets of the plan stand at L (1 - 2^(-n/12)) on paper, at the scale the page states", () => {
    const all = runSheetPages(input, paper);
    const k = all.findIndex((p) => p.title === "Plan");
    const scale = all[k].scale!;
    const found = pages[k].segments.filter(
      (s) => Math.abs(s.x1 - s.x0) < 0.05 && Math.abs(s.width - (0.35 * 72) / 25.4) < 0.01 && Math.abs(s.y1 - s.y0) > 40,
    );
    const xs = [...new Set(found.map((s) => Number(s.x0.toFixed(3))))];
    const toPoints = (mm: number): number => (mm * scale * 72) / 25.4;
    const wanted = Array.from({ length: 22 }, (_, n) => toPoints(648 * (1 - 2 ** (-(n + 1) / 12))));
    // the nut's line is not known to this test: fret 1 sets it, all others must follow
    const start = xs.find((x) => wanted.every((w) => xs.some((q) => Math.abs(q - (x - wanted[0] + w)) < 0.02)));
    expect(start).toBeDefined();
  });
});

describe("SVG drawings are at true size", () => {
  for (const d of drawingsOf(input)) {
    test(d.id, () => {
      const text = svg(d);
      const [, w, h, vw, vh] = /<svg[^>]* width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(text)!;
      expect([w, h]).toEqual([vw, vh]);
      const bars = [...text.matchAll(/<line x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)"\/>/g)].map((m) =>
        m.slice(1).map(Number),
      );
      expect(bars.some(([x1, y1, x2, y2]) => Math.abs(Math.abs(x2 - x1) - 100) < 1e-3 && y1 === y2)).toBe(true);
    });
  }
});

describe("DXF R12", () => {
  const neck = input.neck;
  const text = dxf(templateDrawing(neck));
  const lines = text.split("\r\n");
  const pairs = Array.from({ length: (lines.length - 1) / 2 }, (_, i): readonly [number, string] => [
    Number(lines[2 * i]),
    lines[2 * i + 1],
  ]);

  /** Entities: kind, and its groups in order; a polyline with its vertices. */
  interface Entity {
    readonly kind: string;
    readonly groups: Map<number, string>;
    readonly vertices: Map<number, string>[];
  }
  const entities: Entity[] = [];
  const layers: string[] = [];
  const sections: string[] = [];
  {
    let section = "";
    let current: Map<number, string> | null = null;
    let polyline: Entity | null = null;
    pairs.forEach(([code, value], i) => {
      if (code === 0 && value === "SECTION") {
        section = pairs[i + 1][1];
        sections.push(section);
      } else if (section === "TABLES" && code === 0 && value === "LAYER") layers.push(pairs[i + 1][1]);
      else if (section === "ENTITIES" && code === 0) {
        current = new Map();
        if (value === "VERTEX") polyline!.vertices.push(current);
        else if (value === "SEQEND") polyline = null;
        else if (value !== "ENDSEC" && value !== "EOF") {
          const e: Entity = { kind: value, groups: current, vertices: [] };
          entities.push(e);
          polyline = value === "POLYLINE" ? e : null;
        }
      } else if (section === "ENTITIES") current?.set(code, value);
    });
  }
  const number = (m: Map<number, string>, code: number): number => Number(m.get(code));

  test("group codes in pairs, sections closed, version AC1009, only R12 entities", () => {
    expect((lines.length - 1) % 2).toBe(0);
    for (const [code] of pairs) expect(Number.isInteger(code) && code >= 0 && code <= 999).toBe(true);
    expect(sections).toEqual(["HEADER", "TABLES", "BLOCKS", "ENTITIES"]);
    expect(pairs.filter(([c, v]) => c === 0 && v === "ENDSEC")).toHaveLength(4);
    expect(pairs[pairs.length - 1]).toEqual([0, "EOF"]);
    const version = pairs.findIndex(([c, v]) => c === 9 && v === "$ACADVER");
    expect(pairs[version + 1]).toEqual([1, "AC1009"]);
    expect(new Set(entities.map((e) => e.kind))).toEqual(new Set(["LINE", "CIRCLE", "POLYLINE", "TEXT"]));
    const vertices = pairs.filter(([c, v]) => c === 0 && v === "VERTEX").length;
    expect(vertices).toBe(entities.reduce((s, e) => s + e.vertices.length, 0));
    expect(pairs.filter(([c, v]) => c === 0 && v === "SEQEND")).toHaveLength(entities.filter((e) => e.kind === "POLYLINE").length);
  });

  test("every entity lies on a layer of the table, named by what it is", () => {
    for (const e of entities) expect(layers).toContain(e.groups.get(8));
    expect(layers).toEqual(
      expect.arrayContaining(["OUTLINE", "BOARD", "FRET-SLOTS", "NUT", "TUNERS", "MARKERS", "ROD", "SCREWS", "CHECK-BAR"]),
    );
  });

  test("frets at L (1 - 2^(-n/12)) from x = 0, in mm", () => {
    const frets = entities.filter((e) => e.groups.get(8) === "FRET-SLOTS").sort((a, b) => number(a.groups, 10) - number(b.groups, 10));
    expect(frets).toHaveLength(22);
    frets.forEach((f, i) => {
      const x = 648 * (1 - 2 ** (-(i + 1) / 12));
      expect(number(f.groups, 10)).toBeCloseTo(x, 5);
      expect(number(f.groups, 11)).toBeCloseTo(x, 5);
    });
  });

  test("the outline, arcs by their bulges, encloses the area of the exact curve", () => {
    const outline = entities.find((e) => e.groups.get(8) === "OUTLINE")!;
    expect(outline.groups.get(70)).toBe("1");
    let area = 0;
    const v = outline.vertices;
    v.forEach((a, i) => {
      const b = v[(i + 1) % v.length];
      const [ax, ay, bx, by] = [number(a, 10), number(a, 20), number(b, 10), number(b, 20)];
      area += (ax * by - bx * ay) / 2;
      const bulge = a.has(42) ? number(a, 42) : 0;
      if (bulge === 0) return;
      // circular segment on the chord: included angle 4 atan(bulge), r = chord / (2 sin(angle / 2))
      const angle = 4 * Math.atan(bulge);
      const r = Math.hypot(bx - ax, by - ay) / (2 * Math.sin(angle / 2));
      area += (r * r * (angle - Math.sin(angle))) / 2;
    });
    const exact = polygonArea(flatten(neck.outline, 1e-5));
    expect(Math.abs(area - exact)).toBeLessThan(1.5);
    expect(exact).toBeGreaterThan(20000);
  });

  test("check bar of 100", () => {
    const bar = entities.find((e) => e.groups.get(8) === "CHECK-BAR")!;
    expect(number(bar.groups, 11) - number(bar.groups, 10)).toBeCloseTo(100, 9);
  });
});
