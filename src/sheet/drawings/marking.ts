import type { Holding } from "../../holding/types.ts";
import { flatten } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, type View } from "../draw/view.ts";
import { cap, dim, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";

/** Distance of a neck's centreline from the datum edge at a distance from the blank's headstock end. */
export function centreAt(neck: Neck, p: Holding["placement"], fromEnd: number): number {
  return p.centreFromDatum + Math.tan(p.rotation ?? 0) * (fromEnd - p.tipFromEnd + neck.places.tip);
}

/** The blank with what to mark on it before anything is cut: datum edge, ends, centreline, nut, outline; and its edge seen from the side. */
export function markingDrawing(neck: Neck, holding: Pick<Holding, "blank" | "placement">, scale: number): Drawing {
  const { length, width: wide, thickness, boardThickness } = holding.blank;
  const { tipFromEnd, centreFromDatum } = holding.placement;
  const datumUp = neck.order.blank.datumEdge === upperSide(neck);
  // blank coordinates: x from the headstock end, y up from the lower edge
  const left = 26;
  const above = 22;
  const view: View = { origin: [left, above + wide * scale], scale, ex: [1, 0], ey: [0, -1] };
  const centre = datumUp ? wide - centreFromDatum : centreFromDatum;
  const nut = tipFromEnd - neck.places.tip;
  const neckEnd = Math.max(neck.places.boardEnd, neck.places.end);
  const to = (x: number, y: number): XY => at(view, x, y);
  const askew = holding.placement.rotation ?? 0;
  const [cos, sin] = [Math.cos(askew), (datumUp ? -1 : 1) * Math.sin(askew)];
  /** A place of the neck, in blank coordinates. */
  const inBlank = (x: number, y: number): readonly [number, number] => [nut + cos * x - sin * y, centre + sin * x + cos * y];
  const of = (x: number, y: number): XY => to(...inBlank(x, y));
  const pen = new Pen();
  const ring: XY[] = [];
  const poly = flatten(neck.outline, 0.02);
  for (let i = 0; i < poly.length; i += 2) ring.push(of(poly[i], poly[i + 1]));
  pen.hatch({ rings: [[to(0, 0), to(length, 0), to(length, wide), to(0, wide)], ring], grain: "long", spacing: 2.2 });
  pen.rect("wide", to(0, wide), to(length, 0), { layer: "blank" });
  pen.polyline("phantom", ring, { closed: true, ink: "accent", layer: "outline" });
  const datumY = datumUp ? wide : 0;
  pen.line("heavy", to(0, datumY), to(length, datumY), { ink: "accent" });
  pen.line("heavy", to(0, 0), to(0, wide), { ink: "accent" });
  /** The line through the blank, from edge to edge, that crosses the centreline square at a distance from the nut. */
  const across = (x: number): readonly [XY, XY] => {
    const [u, v] = inBlank(x, 0);
    return [to(u + (sin / cos) * v, 0), to(u - (sin / cos) * (wide - v), wide)];
  };
  const rise = sin / cos;
  pen.line("centre", to(-5 / scale, centre - rise * (nut + 5 / scale)), to(length + 5 / scale, centre + rise * (length + 5 / scale - nut)));
  pen.line("narrow", ...across(0));
  const n12 = neck.order.frets.count >= 12 ? neck.fretAt(12) : null;
  if (n12 !== null) pen.line("narrow", ...across(n12), { ink: "soft" });
  const top = to(0, wide)[1];
  const low = to(0, 0)[1];
  pen.dimension({
    a: to(0, wide),
    b: to(nut, wide),
    along: "x",
    line: top - 6,
    text: `${dim(nut)} nut line${neck.places.nutSlope === 0 && askew === 0 ? "" : ", at the centreline"}`,
  });
  if (n12 !== null)
    pen.dimension({ a: to(0, wide), b: to(nut + cos * n12, wide), along: "x", line: top - 12, text: `${dim(nut + cos * n12)} fret 12` });
  pen.dimension({ a: to(0, wide), b: to(length, wide), along: "x", line: top - 18, text: dim(length) });
  // along the blank; of a neck askew on its centreline
  const [tip, end] = askew === 0 ? [tipFromEnd, nut + neckEnd] : [nut + cos * neck.places.tip, nut + cos * neckEnd];
  pen.dimension({ a: to(0, 0), b: to(tip, 0), along: "x", line: low + 6, text: dim(tip) });
  pen.dimension({
    a: to(tip, 0),
    b: to(end, 0),
    along: "x",
    line: low + 6,
    text: askew === 0 ? `${dim(neckEnd - neck.places.tip)} neck` : `${dim(end - tip)} neck, along the blank`,
  });
  pen.dimension({ a: to(end, 0), b: to(length, 0), along: "x", line: low + 6, text: dim(length - end) });
  const fromDatum = centreAt(neck, holding.placement, 0);
  pen.dimension({ a: to(0, datumY), b: to(0, centre - rise * nut), along: "y", line: left - 7, text: dim(fromDatum) });
  if (askew !== 0) {
    const far = centreAt(neck, holding.placement, length);
    pen.dimension({
      a: to(length, datumY),
      b: to(length, centre + rise * (length - nut)),
      along: "y",
      line: to(length, 0)[0] + 3,
      text: dim(far),
    });
  }
  pen.dimension({ a: to(length, 0), b: to(length, wide), along: "y", line: to(length, 0)[0] + 9, text: dim(wide) });
  pen.text(
    [to(length * 0.62, 0)[0], to(0, datumY)[1] + (datumUp ? -1.4 : 3)],
    `datum edge (${neck.order.blank.datumEdge} side)`,
    SIZE.figure,
    {
      anchor: "middle",
      ink: "accent",
      ground: true,
    },
  );
  pen.text([left - 15, low - (wide * scale) / 2], "headstock end", SIZE.small, { anchor: "middle", turn: -90, ink: "accent" });
  // the edge, as it lies under the plan
  const edgeTop = low + 17;
  const edge: View = { origin: [left, edgeTop + boardThickness * scale], scale, ex: [1, 0], ey: [0, -1] };
  const shaftThickness = thickness - boardThickness;
  pen.hatch({
    rings: [[at(edge, 0, 0), at(edge, length, 0), at(edge, length, -shaftThickness), at(edge, 0, -shaftThickness)]],
    grain: "long",
    spacing: 1.3,
  });
  if (boardThickness > 0) {
    pen.hatch({
      rings: [[at(edge, 0, 0), at(edge, length, 0), at(edge, length, boardThickness), at(edge, 0, boardThickness)]],
      grain: "long",
      spacing: 0.6,
    });
    pen.rect("wide", at(edge, 0, boardThickness), at(edge, length, 0));
  }
  pen.rect("wide", at(edge, 0, 0), at(edge, length, -shaftThickness));
  const right = at(edge, length, 0);
  pen.dimension({
    a: at(edge, length, -shaftThickness),
    b: at(edge, length, boardThickness),
    along: "y",
    line: right[0] + 14,
    text: dim(thickness),
  });
  if (boardThickness > 0)
    pen.dimension({ a: right, b: at(edge, length, boardThickness), along: "y", line: right[0] + 6, text: dim(boardThickness) });
  const edgeLow = at(edge, 0, -shaftThickness)[1];
  const woods =
    boardThickness > 0
      ? `Board ${neck.order.wood.board} on shaft ${neck.order.wood.shaft}`
      : `Shaft ${neck.order.wood.shaft}, board not yet on`;
  pen.text([left, edgeLow + 5], `${woods}; both faces planed. Seen on the face, ${upperSide(neck)} side up.`, SIZE.small, { ink: "soft" });
  return {
    id: "marking-out",
    title: "Blank and marking out",
    says: `${cap(woods)}: ${dim(length)} x ${dim(wide)} x ${dim(thickness)} mm. Nut line ${dim(nut)} mm from the headstock end, centreline ${askew === 0 ? dim(centreFromDatum) : `${dim(fromDatum)} and, at the body end, ${dim(centreAt(neck, holding.placement, length))}`} mm from the datum edge.`,
    width: left + length * scale + 26,
    height: edgeLow + 8,
    group: 0.35,
    items: pen.items,
    scale,
    origin: view.origin,
  };
}
