import { contourBounds, contourLength } from "../../kernel/contour.ts";
import type { Contour } from "../../kernel/curve.ts";
import type { Finding, Mm } from "../../units/index.ts";
import { boundsOf, chooseOutline, type Ring } from "./choose.ts";
import { crossings } from "./crossing.ts";
import { looseCurves, reversed, sweptArea } from "./curves.ts";
import { dxfStrokes } from "./dxf.ts";
import { joinCurves, ROUNDING, say } from "./join.ts";
import {
  AREA,
  CROSSING,
  EMPTY,
  GAPS,
  LAYER,
  OPTIONS,
  PLAUSIBLE,
  Refusal,
  refuse,
  SKIPPED,
  tell,
  UNIT,
  UNIT_DIFFERS,
  ZERO,
} from "./rules.ts";
import { Sink } from "./sink.ts";
import { svgStrokes } from "./svg.ts";
import { drawingText } from "./text.ts";
import type { DrawingFacts, DrawingOptions, DrawingRead, DrawingUnit, Stroke, Strokes } from "./types.ts";
import { DRAWING_UNITS, UNIT_MM } from "./units.ts";

/** Gaps closed without being asked. */
export const CLOSE_WITHIN: Mm = 0.05;
const MOST_CLOSE: Mm = 1;
/** A headstock's longer side (common practice, no source). */
const SMALL: Mm = 40;
const LARGE: Mm = 400;

type Facts = { -readonly [K in keyof DrawingFacts]: DrawingFacts[K] };

/**
 * The closed outline in a maker's drawing: DXF (R12 or later, text form) or SVG, y up, in millimetres, at the drawing's own place, or
 * findings that say why there is none. Pure, bounded in time and memory; opens, fetches, runs and expands nothing. Never throws.
 */
export function readDrawing(bytes: Uint8Array, kind: "dxf" | "svg", options: DrawingOptions = {}): DrawingRead {
  const findings: Finding[] = [];
  const facts: Facts = { unit: null, unitFrom: "", scale: null, curves: 0, closedGap: 0, bounds: null, length: 0, area: 0, layers: [] };
  let outline: Contour | null = null;
  try {
    outline = read(bytes, kind, options, facts, findings);
  } catch (e) {
    if (!(e instanceof Refusal)) throw e;
    findings.push(e.found);
  }
  if (findings.some((f) => f.severity === "stop")) outline = null;
  return { outline, findings, facts };
}

function read(bytes: Uint8Array, kind: "dxf" | "svg", options: DrawingOptions, facts: Facts, findings: Finding[]): Contour {
  checkOptions(kind, options);
  const closeWithin = options.closeWithin ?? CLOSE_WITHIN;
  const text = drawingText(bytes, kind, findings);
  const sink = new Sink();
  let file: Strokes;
  try {
    file = kind === "dxf" ? dxfStrokes(text, options.layer, findings, sink) : svgStrokes(text, findings, sink);
  } finally {
    tellSkipped(sink, findings);
  }
  facts.layers = layersOf(file.strokes);
  const strokes = chosen(file.strokes, options.layer, facts);
  const mm = unitOf(file, options, strokes, facts, findings);

  const loose = looseCurves(strokes, mm);
  const nothings = sink.nothings + loose.nothings;
  if (nothings > 0) {
    findings.push(
      tell(ZERO, "the drawing", `${nothings} curves without length are left out.`, "Nothing.", {
        value: nothings,
        limit: 0,
        unit: "curves",
      }),
    );
  }
  if (loose.curves.length === 0) refuse(EMPTY, "the drawing", "The drawing holds only curves without length.", "Draw the outline.");
  const rings = chooseOutline(joinCurves(loose, closeWithin, findings), closeWithin, findings);
  tellGaps(rings[0], closeWithin, facts, findings);
  tellCrossings(rings, findings);
  const area = rings[0].curves.reduce((sum, c) => sum + sweptArea(c), 0);
  if (!(Math.abs(area) >= 1) && !findings.some((f) => f.severity === "stop")) {
    refuse(AREA, "the drawing", `The closed curve encloses ${+Math.abs(area).toPrecision(3)} mm2.`, "Check the unit and the drawing.", {
      value: Math.abs(area),
      limit: 1,
      unit: "mm2",
    });
  }
  const curves = area < 0 ? rings[0].curves.map(reversed).reverse() : rings[0].curves;
  const outline: Contour = { name: "drawing", curves };
  facts.curves = curves.length;
  facts.bounds = contourBounds(outline);
  facts.length = contourLength(outline);
  facts.area = Math.abs(area);
  tellSize(facts, options.scale ?? 1, findings);
  return outline;
}

