import { num, plainItems } from "./plain.ts";
import type { Drawing, LineKind, PathStep, PlainItem, XY } from "./types.ts";

/** Chords that stand for a cubic stay this close to it, mm on paper (true size when the drawing is 1:1). */
export const DXF_CHORD = 0.0005;

/**
 * A drawing as DXF R12 ($ACADVER AC1009), the oldest form that every program reads: LINE, CIRCLE, ARC, POLYLINE with bulges for the arcs
 * in it, and TEXT, on layers named by what they are. Cubics become chords within DXF_CHORD. Items without a layer stay out.
 * Coordinates are mm of the drawing from its origin, y up. R12 has no unit in the file ($INSUNITS came later): comments (999), a text
 * and the bar on layer CHECK-BAR say it. `notes`: further comment lines. CR LF line ends; the same bytes for the same drawing.
 */
export function dxf(d: Drawing, notes: readonly string[] = []): string {
  const origin = d.origin ?? [0, d.height];
  const items = plainItems(d.items).filter((i) => i.kind !== "image" && i.layer !== undefined);
  const out: string[] = [];
  const put: Put = (code, value) => {
    out.push(`${code}`, typeof value === "number" ? real(value) : value);
  };
  const entities: string[] = [];
  const box = new Box();
  const body: Put = (code, value) => {
    entities.push(`${code}`, typeof value === "number" ? real(value) : value);
  };
  for (const item of items) entity(item, origin, body, box);
  put(999, "units: millimetres, 1:1 (DXF R12 has no unit of its own)");
  for (const n of notes) put(999, asciiText(n));
  section(put, "HEADER", () => {
    put(9, "$ACADVER");
    put(1, "AC1009");
    put(9, "$INSBASE");
    point(put, 0, 0);
    put(9, "$EXTMIN");
    point(put, box.xMin, box.yMin);
    put(9, "$EXTMAX");
    point(put, box.xMax, box.yMax);
    put(9, "$LUNITS"); // decimal
    put(70, "2");
    put(9, "$LUPREC");
    put(70, "4");
  });
  section(put, "TABLES", () => tables(put, layersOf(items)));
  section(put, "BLOCKS", () => undefined);
  section(put, "ENTITIES", () => {
    for (const line of entities) out.push(line);
  });
  put(0, "EOF");
  return `${out.join("\r\n")}\r\n`;
}

type Put = (code: number, value: string | number) => void;

/** A real has a point in it, so that no reader takes it for an integer. */
function real(v: number): string {
  const t = num(v, 6);
  return t.includes(".") ? t : `${t}.0`;
}

class Box {
  xMin = Number.POSITIVE_INFINITY;
  yMin = Number.POSITIVE_INFINITY;
  xMax = Number.NEGATIVE_INFINITY;
  yMax = Number.NEGATIVE_INFINITY;
  add(x: number, y: number): void {
    this.xMin = Math.min(this.xMin, x);
    this.yMin = Math.min(this.yMin, y);
    this.xMax = Math.max(this.xMax, x);
    this.yMax = Math.max(this.yMax, y);
  }
}

function section(put: Put, name: string, inside: () => void): void {
  put(0, "SECTION");
  put(2, name);
  inside();
  put(0, "ENDSEC");
}

function point(put: Put, x: number, y: number): void {
  put(10, Number.isFinite(x) ? x : 0);
  put(20, Number.isFinite(y) ? y : 0);
  put(30, 0);
}

/** Line types, dash lengths in mm: what hidden edges, middles and neighbouring parts are drawn with. */
const LINE_TYPES: readonly (readonly [name: string, says: string, dashes: readonly number[]])[] = [
  ["CONTINUOUS", "Solid line", []],
  ["HIDDEN", "Dashed", [2, -1]],
  ["CENTRE", "Long dash dot", [6, -1, 0.3, -1]],
  ["PHANTOM", "Long dash dot dot", [6, -1, 0.3, -1, 0.3, -1]],
];
const typeOf = (line: LineKind | "none"): string =>
  line === "hidden" ? "HIDDEN" : line === "centre" ? "CENTRE" : line === "phantom" ? "PHANTOM" : "CONTINUOUS";

