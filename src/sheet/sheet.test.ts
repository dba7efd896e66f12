import { createHash } from "node:crypto";
import { PNG } from "pngjs";
import { describe, expect, test } from "vitest";
import type { Measure } from "../proof/types.ts";
import type { OrderSpec } from "../spec/types.ts";
import { CAUTIONS, DEFERS, hoursAt } from "./cautions.ts";
import { checkDrawings, checkSheetPages } from "./check.ts";
import { svg } from "./draw/svg.ts";
import type { Drawing, Item } from "./draw/types.ts";
import { blankDrawing, inProgram } from "./drawings/blank.ts";
import { dim, scaleText } from "./drawings/common.ts";
import { drawingsOf } from "./drawings/index.ts";
import { planDrawing } from "./drawings/plan.ts";
import type { ReportInput } from "./input.ts";
import { sideMaps } from "./map-image.ts";
import { lightnessOf, type Rgb, rampColour } from "./ramp.ts";
import { reportHtml } from "./report.ts";
import { REPORT_CSS, REPORT_CSS_SHA256 } from "./report-style.ts";
import { SH_RULES } from "./rules.ts";
import { runSheetPages } from "./runsheet.ts";
import { sampleOrder } from "./sample.ts";
import { sampleInput } from "./sample-proof.ts";
import { checksFor } from "./step-checks.ts";
import { templateDrawing } from "./template.ts";
import { groupMeasures, timeText, valueText, verdictSays } from "./words.ts";

const guitar = sampleOrder();
const VARIANTS: Readonly<Record<string, Partial<OrderSpec>>> = {
  guitar: {},
  "left-handed": { hand: "left" },
  "turned end for end": { holding: { ...guitar.holding, turn: "y" } },
  "flat board, shelf, no rod": {
    board: { ...guitar.board, radius: { nut: Number.POSITIVE_INFINITY, end: Number.POSITIVE_INFINITY }, overhang: 0 },
    nut: { ...guitar.nut, kind: "shelf", land: 6 },
    rod: { kind: "none" },
    markers: { face: { ...guitar.markers.face, frets: [] }, side: { ...guitar.markers.side, frets: [] } },
  },
  "four strings, in line, rod from the face": {
    scale: 762,
    strings: { ...guitar.strings, count: 4, diameters: [], spacing: "centres" },
    frets: { ...guitar.frets, count: 20, ends: "blind" },
    headstock: {
      ...guitar.headstock,
      tuners: { ...guitar.headstock.tuners, layout: "in-line", bass: 4, treble: 0, pitch: 40, rowAtFirst: 0, rowAtLast: 0 },
    },
    rod: {
      kind: "channel",
      from: "face",
      width: 6,
      height: 9,
      roof: 0,
      depth: 9.5,
      from_x: 2,
      to_x: 500,
      minimumUnder: 3,
      access: { end: "head", length: 20, width: 10, depth: 9 },
    },
    blank: { ...guitar.blank, length: 900 },
  },
  "no frets, one string": {
    board: { ...guitar.board, pastLastFret: 440 },
    frets: { ...guitar.frets, count: 0 },
    strings: { ...guitar.strings, count: 1, spreadAtNut: 0, spreadAtBridge: 0, diameters: [] },
    markers: { face: { ...guitar.markers.face, frets: [] }, side: { ...guitar.markers.side, frets: [] } },
  },
};