function checkOptions(kind: unknown, o: DrawingOptions): void {
  const no = (key: string, value: unknown, says: string): never =>
    refuse(OPTIONS, key, `${says}, not ${String(value).slice(0, 40)}.`, "Correct the order.", { value: String(value).slice(0, 40) });
  if (kind !== "dxf" && kind !== "svg") no("kind", kind, "A drawing is dxf or svg");
  if (o.unit !== undefined && !DRAWING_UNITS.includes(o.unit)) no("unit", o.unit, `The unit is one of ${DRAWING_UNITS.join(", ")}`);
  if (o.scale !== undefined && !(o.scale >= 1e-4 && o.scale <= 1e4)) no("scale", o.scale, "The scale is a factor from 0.0001 to 10000");
  if (o.closeWithin !== undefined && !(o.closeWithin >= 0 && o.closeWithin <= MOST_CLOSE)) {
    no("closeWithin", o.closeWithin, `The closing tolerance is 0 to ${MOST_CLOSE} mm`);
  }
  if (o.layer !== undefined && o.layer.trim() === "") no("layer", '""', "The layer has a name");
}

function tellSkipped(sink: Sink, findings: Finding[]): void {
  if (sink.skipped.size === 0) return;
  const kinds = [...sink.skipped].map(([kind, n]) => `${kind} (${n})`);
  const said = kinds.slice(0, 12).join(", ") + (kinds.length > 12 ? `, and ${kinds.length - 12} more kinds` : "");
  const all = [...sink.skipped.values()].reduce((a, b) => a + b, 0);
  findings.push(
    tell(SKIPPED, "the drawing", `Left out, as not part of an outline: ${said}.`, "Check that none of this belongs to the outline.", {
      value: all,
      limit: 0,
    }),
  );
}

function layersOf(strokes: readonly Stroke[]): DrawingFacts["layers"] {
  const counts = new Map<string, number>();
  for (const s of strokes) for (const name of new Set(s.layers)) counts.set(name, (counts.get(name) ?? 0) + 1);
  return [...counts].slice(0, 200).map(([name, curves]) => ({ name, curves }));
}

function chosen(strokes: readonly Stroke[], layer: string | undefined, facts: Facts): readonly Stroke[] {
  if (strokes.length === 0) {
    refuse(
      EMPTY,
      "the drawing",
      "The drawing holds no curve that can be read.",
      "Draw the outline as lines, arcs, splines or paths, visible and in model space.",
    );
  }
  if (layer === undefined) return strokes;
  const wanted = layer.toUpperCase();
  const found = strokes.filter((s) => s.layers.some((name) => name.toUpperCase() === wanted));
  if (found.length === 0) {
    const there = facts.layers.slice(0, 12).map((l) => `"${l.name.slice(0, 40)}"`);
    refuse(
      LAYER,
      "layer",
      `No curve lies on layer "${layer.slice(0, 60)}"; there are ${there.length > 0 ? there.join(", ") : "no named layers"}.`,
      "Name one of the drawing's layers.",
      {
        value: layer.slice(0, 60),
      },
    );
  }
  return found;
}

