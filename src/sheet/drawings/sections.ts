import type { Neck, RodChannel } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView, type View } from "../draw/view.ts";
import { cap, dim, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";
import { across, backAt, hasBoard } from "./profile.ts";

export interface SectionPlace {
  /** Length around the section, mm, where it is said. */
  readonly around?: number;
  readonly name: string;
  readonly x: number;
  readonly fret: number | null;
}

/** Where a neck is cut for the sections: nut, fret 1, fret 12 (or the last) and the middle of the heel. */
export function sectionPlaces(neck: Neck): SectionPlace[] {
  const n = neck.order.frets.count;
  const out: SectionPlace[] = [{ name: "at the nut", x: 0, fret: null }];
  if (n >= 1) out.push({ name: "at fret 1", x: neck.fretAt(1), fret: 1 });
  const far = Math.min(n, 12);
  if (far > 1) out.push({ name: `at fret ${far}`, x: neck.fretAt(far), fret: far });
  out.push({ name: "at the heel", x: (neck.places.heelFront + neck.places.shaftEnd) / 2, fret: null });
  return out;
}

/** Sections square to the centreline, seen toward the bridge's end, board up; `columns` of them in a row. */
export function sectionsDrawing(neck: Neck, scale: number, columns = 2): Drawing {
  const places = sectionPlaces(neck);
  const widest = Math.max(...places.map((p) => neck.edges(p.x)[1] - neck.edges(p.x)[0]));
  const highest = Math.max(...places.map((p) => neck.top(p.x, 0)));
  const lowest = Math.min(...places.map((p) => backAt(neck, p.x)));
  const cellWidth = widest * scale + 44;
  const cellHeight = (highest - lowest) * scale + 33;
  const pen = new Pen();
  places.forEach((p, i) => {
    const left = (i % columns) * cellWidth;
    const top = Math.floor(i / columns) * cellHeight;
    const view = uprightView([left + 14 + (widest * scale) / 2, top + 13 + highest * scale], scale);
    drawSection(pen, neck, view, p);
  });
  const rows = Math.ceil(places.length / columns);
  // seen from the headstock toward the bridge, +y lies to the left; drawn with +y right it is the view toward the headstock
  const right = upperSide(neck);
  const says = `Cut square to the centreline and seen from the bridge toward the headstock: ${right} side to the right.`;
  pen.text([4, rows * cellHeight + 3], says, SIZE.small, { ink: "soft" });
  return {
    id: "sections",
    title: "Sections",
    says: `${cap(places.map((p) => p.name).join(", "))}. ${says}`,
    width: Math.min(columns, places.length) * cellWidth,
    height: rows * cellHeight + 5,
    group: 0.35,
    items: pen.items,
    scale,
  };
}

/** `pieces`: of which back and face are drawn. */
export function drawSection(pen: Pen, neck: Neck, view: View, place: SectionPlace, pieces = 120): void {
  const { x } = place;
  const [lo, hi] = neck.edges(x);
  const board = hasBoard(neck, x);
  const ys = across(lo, hi, pieces);
  const to = (pts: readonly XY[]): XY[] => pts.map(([y, z]) => at(view, y, z));
  const back = ys.map((y): XY => [y, backAt(neck, x, y)]);
  const top = ys.map((y): XY => [y, neck.top(x, y)]);
  const seam = board
    ? ([
        [hi, 0],
        [lo, 0],
      ] as XY[])
    : [...top].reverse();
  const shaft = to([...back, ...seam]);
  const boardRing = to([[lo, 0], ...top, [hi, 0]]);
  const rods = neck.features.rod.filter((r) => x >= r.xMin && x <= r.xMax).map((r) => rodRings(neck, x, r, to));
  const grain = Math.max(0.8, 0.5 * view.scale);
  pen.hatch({ rings: [shaft, ...rods.map((r) => r.whole)], grain: "end", spacing: 1.1 * grain });
  if (board) pen.hatch({ rings: [boardRing], grain: "end", spacing: 0.62 * grain, turn: 24 });
  for (const r of rods) {
    pen.hatch({ rings: [r.filler], grain: "filler", spacing: 0.9, turn: 90 });
    pen.polyline("wide", r.filler, { closed: true });
    pen.polyline("wide", r.rod, { closed: true, fill: "shade" });
    pen.hatch({ rings: [r.rod], grain: "metal", spacing: 1 });
  }
  pen.polyline("heavy", shaft, { closed: true, layer: `section-${place.name}` });
  if (board) pen.polyline("heavy", boardRing, { closed: true, layer: `section-${place.name}` });
  drawScrews(pen, neck, view, x);
  const { tenon } = neck.features;
  if (tenon && x >= tenon.xMin && x <= tenon.xMax) {
    const h = tenon.width / 2;
    pen.polyline("hidden", [at(view, -h, 0), at(view, -h, -tenon.depth), at(view, h, -tenon.depth), at(view, h, 0)]);
    pen.text([at(view, 0, 0)[0], at(view, 0, -tenon.depth)[1] - 1], `tenon ${dim(tenon.width)} x ${dim(tenon.depth)}`, SIZE.small, {
      anchor: "middle",
      ground: true,
    });
  }
  const slot = neck.features.frets.find((f) => f.number === place.fret);
  if (slot) {
    const floor = across(Math.min(slot.bass.y, slot.treble.y), Math.max(slot.bass.y, slot.treble.y), 40).map(
      (y): XY => [y, neck.top(x, y) - slot.depth],
    );
    pen.polyline("hidden", to(floor));
  }
  dimensionSection(pen, neck, view, place, lo, hi, board);
}

function dimensionSection(pen: Pen, neck: Neck, view: View, place: SectionPlace, lo: number, hi: number, board: boolean): void {
  const { x } = place;
  const top = neck.top(x, 0);
  const low = backAt(neck, x);
  const [left, right] = [at(view, lo, 0), at(view, hi, 0)];
  const bottomY = at(view, 0, low)[1];
  const mid = at(view, 0, top);
  pen.dimension({ a: left, b: right, along: "x", line: bottomY + 6, text: dim(hi - lo) });
  pen.dimension({ a: at(view, 0, low), b: mid, along: "y", line: right[0] + 13, text: dim(top - low) });
  if (board) pen.dimension({ a: at(view, hi, 0), b: [right[0], mid[1]], along: "y", line: right[0] + 5, text: dim(top) });
  const wood = neck.woodUnderRod(x);
  if (wood !== null)
    pen.dimension({ a: at(view, 0, low), b: at(view, 0, low + wood), along: "y", line: left[0] - 4, text: dim(wood), ink: "accent" });
  const r = neck.boardRadius(x);
  const s = neck.section(x);
  const bassIsMinus = upperSide(neck) === "treble";
  const [bass, treble] = bassIsMinus ? [s.exponentMinus, s.exponentPlus] : [s.exponentPlus, s.exponentMinus];
  const shape = s.blend >= 1 - 1e-9 ? "flat back" : `carve exponent ${dim(bass)} bass, ${dim(treble)} treble`;
  const label = `${cap(place.name)}, x = ${dim(x)}`;
  const y = bottomY + 12.4;
  const cx = at(view, 0, 0)[0];
  pen.text([cx, y], label, SIZE.note, { anchor: "middle", bold: true });
  pen.text([cx, y + 3.6], `${Number.isFinite(r) ? `board radius ${dim(r)}` : "flat board"}; ${shape}`, SIZE.small, {
    anchor: "middle",
    ink: "soft",
  });
  if (place.around !== undefined) pen.text([cx, y + 7.2], `around it ${dim(place.around)}`, SIZE.small, { anchor: "middle", ink: "soft" });
}

function rodRings(neck: Neck, x: number, r: RodChannel, to: (pts: readonly XY[]) => XY[]): { whole: XY[]; rod: XY[]; filler: XY[] } {
  const h = r.width / 2;
  const m = r.y ?? 0;
  const u = r.xMax > r.xMin ? (2 * (x - r.xMin)) / (r.xMax - r.xMin) - 1 : 0;
  // a curved floor lies further from the glue plane midway
  const floor = r.zFloor - (r.sag ?? 0) * Math.max(0, 1 - u * u);
  const open = (y: number): number => (r.from === "board" ? 0 : backAt(neck, x, y));
  const inner = r.from === "board" ? Math.min(0, floor + r.rodHeight) : Math.max(floor - r.rodHeight, Math.max(open(m - h), open(m + h)));
  const opening: XY[] = Array.from({ length: 9 }, (_, i): XY => [m + h - (2 * h * i) / 8, open(m + h - (2 * h * i) / 8)]);
  return {
    whole: to([[m - h, floor], [m + h, floor], ...opening]),
    rod: to([
      [m - h, floor],
      [m + h, floor],
      [m + h, inner],
      [m - h, inner],
    ]),
    filler: to([[m - h, inner], [m + h, inner], ...opening]),
  };
}

/** Screw bores that the section's plane passes near show as hidden outlines with their axis. */
function drawScrews(pen: Pen, neck: Neck, view: View, x: number): void {
  const { heelFront, shaftEnd } = neck.places;
  if (x < heelFront || x > shaftEnd) return;
  const seen = new Set<string>();
  for (const s of neck.features.screws) {
    const key = s.y.toFixed(3);
    if (seen.has(key)) continue;
    seen.add(key);
    const r = s.diameter / 2;
    pen.polyline("hidden", [at(view, s.y - r, s.zFrom), at(view, s.y - r, s.zTo), at(view, s.y + r, s.zTo), at(view, s.y + r, s.zFrom)]);
    pen.line("centre", at(view, s.y, s.zFrom - 2 / view.scale), at(view, s.y, s.zTo + 2 / view.scale));
  }
}