/** Layers by name with the line type of their first line, sorted. */
function layersOf(items: readonly PlainItem[]): (readonly [string, string])[] {
  const found = new Map<string, string>([["0", "CONTINUOUS"]]);
  for (const i of items) {
    const name = layerName((i as { layer: string }).layer);
    if (!found.has(name)) found.set(name, "line" in i ? typeOf(i.line) : "CONTINUOUS");
  }
  return [...found].sort((a, b) => (a[0] < b[0] ? -1 : 1));
}

function tables(put: Put, layers: readonly (readonly [string, string])[]): void {
  const table = (name: string, count: number, inside: () => void): void => {
    put(0, "TABLE");
    put(2, name);
    put(70, `${count}`);
    inside();
    put(0, "ENDTAB");
  };
  table("LTYPE", LINE_TYPES.length, () => {
    for (const [name, says, dashes] of LINE_TYPES) {
      put(0, "LTYPE");
      put(2, name);
      put(70, "0");
      put(3, says);
      put(72, "65");
      put(73, `${dashes.length}`);
      put(
        40,
        dashes.reduce((s, v) => s + Math.abs(v), 0),
      );
      for (const v of dashes) put(49, v);
    }
  });
  table("LAYER", layers.length, () => {
    for (const [name, type] of layers) {
      put(0, "LAYER");
      put(2, name);
      put(70, "0");
      put(62, "7");
      put(6, type);
    }
  });
  table("STYLE", 1, () => {
    put(0, "STYLE");
    put(2, "STANDARD");
    put(70, "0");
    put(40, 0);
    put(41, 1);
    put(50, 0);
    put(71, "0");
    put(42, 2.5);
    put(3, "txt");
    put(4, "");
  });
}

/** R12 names: capital letters, digits, $ - _, at most 31. */
export const layerName = (layer: string): string =>
  layer
    .toUpperCase()
    .replace(/[^A-Z0-9$_-]/g, "-")
    .slice(0, 31);

/** R12 text is ASCII here; the degree, plus-minus and diameter signs have their %% codes, all else becomes "?". */
const asciiText = (t: string): string =>
  t
    .replaceAll("°", "%%d")
    .replaceAll("±", "%%p")
    .replaceAll("⌀", "%%c")
    .replace(/[–—−]/g, "-")
    .replaceAll("×", "x")
    .replace(/[^\x20-\x7e]/g, "?");

function entity(item: PlainItem, o: XY, put: Put, box: Box): void {
  if (item.kind === "image") return;
  const layer = layerName(item.layer ?? "0");
  const x = (v: number): number => v - o[0];
  const y = (v: number): number => o[1] - v;
  const head = (kind: string): void => {
    put(0, kind);
    put(8, layer);
  };
  const at = (px: number, py: number): void => {
    point(put, x(px), y(py));
    box.add(x(px), y(py));
  };
  const polyline = (vertices: readonly (readonly [number, number, number])[], closed: boolean): void => {
    head("POLYLINE");
    put(66, "1");
    point(put, 0, 0);
    put(70, closed ? "1" : "0");
    for (const [vx, vy, bulge] of vertices) {
      head("VERTEX");
      at(vx, vy);
      if (bulge !== 0) put(42, bulge);
    }
    head("SEQEND");
  };
  switch (item.kind) {
    case "line":
      head("LINE");
      at(item.a[0], item.a[1]);
      put(11, x(item.b[0]));
      put(21, y(item.b[1]));
      put(31, 0);
      box.add(x(item.b[0]), y(item.b[1]));
      return;
    case "circle":
      head("CIRCLE");
      point(put, x(item.centre[0]), y(item.centre[1]));
      put(40, item.radius);
      box.add(x(item.centre[0]) - item.radius, y(item.centre[1]) - item.radius);
      box.add(x(item.centre[0]) + item.radius, y(item.centre[1]) + item.radius);
      return;
    case "polyline":
      polyline(
        item.points.map(([px, py]) => [px, py, 0] as const),
        item.closed,
      );
      return;
    case "path": {
      const [, arc] = item.steps;
      if (item.steps.length === 2 && arc.to === "arc" && Math.abs(arc.sweep) < 2 * Math.PI - 1e-9) {
        // R12 arcs run counter-clockwise; on the page, y down, that is the other way round
        const [from, to] = arc.sweep < 0 ? [arc.start, arc.start + arc.sweep] : [arc.start + arc.sweep, arc.start];
        head("ARC");
        at(arc.cx, arc.cy);
        put(40, arc.r);
        put(50, degrees(-from));
        put(51, degrees(-to));
        return;
      }
      for (const part of vertexRuns(item.steps)) polyline(part.vertices, part.closed);
      return;
    }
    case "text":
      head("TEXT");
      at(item.at[0], item.at[1]);
      put(40, item.size * 0.73);
      put(1, asciiText(item.text));
      if (item.turn) put(50, -item.turn);
      if (item.anchor !== "start") {
        put(72, item.anchor === "middle" ? "1" : "2");
        put(11, x(item.at[0]));
        put(21, y(item.at[1]));
        put(31, 0);
      }
      return;
  }
}