/** Millimetres per unit of the drawing. */
function unitOf(file: Strokes, o: DrawingOptions, strokes: readonly Stroke[], facts: Facts, findings: Finding[]): number {
  const factor = o.scale ?? 1;
  const stated = file.unit;
  if (o.unit === undefined && stated === null) {
    const box = boundsOf(looseCurves(strokes, 1).curves);
    const side = Math.max(box.xMax - box.xMin, box.yMax - box.yMin) * factor;
    const size = `${+((box.xMax - box.xMin) * factor).toPrecision(4)} x ${+((box.yMax - box.yMin) * factor).toPrecision(4)}`;
    const fits = likely(side);
    refuse(
      UNIT,
      "unit",
      `The drawing does not say what its unit is; its curves measure ${size} units${fits.length > 0 ? `, a headstock's size if that is ${fits.join(" or ")}` : ""}.`,
      `Give the unit in the order: one of ${DRAWING_UNITS.join(", ")}.`,
      { value: +side.toPrecision(6) },
    );
  }
  const unit = o.unit ?? (stated as NonNullable<typeof stated>).name;
  const mm = o.unit === undefined ? (stated as NonNullable<typeof stated>).mm : UNIT_MM[o.unit];
  if (o.unit !== undefined && stated !== null && Math.abs(stated.mm / mm - 1) > 1e-6) {
    findings.push(
      tell(
        UNIT_DIFFERS,
        "unit",
        `The order reads the drawing in ${o.unit}, but the drawing says ${stated.from} (${+stated.mm.toPrecision(7)} mm to the unit).`,
        "Check a known length of the outline.",
        {
          value: o.unit,
          limit: stated.from,
        },
      ),
    );
  }
  facts.unit = unit;
  facts.unitFrom = o.unit === undefined ? (stated as NonNullable<typeof stated>).from : "the order";
  facts.scale = mm * factor;
  return mm * factor;
}

/** Units in which a longer side of `side` units is a headstock's. */
const likely = (side: number): DrawingUnit[] => DRAWING_UNITS.filter((u) => side * UNIT_MM[u] >= SMALL && side * UNIT_MM[u] <= LARGE);

function tellGaps(outline: Ring, closeWithin: Mm, facts: Facts, findings: Finding[]): void {
  facts.closedGap = outline.gaps.reduce((most, g) => Math.max(most, g.size), 0);
  const worth = outline.gaps.filter((g) => g.size > ROUNDING).sort((a, b) => b.size - a.size);
  if (worth.length === 0) return;
  const some = worth.slice(0, 5).map((g) => `${+g.size.toPrecision(3)} mm at ${say(g)}`);
  findings.push(
    tell(
      GAPS,
      `${outline.from}: ${say(worth[0])}`,
      `${worth.length} gaps of the outline are closed at their middle: ${some.join("; ")}${worth.length > 5 ? "; ..." : ""}.`,
      "Nothing, if these places may move by half the gap.",
      {
        value: +worth[0].size.toPrecision(6),
        limit: closeWithin,
        unit: "mm",
      },
    ),
  );
}

function tellCrossings(rings: readonly Ring[], findings: Finding[]): void {
  const all = crossings(rings.map((r) => r.curves));
  // one place is often found by several pieces
  const places = all.filter((c, k) => !all.slice(0, k).some((d) => Math.hypot(c.x - d.x, c.y - d.y) < 0.05));
  for (const c of places.slice(0, 5)) {
    findings.push(
      tell(
        CROSSING,
        `${rings[0].from}: ${say(c)}`,
        `The outline crosses or touches ${c.other ? "another closed curve" : "itself"} at ${say(c)}${places.length > 5 ? ` (one of ${places.length} places)` : ""}.`,
        "Trim the curves in the drawing program.",
        {
          value: places.length,
          limit: 0,
          unit: "places",
        },
      ),
    );
  }
}

function tellSize(facts: Facts, factor: number, findings: Finding[]): void {
  const b = facts.bounds;
  if (b === null || facts.scale === null) return;
  const side = Math.max(b.xMax - b.xMin, b.yMax - b.yMin);
  if (side >= SMALL && side <= LARGE) return;
  const units = (side / facts.scale) * factor;
  const instead = likely(units).filter((u) => u !== facts.unit);
  const guess = instead.map((u) => `${+(units * UNIT_MM[u]).toPrecision(4)} mm if its numbers are ${u}`);
  findings.push(
    tell(
      PLAUSIBLE,
      "unit",
      `The outline's longer side measures ${+side.toPrecision(4)} mm, read in ${facts.unit} (${facts.unitFrom}); headstocks measure ${SMALL} to ${LARGE} mm.${guess.length > 0 ? ` It would be ${guess.join(", ")}.` : ""}`,
      instead.length > 0 ? `Give unit "${instead[0]}" in the order if ${facts.unit} is a mistake.` : "Check the unit and the scale.",
      { value: +side.toPrecision(6), limit: side < SMALL ? SMALL : LARGE, unit: "mm" },
    ),
  );
}
