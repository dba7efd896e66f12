import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { arcCubics } from "./arc-cubics.ts";
import { base64 } from "./base64.ts";
import { clipPolyline, isInside } from "./clip.ts";
import { dimensionItems } from "./dimension.ts";
import { dxf } from "./dxf.ts";
import { hatchLines } from "./hatch.ts";
import { isCovered, textWidth, wrapText } from "./metrics.ts";
import { type Fonts, pdf } from "./pdf.ts";
import { arcPoints, num } from "./plain.ts";
import { dashes, lineWidth, PAPER_COLOURS, SLATE_COLOURS } from "./style.ts";
import { escapeXml, svg, svgPath } from "./svg.ts";
import type { Drawing, PathStep, XY } from "./types.ts";
import { at, pathOf, uprightView } from "./view.ts";
import { WIDTH_RANGES } from "./widths.ts";

const SEED = { seed: 20260101, numRuns: 300 };
const require = createRequire(import.meta.url);
const read = (name: string): Uint8Array => readFileSync(require.resolve(`dejavu-fonts-ttf/ttf/${name}`));
const fonts: Fonts = { regular: read("DejaVuSans.ttf"), bold: read("DejaVuSans-Bold.ttf") };

/** Advance width of a code point read straight from a TrueType file (cmap format 12 or 4, hmtx), in em. */
function advance(bytes: Uint8Array): (code: number) => number {
  const v = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const tables = new Map<string, number>();
  for (let k = 0; k < v.getUint16(4); k++) {
    const o = 12 + 16 * k;
    tables.set(String.fromCharCode(...bytes.subarray(o, o + 4)), v.getUint32(o + 8));
  }
  const em = v.getUint16(tables.get("head")! + 18);
  const metrics = v.getUint16(tables.get("hhea")! + 34);
  const cmap = tables.get("cmap")!;
  let format4 = 0;
  for (let k = 0; k < v.getUint16(cmap + 2); k++) {
    const o = cmap + v.getUint32(cmap + 4 + 8 * k + 4);
    if (v.getUint16(o) === 4) format4 = o;
  }
  const glyph = (code: number): number => {
    const n = v.getUint16(format4 + 6) / 2;
    for (let k = 0; k < n; k++) {
      const end = v.getUint16(format4 + 14 + 2 * k);
      if (code > end) continue;
      const start = v.getUint16(format4 + 16 + 2 * n + 2 * k);
      if (code < start) return 0;
      const delta = v.getUint16(format4 + 16 + 4 * n + 2 * k);
      const rangeAt = format4 + 16 + 6 * n + 2 * k;
      const range = v.getUint16(rangeAt);
      if (range === 0) return (code + delta) & 0xffff;
      const g = v.getUint16(rangeAt + range + 2 * (code - start));
      return g === 0 ? 0 : (g + delta) & 0xffff;
    }
    return 0;
  };
  return (code) => v.getUint16(tables.get("hmtx")! + 4 * Math.min(glyph(code), metrics - 1)) / em;
}

describe("text", () => {
  test("every width of the table is that of the shipped font", () => {
    for (const bold of [false, true]) {
      const of = advance(bold ? fonts.bold : fonts.regular);
      for (const [from, to] of WIDTH_RANGES)
        for (let c = from; c <= to; c++) expect(textWidth(String.fromCodePoint(c), 1, bold), `U+${c.toString(16)}`).toBeCloseTo(of(c), 10);
    }
  });

  test("figures are all of one width", () => {
    for (const bold of [false, true]) for (const d of "123456789") expect(textWidth(d, 1, bold)).toBe(textWidth("0", 1, bold));
  });

  test("wrapping keeps every character but spaces at breaks, and no line is too wide", () => {
    const words = fc
      .array(fc.string({ minLength: 1, maxLength: 30 }), { maxLength: 12 })
      .map((w) => w.map((s) => s.replace(/\s/g, "x")).join(" "));
    fc.assert(
      fc.property(words, fc.double({ min: 8, max: 80, noNaN: true }), (text, width) => {
        const lines = wrapText(text, width, 3);
        for (const l of lines) if ([...l].length > 1) expect(textWidth(l, 3)).toBeLessThanOrEqual(width + 1e-9);
        expect(lines.join("").replace(/ /g, "")).toBe(text.replace(/ /g, ""));
      }),
      SEED,
    );
  });

  test("knows what the font lacks", () => {
    expect(isCovered("Ångström ⌀ 8.8 ± 0.02 mm → −")).toBe(true);
    expect(isCovered("名")).toBe(false);
  });
});

