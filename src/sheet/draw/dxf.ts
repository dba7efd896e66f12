import { num, plainItems } from "./plain.ts";
import type { Drawing, PathStep, PlainItem, XY } from "./types.ts";

/** Chords that stand for a cubic stay this close to it, mm on paper (true size when the drawing is 1:1). */
const TOLERANCE = 0.002;

/**
 * A drawing as DXF R12 ($ACADVER AC1009), the oldest form that every program reads: LINE, POLYLINE with bulges for arcs, CIRCLE and
 * TEXT on layers named by what they are. Items without a layer stay out. Coordinates are mm of the drawing from its origin, y up; R12 has
 * no unit in the file, so a comment and the layer "check-bar" say it. CR LF line ends.
 */
export function dxf(d: Drawing): string {
  const origin = d.origin ?? [0, d.height];
  const items = plainItems(d.items).filter((i) => i.kind !== "image" && i.layer !== undefined);
  const layers = [...new Set(items.map((i) => (i as { layer: string }).layer))].sort();
  const out: string[] = [];
  const put = (code: number, value: string | number): void => {
    out.push(`${code}`, typeof value === "number" ? num(value, 6) : value);
  };
  put(999, "units: millimetres");
  put(0, "SECTION");
  put(2, "HEADER");
  put(9, "$ACADVER");
  put(1, "AC1009");
  put(0, "ENDSEC");
  put(0, "SECTION");
  put(2, "TABLES");
  put(0, "TABLE");
  put(2, "LTYPE");
  put(70, "1");
  put(0, "LTYPE");
  put(2, "CONTINUOUS");
  put(70, "64");
  put(3, "Solid line");
  put(72, "65");
  put(73, "0");
  put(40, "0.0");
  put(0, "ENDTAB");
  put(0, "TABLE");
  put(2, "LAYER");
  put(70, `${layers.length}`);
  for (const layer of layers) {
    put(0, "LAYER");
    put(2, layerName(layer));
    put(70, "64");
    put(62, "7");
    put(6, "CONTINUOUS");
  }
  put(0, "ENDTAB");
  put(0, "ENDSEC");
  put(0, "SECTION");
  put(2, "ENTITIES");
  for (const item of items) entity(item, origin, put);
  put(0, "ENDSEC");
  put(0, "EOF");
  return `${out.join("\r\n")}\r\n`;
}

type Put = (code: number, value: string | number) => void;

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

function entity(item: PlainItem, o: XY, put: Put): void {
  if (item.kind === "image") return;
  const layer = layerName(item.layer ?? "0");
  const x = (v: number): number => v - o[0];
  const y = (v: number): number => o[1] - v;
  const head = (kind: string): void => {
    put(0, kind);
    put(8, layer);
  };
  const polyline = (vertices: readonly (readonly [number, number, number])[], closed: boolean): void => {
    head("POLYLINE");
    put(66, "1");
    put(10, "0.0");
    put(20, "0.0");
    put(30, "0.0");
    put(70, closed ? "1" : "0");
    for (const [vx, vy, bulge] of vertices) {
      head("VERTEX");
      put(10, x(vx));
      put(20, y(vy));
      put(30, 0);
      if (bulge !== 0) put(42, bulge);
    }
    head("SEQEND");
  };
  switch (item.kind) {
    case "line":
      head("LINE");
      put(10, x(item.a[0]));
      put(20, y(item.a[1]));
      put(30, 0);
      put(11, x(item.b[0]));
      put(21, y(item.b[1]));
      put(31, 0);
      return;
    case "circle":
      head("CIRCLE");
      put(10, x(item.centre[0]));
      put(20, y(item.centre[1]));
      put(30, 0);
      put(40, item.radius);
      return;
    case "polyline":
      polyline(
        item.points.map(([px, py]) => [px, py, 0] as const),
        item.closed,
      );
      return;
    case "path":
      for (const part of vertexRuns(item.steps)) polyline(part.vertices, part.closed);
      return;
    case "text":
      head("TEXT");
      put(10, x(item.at[0]));
      put(20, y(item.at[1]));
      put(30, 0);
      put(40, item.size * 0.73);
      put(1, asciiText(item.text));
      if (item.turn) put(50, -item.turn);
      return;
  }
}

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

/** Points along a cubic, its end included; the count from the second differences, so that chords stay within TOLERANCE. */
function cubicPoints(x0: number, y0: number, s: Extract<PathStep, { to: "cubic" }>): XY[] {
  const ax = Math.max(Math.abs(x0 - 2 * s.x1 + s.x2), Math.abs(s.x1 - 2 * s.x2 + s.x));
  const ay = Math.max(Math.abs(y0 - 2 * s.y1 + s.y2), Math.abs(s.y1 - 2 * s.y2 + s.y));
  const n = Math.max(1, Math.ceil(Math.sqrt((6 * Math.hypot(ax, ay)) / (8 * TOLERANCE))));
  return Array.from({ length: n }, (_, i): XY => {
    const t = (i + 1) / n;
    const u = 1 - t;
    const [b0, b1, b2, b3] = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
    return [b0 * x0 + b1 * s.x1 + b2 * s.x2 + b3 * s.x, b0 * y0 + b1 * s.y1 + b2 * s.y2 + b3 * s.y];
  });
}
