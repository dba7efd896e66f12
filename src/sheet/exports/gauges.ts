import type { Curve } from "../../kernel/curve.ts";
import type { Neck } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, pathOf, uprightView, type View } from "../draw/view.ts";
import { dim, SIZE, upperSide } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import { scaleBar } from "./bar.ts";
import { sampled } from "./sampled.ts";

/** A place at which the carve is checked with a gauge. */
export interface GaugePlace {
  readonly x: number;
  readonly says: string;
  readonly short: string;
}

/** Card left beside and below the section, mm. */
const EAR = 12;
const BELOW = 11;
/** Widest that a sheet of Letter, the narrower paper lying, shows whole. */
const ROOM = 249;

/** The nut, the order's own stations, every other fret between them, and where the heel begins: at least 12 mm apart, the stations first. */
export function gaugePlaces(neck: Neck): GaugePlace[] {
  const o = neck.order;
  const p = neck.places;
  const fret = (n: number): GaugePlace => ({ x: neck.fretAt(n), says: `fret ${n}, x = ${dim(neck.fretAt(n))}`, short: `fret ${n}` });
  const own = o.carve.stations.map((s) =>
    s.at.kind === "fret" ? fret(s.at.fret) : { x: s.at.x, says: `x = ${dim(s.at.x)}`, short: `x ${dim(s.at.x)}` },
  );
  const more = [5, 9, 3, 7, 1, 12].filter((n) => n <= o.frets.count).map(fret);
  const heel: GaugePlace = { x: p.heelFront, says: `begin of the heel, x = ${dim(p.heelFront)}`, short: "heel" };
  const out: GaugePlace[] = [];
  for (const g of [...own, heel, ...more]) {
    if (g.x < Math.max(0, p.carveStart) || g.x >= p.shaftEnd || out.length >= 6) continue;
    if (out.every((q) => Math.abs(q.x - g.x) >= 12)) out.push(g);
  }
  return out.sort((a, b) => a.x - b.x);
}

/** The back of the section at x from its lower y to its upper one, sides that stand upright included; y and z. */
export function backAcross(neck: Neck, x: number): XY[] {
  const [lo, hi] = neck.edges(x);
  // by the angle, so that the oval's upright beginnings are smooth
  const round = sampled(
    (a) => {
      const y = a < Math.PI / 2 ? lo * Math.cos(a) : -hi * Math.cos(a);
      return [y, neck.back(x, Math.max(lo, Math.min(hi, y)))];
    },
    0,
    Math.PI,
    [Math.PI / 2],
  );
  return [[lo, 0], ...(round[0][1] < -1e-9 ? round : round.slice(1, -1)), [hi, 0]];
}

/** The board's own section at x: sides and face, from (hi, 0) over the top to (lo, 0); the face is a true arc. */
export function boardAcross(neck: Neck, x: number): Curve[] {
  const [lo, hi] = neck.edges(x);
  const [zl, zh] = [neck.boardTop(x, lo), neck.boardTop(x, hi)];
  const R = neck.boardRadius(x);
  const a = { x: hi, y: zh };
  const b = { x: lo, y: zl };
  const face: Curve = Number.isFinite(R) ? arcOver(R, neck.boardTop(x, 0), lo, hi) : { kind: "line", a, b };
  return [{ kind: "line", a: { x: hi, y: 0 }, b: a }, face, { kind: "line", a: b, b: { x: lo, y: 0 } }];
}

function arcOver(radius: number, crown: number, lo: number, hi: number): Curve {
  const start = Math.acos(hi / radius);
  return { kind: "arc", centre: { x: 0, y: crown - radius }, radius, start, sweep: Math.acos(lo / radius) - start };
}

/**
 * Gauges for the carve at true size: cards with the finished back cut out of them; their ears lie level with the glue line. Seen from the
 * bridge toward the headstock. x = 0 of each card is the centreline; cards stand beside each other. Layers: GAUGES (cut along), SECTIONS,
 * CENTRELINE, NOTES, CHECK-BAR.
 */
export function gaugesDrawing(neck: Neck): Drawing {
  const places = gaugePlaces(neck);
  const spans = places.map((g) => neck.edges(g.x));
  const lows = places.map((g) => Math.min(...backAcross(neck, g.x).map((q) => q[1])));
  const cell = Math.max(40, ...spans.map(([lo, hi]) => 2 * Math.max(-lo, hi))) + 2 * EAR + 4;
  const over = Math.max(...places.map((g) => neck.boardTop(g.x, 0)), 0) + 5;
  // as many beside each other as either paper takes
  const columns = Math.max(1, Math.min(places.length, Math.floor((ROOM - 8) / cell)));
  const rows = Math.ceil(places.length / columns);
  const deep = Array.from({ length: rows }, (_, r) => BELOW + 2 - Math.min(-10, ...lows.slice(r * columns, (r + 1) * columns)));
  const above = (row: number): number => deep.slice(0, row).reduce((sum, d) => sum + over + d, 0);
  const pen = new Pen();
  let first: XY = [4 + cell / 2, over];
  places.forEach((g, i) => {
    const origin: XY = [4 + cell * ((i % columns) + 0.5), over + above(Math.floor(i / columns))];
    if (i === 0) first = origin;
    drawGauge(pen, neck, g, uprightView(origin, 1), lows[i]);
  });
  const height = above(rows) + 9;
  scaleBar(pen, [4, height - 3], "x");
  return {
    id: "gauges",
    title: "Gauges for the carve",
    says: `Cards to check the carve with, true size, at ${places.map((g) => g.short).join(", ")}. Seen from the bridge toward the headstock: ${upperSide(neck)} side to the right.`,
    width: Math.max(120, columns * cell + 8),
    height,
    group: 0.35,
    items: pen.items,
    scale: 1,
    origin: first,
  };
}

function drawGauge(pen: Pen, neck: Neck, g: GaugePlace, view: View, low: number): void {
  const [lo, hi] = neck.edges(g.x);
  const back = backAcross(neck, g.x);
  const page = (pts: readonly XY[]): XY[] => pts.map(([y, z]) => at(view, y, z));
  const floor = low - BELOW;
  pen.polyline("wide", page([[lo - EAR, 0], ...back, [hi + EAR, 0], [hi + EAR, floor], [lo - EAR, floor]]), {
    closed: true,
    layer: "GAUGES",
  });
  pen.path("narrow", pathOf(view, boardAcross(neck, g.x), false), { layer: "SECTIONS" });
  pen.line("narrow", at(view, lo, 0), at(view, hi, 0), { layer: "SECTIONS" });
  pen.line("centre", at(view, 0, neck.boardTop(g.x, 0) + 2), at(view, 0, floor + 1), { layer: "CENTRELINE" });
  const [cx, cy] = at(view, 0, floor + 4.6);
  pen.text([cx + 2, cy], g.says, SIZE.small, { layer: "NOTES" });
  pen.text([cx - 2, cy], `${dim(-low)} deep`, SIZE.small, { anchor: "end", layer: "NOTES" });
  const right = upperSide(neck);
  const [ry] = [at(view, 0, -3.6)[1]];
  pen.text([at(view, hi + EAR - 1, 0)[0], ry], right, SIZE.small, { anchor: "end", layer: "NOTES" });
  pen.text([at(view, lo - EAR + 1, 0)[0], ry], right === "treble" ? "bass" : "treble", SIZE.small, { layer: "NOTES" });
  pen.text([cx + 2, cy + 3.4], neck.order.name, SIZE.small, { ink: "soft", layer: "NOTES" });
}