describe.each(Object.entries(VARIANTS))("%s", (_name, change) => {
  const input = sampleInput(change);
  test("run sheets and drawings pass their own measure", () => {
    for (const paper of ["A4", "Letter"] as const) expect(checkSheetPages(runSheetPages(input, paper), input)).toEqual([]);
    expect(checkDrawings([...drawingsOf(input), templateDrawing(input.neck)])).toEqual([]);
  });
  test("no number went astray", () => {
    for (const d of drawingsOf(input)) {
      expect(svg(d), d.id).not.toMatch(/NaN|Infinity|undefined/);
      expect(d.items.length).toBeGreaterThan(10);
    }
    expect(reportHtml(input).replace(/base64,[^"]*/g, "")).not.toMatch(/NaN|Infinity|undefined/);
  });
});

const texts = (d: Drawing): string[] => d.items.flatMap((i) => (i.kind === "text" || i.kind === "dimension" ? [i.text] : []));

describe("drawings say what the neck is", () => {
  const input = sampleInput();
  const { neck } = input;
  const all = new Map(drawingsOf(input).map((d) => [d.id, d]));

  test("fret lines stand at L(1 - 2^(-n/12)) at true size", () => {
    const plan = all.get("plan")!;
    const lines = plan.items.filter((i) => i.kind === "line" && i.layer === "frets");
    expect(lines).toHaveLength(22);
    lines.forEach((l, i) => {
      if (l.kind !== "line") return;
      expect(l.a[0] - plan.origin![0]).toBeCloseTo(648 * (1 - 2 ** (-(i + 1) / 12)), 9);
    });
  });

  test("dimensions are those ordered", () => {
    expect(texts(all.get("plan")!)).toEqual(expect.arrayContaining(["324", "43", "56.5"]));
    expect(texts(all.get("side")!)).toEqual(expect.arrayContaining(["14.5", "21.2", "23", "25.4"]));
    expect(texts(all.get("sections")!)).toEqual(expect.arrayContaining(["43", "21.2", "23", "25.4", "6"]));
    expect(texts(all.get("headstock")!)).toEqual(expect.arrayContaining(["52", "90", "128", "14.5", "4"]));
    expect(texts(all.get("marking-out")!)).toEqual(expect.arrayContaining(["740", "105", "31", "7", "52.5"]));
    expect(texts(all.get("cutters")!)).toEqual(expect.arrayContaining(["38", "42", "⌀0.6"]));
  });

  test("every drawing states its scale, its order and the hash", () => {
    for (const d of all.values()) {
      const line = texts(d).find((t) => t.startsWith("Order loan-guitar"));
      expect(line).toContain(input.orderHash.slice(0, 12));
      expect(line?.toLowerCase()).toContain(`scale ${scaleText(d.scale ?? 0)}`);
    }
  });

  test("a left-handed neck is the mirror image and says so", () => {
    const left = sampleInput({ hand: "left" });
    const [r, l] = [planDrawing(neck, 1), planDrawing(left.neck, 1)];
    const circles = (d: Drawing): number[][] =>
      d.items.flatMap((i) =>
        i.kind === "circle" && i.layer === "tuners" ? [[i.centre[0] - d.origin![0], i.centre[1] - d.origin![1]]] : [],
      );
    circles(r).forEach(([x, y], k) => {
      expect(circles(l)[k][0]).toBeCloseTo(x, 9);
      expect(circles(l)[k][1]).toBeCloseTo(-y, 9);
    });
    expect(texts(l).some((t) => t.startsWith("Left-handed"))).toBe(true);
    expect(texts(r).some((t) => t.startsWith("Left-handed"))).toBe(false);
  });

  test("the side at the machine: outline and pins lie where the transform and the holding put them", () => {
    for (const name of ["board", "carve"] as const) {
      const d = blankDrawing(neck, input.holding, name, 1);
      const side = input.holding.sides[name];
      const [x, y] = inProgram(side.neckToProgram, 0, 0);
      const nut = d.items.find((i) => i.kind === "line" && i.layer === "nut");
      if (nut?.kind !== "line") throw new Error("the nut is drawn");
      expect((nut.a[0] + nut.b[0]) / 2 - d.origin![0]).toBeCloseTo(x, 9);
      expect(d.origin![1] - (nut.a[1] + nut.b[1]) / 2).toBeCloseTo(y, 6);
      const pins = d.items.filter((i): i is Extract<Item, { kind: "circle" }> => i.kind === "circle" && i.layer === "fence pin");
      const wanted = side.holding.filter((s) => s.role === "fence pin");
      expect(pins.map((p) => [p.centre[0] - d.origin![0], d.origin![1] - p.centre[1]])).toEqual(
        wanted.map((s) => (s.kind === "cylinder" ? [expect.closeTo(s.x, 9), expect.closeTo(s.y, 9)] : [])),
      );
    }
  });
});

describe("the measure of the run sheet catches what is missing", () => {
  const input = sampleInput({ overrides: [{ rule: "NK-013", reason: "tried on scrap" }] });
  const pages = runSheetPages(input, "A4");
  const without = (gone: (i: Item, page: number) => boolean): Drawing[] =>
    pages.map((p, k) => ({ ...p, items: p.items.filter((i) => !gone(i, k)) }));
  const text = (i: Item): string => (i.kind === "text" ? i.text : "");
  const rules = (p: readonly Drawing[], of: ReportInput = input): string[] => [...new Set(checkSheetPages(p, of).map((f) => f.rule))];

  test("nothing missing, nothing found", () => expect(rules(pages)).toEqual([]));
  test("a program's file name", () => expect(rules(without((i) => text(i).includes("03-board-headstock-face")))).toContain("SH-001"));
  test("a program's hash", () => expect(rules(without((i) => text(i) === input.programs[4].sha256.slice(0, 12)))).toEqual(["SH-001"]));
  test("the hash on one page", () => expect(rules(without((i, k) => k === 7 && text(i).includes(input.orderHash)))).toEqual(["SH-002"]));
  test("a check bar", () => expect(rules(without((i) => "layer" in i && i.layer === "check-bar"))).toEqual(["SH-003"]));
  test("something off the page", () => {
    const far: Item = { kind: "text", at: [205, 100], text: "a long text", size: 3, anchor: "start" };
    expect(rules([{ ...pages[0], items: [...pages[0].items, far] }, ...pages.slice(1)])).toEqual(["SH-004"]);
  });
  test("a character without a glyph", () => {
    const odd = sampleInput();
    const named = { ...odd, orderTitle: "名" };
    expect(rules(runSheetPages(named, "A4"), named)).toEqual(["SH-005"]);
  });
  test("the cautions", () => expect(rules(without((i, k) => k === 0 && text(i).startsWith("Eyes:")))).toEqual(["SH-006"]));
  test("a correction in force", () => {
    const day = { date: "2026-03-31", reason: "test pattern of that morning" };
    const corrections = [
      { kind: "turn" as const, x: 0, y: -0.3, ...day },
      { kind: "turn" as const, x: 9, y: 0, ...day, undone: "2026-04-01" },
    ];
    const held = { ...input, neck: { ...input.neck, order: { ...input.neck.order, corrections } } };
    const own = runSheetPages(held, "A4");
    expect(rules(own, held)).toEqual([]);
    expect(rules(pages, held)).toEqual(["SH-009"]);
    expect(reportHtml(held)).toContain("after turning: x 0 mm, y -0.3 mm");
    expect(reportHtml(held)).not.toContain("x 9 mm");
  });
  test("an override", () => expect(rules(without((i) => text(i).startsWith("NK-013")))).toEqual(["SH-007"]));
  test("a step, or two that changed places", () => {
    const swapped = { ...input, steps: [input.steps[1], input.steps[0], ...input.steps.slice(2)] };
    expect(rules(pages, swapped)).toEqual(["SH-008"]);
    expect(rules(pages, { ...input, steps: input.steps.slice(1) })).toEqual(["SH-008"]);
  });
  test("every rule of the book was seen above, or is one of the solids'", () =>
    expect(SH_RULES.map((r) => r.id)).toEqual(
      ["001", "002", "003", "004", "005", "006", "007", "008", "009", "030", "031"].map((n) => `SH-${n}`),
    ));
});

describe("pictures of the proof", () => {
  const side = sampleInput().proof[0];

  test("one bad cell among a hundred thousand shows, at its place and in the darkest colour", () => {
    const { nx, ny, cell, x0, y0 } = side.stock;
    const deviation = side.deviation.slice();
    const i = Math.floor(nx * 0.61);
    let j = Math.floor(ny / 2);
    while (Number.isNaN(deviation[j * nx + i])) j++;
    deviation[j * nx + i] = 0.5;
    const map = sideMaps({ ...side, deviation }).above;
    expect(map.worst).toBeCloseTo(0.5, 6);
    expect(map.pastLimit).toBe(1);
    const png = PNG.sync.read(Buffer.from(map.png));
    const darkest = rampColour("above", 1);
    const hits: number[] = [];
    for (let k = 0; k < png.width * png.height; k++)
      if (png.data[4 * k] === darkest[0] && png.data[4 * k + 1] === darkest[1] && png.data[4 * k + 2] === darkest[2]) hits.push(k);
    expect(hits).toHaveLength(1);
    const px = map.min[0] + (((hits[0] % png.width) + 0.5) / png.width) * (map.max[0] - map.min[0]);
    const py = map.max[1] - ((Math.floor(hits[0] / png.width) + 0.5) / png.height) * (map.max[1] - map.min[1]);
    expect(Math.abs(px - (x0 + i * cell))).toBeLessThanOrEqual(cell);
    expect(Math.abs(py - (y0 + j * cell))).toBeLessThanOrEqual(cell);
  });

  test("below target: only the negative side, and the same bytes twice", () => {
    const a = sideMaps(side).below;
    expect(a.worst).toBeGreaterThan(0);
    expect(a.worst).toBeLessThan(0.0075);
    expect(Buffer.compare(a.png, sideMaps(side).below.png)).toBe(0);
  });

  test("the scales read in grey: lightness falls evenly", () => {
    for (const name of ["above", "below"] as const) {
      const l = Array.from({ length: 65 }, (_, k) => lightnessOf(rampColour(name, k / 64)));
      const step = (l[0] - l[64]) / 64;
      for (let k = 1; k <= 64; k++) expect(l[k - 1] - l[k], `${name} ${k}`).toBeGreaterThan(step * 0.5);
      for (let k = 1; k <= 64; k++) expect(l[k - 1] - l[k], `${name} ${k}`).toBeLessThan(step * 1.5);
    }
  });

  test("and to red- and green-blind eyes (Vienot, Brettel & Mollon 1999, Color Res. Appl. 24: 243; matrices from memory)", () => {
    const lin = (v: number): number => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
    const gamma = (v: number): number => 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);
    const toLms = [
      [17.8824, 43.5161, 4.11935],
      [3.45565, 27.1554, 3.86714],
      [0.0299566, 0.184309, 1.46709],
    ];
    const toRgb = [
      [0.080944, -0.130504, 0.116721],
      [-0.0102485, 0.0540194, -0.113615],
      [-0.000365294, -0.00412163, 0.693513],
    ];
    const apply = (m: number[][], v: number[]): number[] => m.map((r) => r[0] * v[0] + r[1] * v[1] + r[2] * v[2]);
    const seen = (c: Rgb, kind: "red" | "green"): Rgb => {
      const [l, m, s] = apply(toLms, c.map(lin));
      const lms = kind === "red" ? [2.02344 * m - 2.52581 * s, m, s] : [l, 0.494207 * l + 1.24827 * s, s];
      return apply(toRgb, lms).map((v) => gamma(Math.max(0, Math.min(1, v)))) as unknown as Rgb;
    };
    for (const name of ["above", "below"] as const)
      for (const kind of ["red", "green"] as const) {
        const l = Array.from({ length: 17 }, (_, k) => lightnessOf(seen(rampColour(name, k / 16), kind)));
        for (let k = 1; k <= 16; k++) expect(l[k - 1] - l[k], `${name} ${kind} ${k}`).toBeGreaterThan(1.5);
      }
  });
});

describe("report", () => {
  const input = sampleInput({ overrides: [{ rule: "NK-013", reason: "tried <on> scrap" }] });
  const html = reportHtml(input);

  test("needs nothing from anywhere and runs nothing", () => {
    expect(html).not.toMatch(/<script|<link|<iframe|<object|<embed|javascript:|\son[a-z]+=|@import|url\(/i);
    const targets = [...html.matchAll(/(?:src|href)="([^"]*)"/g)].map((m) => m[1]);
    for (const t of targets) expect(t).toMatch(/^(#|data:image\/png;base64,)/);
    expect(html).not.toMatch(/ style="/);
  });

  test("the policy allows its own style sheet and pictures, and nothing else", () => {
    expect(REPORT_CSS_SHA256).toBe(createHash("sha256").update(REPORT_CSS).digest("base64"));
    expect(html).toContain(
      `default-src 'none'; img-src data:; style-src 'sha256-${REPORT_CSS_SHA256}'; base-uri 'none'; form-action 'none'`,
    );
    expect(html.match(/<style>([\s\S]*?)<\/style>/)![1]).toBe(REPORT_CSS);
    expect(html.match(/<style/g)).toHaveLength(1);
  });

  test("is built to be read by ear too: one h1, headings in order, captions, scopes, names, unique ids", () => {
    expect(html).toMatch(/<html lang="en">/);
    expect(html.match(/<h1/g)).toHaveLength(1);
    expect(html.match(/<table/g)?.length).toBe(html.match(/<caption>/g)?.length);
    expect(html).not.toMatch(/<th>/);
    const ids = [...html.matchAll(/\sid="([^"]+)"/g)].map((m) => m[1]);
    expect(new Set(ids).size).toBe(ids.length);
    for (const [, a] of html.matchAll(/href="#([^"]+)"/g)) expect(ids).toContain(a);
    for (const [, a] of html.matchAll(/aria-labelledby="([^"]+)"/g)) for (const id of a.split(" ")) expect(ids).toContain(id);
    expect(html.match(/<svg[^>]*role="img"/g)?.length).toBe(html.match(/<svg/g)?.length);
  });

  test("says everything: cautions, findings with what to try, overrides, programs, steps, figures", () => {
    for (const c of [...CAUTIONS, DEFERS]) expect(html).toContain(c.replaceAll("'", "'"));
    for (const f of input.findings) expect(html).toContain(f.tryThis);
    expect(html).toContain("tried &lt;on&gt; scrap");
    for (const p of input.programs) expect(html).toContain(p.file);
    for (const m of input.proof.flatMap((s) => s.measures)) expect(html).toContain(`<th scope="row">${m.id}</th>`);
    expect(html.match(/data:image\/png/g)).toHaveLength(4);
    expect(reportHtml(input)).toBe(html);
  });

  test("does not call sound what was not proved, or is out of its limits", () => {
    expect(reportHtml(sampleInput({}, false))).toContain("Nothing was proved: do not cut from these programs.");
    const bad = sampleInput();
    const side = { ...bad.proof[0], measures: [{ ...bad.proof[0].measures[0], measured: 40 }] };
    expect(verdictSays([side, bad.proof[1]])).toContain("1 measure(s) are outside");
    expect(reportHtml({ ...bad, proof: [side, bad.proof[1]] })).toMatch(/<p class="verdict out">/);
  });
});

describe("what to check after a cut", () => {
  const input = sampleInput();
  const after = (id: string, title: string): string => {
    const plan = { ...input.plan, cuts: [{ ...input.plan.cuts[0], id, title }] };
    const program = { ...input.programs[0], cuts: [id] };
    return checksFor({ ...input, plan }, program, undefined, false).after.join(" ");
  };
  test.each([
    ["board-scribe", "Scribed outline", "6 mm inside the blank"],
    ["board-headstock-rough", "Headstock face, roughing", "has not moved"],
    ["board-headstock-face", "Headstock face", "4 mm below the glue plane"],
    ["board-ramp", "Ramp to the nut", "4 mm below the glue plane"],
    ["board-tuner-bores", "Tuner bores", "⌀10 and ⌀8.8"],
    ["board-nut-seat", "Nut seat", "3.4 mm"],
    ["board-board-rough", "Board radius, roughing", "has not moved"],
    ["board-board-radius", "Board radius", "Radius gauge"],
    ["board-fret-slots", "Fret slots", "slot 12: 324 mm"],
    ["board-outline", "Outline to the set depth", "edge is clean"],
    ["carve-rod-channel", "Rod channel", "6 mm wide"],
    ["carve-heel-screws", "Heel screw bores", "⌀4.2"],
    ["carve-back-flats", "Headstock back and heel", "14.5 mm thick; heel 25.4 mm thick with the board"],
    ["carve-carve-rough", "Back, roughing", "has not moved"],
    ["carve-carve-finish", "Back, finishing", "Caliper at fret 1: 21.2 mm with the board. Caliper at fret 12: 23 mm"],
    ["carve-outline-through", "Outline through", "edge is clean"],
  ])("%s", (id, title, says) => expect(after(id, title)).toContain(says));
});

describe("measures by kind", () => {
  test("the worst for its tolerance stands for its kind, and none is lost", () => {
    const m = (id: string, what: string, measured: number, tolerance = 0.02): Measure => ({
      id,
      what,
      unit: "mm",
      ordered: 1,
      measured,
      tolerance,
    });
    const groups = groupMeasures([
      m("fret-1", "width", 1.01),
      m("fret-2", "width", 1.015),
      m("fret-2", "depth", 1.3),
      m("marker-12a", "width", 0.99),
      m("marker-3", "width", 1),
      m("nut-seat", "width", 1),
    ]);
    expect(groups.map((g) => [g.kind, g.what, g.count, g.worst.id, g.out])).toEqual([
      ["fret", "width", 2, "fret-2", 0],
      ["fret-2", "depth", 1, "fret-2", 1],
      ["marker", "width", 2, "marker-12a", 0],
      ["nut-seat", "width", 1, "nut-seat", 0],
    ]);
  });
});

describe("words", () => {
  test("times", () =>
    expect([timeText(45), timeText(750), timeText(3899), timeText(59.7), timeText(3599.6)]).toEqual([
      "45 s",
      "12 min 30 s",
      "1 h 05 min",
      "1 min 00 s",
      "1 h 00 min",
    ]));
  test("values", () => expect([valueText(null, "mm"), valueText(-0.5, "mm"), valueText("x", "")]).toEqual(["–", "−0.5 mm", "x"]));
  test("lengths to hundredths", () => expect([dim(324), dim(6.35), dim(1 / 3)]).toEqual(["324", "6.35", "0.33"]));
  test("hours at a level (NIOSH 98-126, table 1-1: 85 dBA 8 h, 88 dBA 4 h, 100 dBA 15 min)", () => {
    expect([hoursAt(85), hoursAt(88), hoursAt(100) * 60]).toEqual([8, 4, 15]);
  });
});