describe("geometry of the list", () => {
  test("clipped pieces lie inside, and with the outside they make up the whole line", () => {
    const point = fc.tuple(fc.double({ min: -20, max: 20, noNaN: true }), fc.double({ min: -20, max: 20, noNaN: true }));
    const ring: XY[] = Array.from({ length: 9 }, (_, i): XY => [12 * Math.cos(i * 0.698), (i % 2 ? 4 : 11) * Math.sin(i * 0.698)]);
    fc.assert(
      fc.property(point, point, (a, b) => {
        const parts = clipPolyline([ring], [a, b]);
        let length = 0;
        for (const p of parts) {
          for (let k = 0; k + 1 < p.length; k++) {
            length += Math.hypot(p[k + 1][0] - p[k][0], p[k + 1][1] - p[k][1]);
            const [mx, my] = [(p[k][0] + p[k + 1][0]) / 2, (p[k][1] + p[k + 1][1]) / 2];
            expect(isInside([ring], mx, my)).toBe(true);
          }
        }
        // against many samples
        const n = 4000;
        let inside = 0;
        for (let k = 0; k < n; k++)
          if (isInside([ring], a[0] + ((b[0] - a[0]) * (k + 0.5)) / n, a[1] + ((b[1] - a[1]) * (k + 0.5)) / n)) inside++;
        const whole = Math.hypot(b[0] - a[0], b[1] - a[1]);
        expect(Math.abs(length - (whole * inside) / n)).toBeLessThan((whole * 12) / n + 1e-6);
      }),
      { ...SEED, numRuns: 100 },
    );
  });

  test("hatching stays inside its rings, whatever the grain", () => {
    const ring: XY[] = [
      [10, 10],
      [60, 12],
      [50, 40],
      [30, 22],
      [12, 38],
    ];
    const hole: XY[] = [
      [28, 14],
      [34, 14],
      [34, 18],
      [28, 18],
    ];
    for (const grain of ["end", "long", "filler", "metal"] as const) {
      const lines = hatchLines({ kind: "hatch", rings: [ring, hole], grain, spacing: 1 });
      expect(lines.length, grain).toBeGreaterThan(8);
      for (const l of lines) {
        for (let k = 0; k + 1 < l.points.length; k++) {
          const [mx, my] = [(l.points[k][0] + l.points[k + 1][0]) / 2, (l.points[k][1] + l.points[k + 1][1]) / 2];
          expect(isInside([ring, hole], mx, my), grain).toBe(true);
        }
      }
    }
  });

  test("arcs: cubics and chords stay on the circle, ends meet", () => {
    fc.assert(
      fc.property(fc.double({ min: -6.2, max: 6.2, noNaN: true }), fc.double({ min: -3, max: 3, noNaN: true }), (sweep, start) => {
        fc.pre(Math.abs(sweep) > 1e-3);
        const r = 100;
        const s = {
          to: "arc",
          cx: 5,
          cy: -7,
          r,
          start,
          sweep,
          x: 5 + r * Math.cos(start + sweep),
          y: -7 + r * Math.sin(start + sweep),
        } as const;
        let p: XY = [5 + r * Math.cos(start), -7 + r * Math.sin(start)];
        for (const [x1, y1, x2, y2, x, y] of arcCubics(s)) {
          for (let k = 0; k <= 10; k++) {
            const t = k / 10;
            const u = 1 - t;
            const qx = u ** 3 * p[0] + 3 * u * u * t * x1 + 3 * u * t * t * x2 + t ** 3 * x;
            const qy = u ** 3 * p[1] + 3 * u * u * t * y1 + 3 * u * t * t * y2 + t ** 3 * y;
            expect(Math.abs(Math.hypot(qx - 5, qy + 7) - r)).toBeLessThan(2e-5);
          }
          p = [x, y];
        }
        expect(Math.hypot(p[0] - s.x, p[1] - s.y)).toBeLessThan(1e-9);
        for (const [x, y] of arcPoints(s, 0.01)) expect(Math.hypot(x - 5, y + 7)).toBeCloseTo(r, 9);
      }),
      SEED,
    );
  });

  test("a view places ends of arcs where it places their points, mirrored or not", () => {
    for (const v of [uprightView([10, 20], 0.5), { origin: [3, 4] as XY, scale: 2, ex: [0, 1] as XY, ey: [1, 0] as XY }]) {
      const [move, arc] = pathOf(v, [{ kind: "arc", centre: { x: 1, y: 2 }, radius: 5, start: 0.3, sweep: 1.9 }], false);
      const a = at(v, 1 + 5 * Math.cos(0.3), 2 + 5 * Math.sin(0.3));
      const b = at(v, 1 + 5 * Math.cos(2.2), 2 + 5 * Math.sin(2.2));
      const m = at(v, 1 + 5 * Math.cos(1.25), 2 + 5 * Math.sin(1.25));
      expect(move).toMatchObject({ x: expect.closeTo(a[0], 9), y: expect.closeTo(a[1], 9) });
      expect(arc).toMatchObject({ x: expect.closeTo(b[0], 9), y: expect.closeTo(b[1], 9) });
      if (arc.to !== "arc") throw new Error("an arc stays an arc");
      expect(arc.cx + arc.r * Math.cos(arc.start + arc.sweep / 2)).toBeCloseTo(m[0], 9);
      expect(arc.cy + arc.r * Math.sin(arc.start + arc.sweep / 2)).toBeCloseTo(m[1], 9);
    }
  });
});

