/*
 * Tables and paper: CSV by RFC 4180 against the formulas of the trade, PDF read and measured by poppler (pdftotext, pdftoppm); the command
 * that writes them all.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { beforeAll, describe, expect, test } from "vitest";
import { KINDS } from "../../src/cli/app.ts";
import { cli, type Ran } from "../../src/cli/ran.test-data.ts";
import { EXPORT_KINDS } from "../../src/job/export.ts";
import { tiledTemplates } from "../../src/sheet/exports/templates.ts";
import { type Case, caseOf, FLAT, orderBytes, TEMPLATES, table } from "./exports.ts";

const cases = new Map<string, Case>();
const of = (name: string): Case => cases.get(name)!;
beforeAll(async () => {
  for (const name of ["loan-guitar", "loan-guitar-seven", "loan-guitar-twelve"] as const)
    cases.set(name, await caseOf(orderBytes(name), FLAT));
  cases.set("loan-bass-fretless", await caseOf(orderBytes("loan-bass-fretless"), ["frets-csv"]));
});

test("the command and the job know the same kinds", () => {
  expect([...KINDS]).toEqual([...EXPORT_KINDS]);
});

describe("the files", () => {
  test("the same bytes twice", async () => {
    for (const name of ["loan-guitar-twelve"] as const) {
      const again = await caseOf(orderBytes(name));
      expect(again.made.files!.map((f) => f.path)).toEqual(of(name).made.files!.map((f) => f.path));
      again.made.files!.forEach((f, i) => {
        expect(Buffer.compare(f.bytes, of(name).made.files![i].bytes), f.path).toBe(0);
      });
    }
  });
});

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