/** In 0..360. */
const degrees = (a: number): number => {
  const d = ((a * 180) / Math.PI) % 360;
  return d < 0 ? d + 360 : d;
};

/** Vertices with the bulge of the piece that follows each: tan(included angle / 4), positive counter-clockwise with y up. */
function vertexRuns(steps: readonly PathStep[]): { vertices: (readonly [number, number, number])[]; closed: boolean }[] {
  const runs: { vertices: [number, number, number][]; closed: boolean }[] = [];
  let run: { vertices: [number, number, number][]; closed: boolean } = { vertices: [], closed: false };
  for (const s of steps) {
    if (s.to === "move") {
      run = { vertices: [[s.x, s.y, 0]], closed: false };
      runs.push(run);
    } else if (s.to === "line") run.vertices.push([s.x, s.y, 0]);
    else if (s.to === "close") closeRun(run);
    else if (s.to === "arc") {
      const pieces = Math.ceil(Math.abs(s.sweep) / Math.PI + 1e-9);
      for (let k = 1; k <= pieces; k++) {
        run.vertices[run.vertices.length - 1][2] = -Math.tan(s.sweep / pieces / 4);
        const a = s.start + (s.sweep * k) / pieces;
        run.vertices.push(k === pieces ? [s.x, s.y, 0] : [s.cx + s.r * Math.cos(a), s.cy + s.r * Math.sin(a), 0]);
      }
    } else {
      const [x0, y0] = run.vertices[run.vertices.length - 1];
      for (const [px, py] of cubicPoints(x0, y0, s)) run.vertices.push([px, py, 0]);
    }
  }
  return runs.filter((r) => r.vertices.length > 1);
}

/** Drops a last vertex that repeats the first. */
function closeRun(run: { vertices: [number, number, number][]; closed: boolean }): void {
  run.closed = true;
  const [first, last] = [run.vertices[0], run.vertices[run.vertices.length - 1]];
  if (run.vertices.length > 2 && Math.hypot(first[0] - last[0], first[1] - last[1]) < 1e-6) run.vertices.pop();
}

/**
 * Points along a cubic, its end included; the count from the second differences, so that chords stay within DXF_CHORD: a chord over h of
 * the parameter is off by h^2/8 times the second derivative at most, and that is at most 6 times the larger second difference.
 */
function cubicPoints(x0: number, y0: number, s: Extract<PathStep, { to: "cubic" }>): XY[] {
  const ax = Math.max(Math.abs(x0 - 2 * s.x1 + s.x2), Math.abs(s.x1 - 2 * s.x2 + s.x));
  const ay = Math.max(Math.abs(y0 - 2 * s.y1 + s.y2), Math.abs(s.y1 - 2 * s.y2 + s.y));
  const n = Math.max(1, Math.ceil(Math.sqrt((6 * Math.hypot(ax, ay)) / (8 * DXF_CHORD))));
  return Array.from({ length: n }, (_, i): XY => {
    const t = (i + 1) / n;
    const u = 1 - t;
    const [b0, b1, b2, b3] = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
    return [b0 * x0 + b1 * s.x1 + b2 * s.x2 + b3 * s.x, b0 * y0 + b1 * s.y1 + b2 * s.y2 + b3 * s.y];
  });
}