describe("ISO line kinds and dimensions", () => {
  const tenths = fc.tuple(fc.integer({ min: 6, max: 500 }), fc.boolean()).map(([v, minus]) => (minus ? -v : v) / 10);

  test("narrow is half of wide, dashes are 12 d with gaps of 3 d, long dashes 24 d", () => {
    expect(lineWidth("narrow", 0.5)).toBe(lineWidth("wide", 0.5) / 2);
    expect(dashes("hidden", 0.5)).toEqual([3, 0.75]);
    expect(dashes("centre", 0.5)).toEqual([6, 0.75, 0.125, 0.75]);
    expect(dashes("phantom", 0.5)).toHaveLength(6);
    expect(dashes("wide", 0.5)).toEqual([]);
  });

  test("a dimension's arrows touch its extension lines, figure reads from below or from the right", () => {
    fc.assert(
      fc.property(tenths, tenths, fc.constantFrom("x", "y", "straight"), (dx, dy, along) => {
        const items = dimensionItems({
          kind: "dimension",
          a: [100, 100],
          b: [100 + dx, 100 + dy],
          along,
          line: along === "straight" ? 7 : 40,
          text: "12.34",
        });
        const tips = items.filter((i) => i.kind === "polyline").map((i) => i.points[0]);
        expect(tips).toHaveLength(2);
        const length = Math.hypot(tips[1][0] - tips[0][0], tips[1][1] - tips[0][1]);
        expect(length).toBeCloseTo(along === "x" ? Math.abs(dx) : along === "y" ? Math.abs(dy) : Math.hypot(dx, dy), 9);
        const text = items.find((i) => i.kind === "text")!;
        expect(text.turn ?? 0).toBeGreaterThanOrEqual(-90 - 1e-9);
        expect(text.turn ?? 0).toBeLessThan(90);
      }),
      SEED,
    );
  });

  test("ink, soft ink and accent stand out from their ground by 4.5 to 1 (WCAG 2.2, 1.4.3)", () => {
    const luminance = (hex: string): number => {
      const [r, g, b] = [1, 3, 5].map((k) => {
        const v = Number.parseInt(hex.slice(k, k + 2), 16) / 255;
        return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
      });
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    for (const c of [PAPER_COLOURS, SLATE_COLOURS])
      for (const ground of [c.paper, c.shade])
        for (const ink of [c.ink, c.soft, c.accent]) {
          const [a, b] = [luminance(ink), luminance(ground)].sort((p, q) => q - p);
          expect((a + 0.05) / (b + 0.05), `${ink} on ${ground}`).toBeGreaterThanOrEqual(4.5);
        }
  });
});

const path: PathStep[] = [
  { to: "move", x: 20, y: 10 },
  { to: "line", x: 40, y: 10 },
  { to: "arc", cx: 40, cy: 20, r: 10, start: -Math.PI / 2, sweep: Math.PI, x: 40, y: 30 },
  { to: "cubic", x1: 30, y1: 30, x2: 20, y2: 20, x: 20, y: 10 },
  { to: "close" },
];
const sample: Drawing = {
  id: "s",
  title: 'Sample <b> & "quotes"',
  says: "A test.",
  width: 100,
  height: 60,
  group: 0.35,
  scale: 1,
  origin: [10, 50],
  items: [
    { kind: "path", line: "wide", steps: path, layer: "outline" },
    { kind: "circle", line: "wide", centre: [60, 20], radius: 4, layer: "tuners" },
    { kind: "line", line: "hidden", a: [10, 50], b: [90, 50], layer: "check-bar" },
    { kind: "text", at: [10, 58], text: "5 < 6 & ⌀ 8.8 ± 0.1°", size: 3, anchor: "start", layer: "notes" },
    { kind: "dimension", a: [20, 10], b: [50, 10], along: "x", line: 4, text: "30" },
  ],
};

describe("writers", () => {
  test("SVG: size in mm, the same numbers in the viewBox, escaped, no script, style or link", () => {
    const text = svg(sample);
    expect(text).toContain('width="100mm" height="60mm" viewBox="0 0 100 60"');
    expect(text).toContain("Sample &lt;b&gt; &amp; &quot;quotes&quot;");
    expect(text).not.toMatch(/<script|style=|<style|href=|url\(|NaN|undefined/);
    expect(svg(sample)).toBe(text);
  });

  test("SVG text survives anything a title may hold", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 40 }), (s) => {
        const t = escapeXml(s);
        expect(t).not.toMatch(/[<>"]|&(?!amp;|lt;|gt;|quot;)/);
        for (const ch of t) expect(ch.codePointAt(0)! >= 0x20 || "\t\n\r".includes(ch)).toBe(true);
      }),
      SEED,
    );
  });

  test("SVG arcs: half turns are split so that flags cannot be misread", () => {
    expect(svgPath(path).match(/A/g)).toHaveLength(2);
    expect(svgPath(path)).toMatch(/A10 10 0 0 1 40 30C/);
  });

  test("numbers: no exponent, no minus zero, no trailing zeros", () => {
    expect([num(1e-9), num(-1e-9), num(1.5), num(-2), num(100), num(0.1234567)]).toEqual(["0", "0", "1.5", "-2", "100", "0.123"]);
  });

  test("base64 is that of the platform", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (b) => {
        expect(base64(b)).toBe(Buffer.from(b).toString("base64"));
      }),
      SEED,
    );
  });

  test("PDF: the same bytes twice, no date of today", async () => {
    const info = { title: "T", subject: "S" };
    const [a, b] = [await pdf([sample, sample], fonts, info), await pdf([sample, sample], fonts, info)];
    expect(Buffer.compare(a, b)).toBe(0);
    const text = Buffer.from(a).toString("latin1");
    expect(text).toContain("D:20000101000000Z");
    expect(text).toMatch(/\/PrintScaling \/None/);
    expect(text).not.toContain(`D:${new Date().getUTCFullYear()}`);
  });

  test("DXF: layers only of items that have one, nothing else", () => {
    const text = dxf(sample);
    const lines = text.split("\r\n");
    expect(lines.slice(0, 2)).toEqual(["999", "units: millimetres, 1:1 (DXF R12 has no unit of its own)"]);
    expect(lines.slice(-3)).toEqual(["0", "EOF", ""]);
    expect(text).toContain("OUTLINE");
    expect(text).toContain("%%c 8.8 %%p 0.1%%d");
    expect(text).not.toMatch(/LWPOLYLINE|SPLINE|NaN/);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: R12 is ASCII
    expect(text).toMatch(/^[\x0d\x0a\x20-\x7e]*$/);
  });
});
