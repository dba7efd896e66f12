import { type HeightMap, makeMap } from "../../kernel/heightmap.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import type { Frame } from "./frame.ts";

/** What roughing on the carve side may cut down to, as a height map in the side's frame. */
export interface CarveTarget {
  readonly map: HeightMap;
  /** Floor of the strips cleared on both sides of the shaft. */
  readonly stripFloor: Mm;
}

/**
 * On the plan the finished back; beside the shaft a strip down to `stripFloor`, so that a round-nosed cutter can reach the
 * carve's upright edges; beside headstock and heel a margin level with their flats; past the board's end a margin level with
 * the glue plane when the board overhangs. Everything else is left as it is: it holds the piece.
 *
 *      margin |  strip beside the shaft          | margin
 *     ........|..................................|........
 *     headstock  transition   carve   transition  heel | overhang
 */
export function carveTarget(neck: Neck, frame: Frame, stripFloor: Mm, strip: Mm, margin: Mm, cell: Mm): CarveTarget {
  const { stock, topZ } = frame;
  const p = neck.places;
  const map = makeMap(stock.min[0], stock.min[1], stock.max[0], stock.max[1], cell, topZ);
  const { nx, ny, x0, y0, z } = map;
  const headFlat = frame.z(neck.section(p.headBack).flat);
  const heelFlat = frame.z(neck.section((p.heelFront + p.shaftEnd) / 2).flat);
  const gluePlane = frame.z(0);
  const overhang = p.end > p.shaftEnd + 1e-9;
  for (let i = 0; i < nx; i++) {
    const x = frame.nx(x0 + i * cell);
    if (x < p.tip - margin || x > p.end + margin) continue;
    const [lo, hi] = neck.edges(Math.min(p.end, Math.max(p.tip, x)));
    const past = x > p.end || x < p.tip;
    const outside =
      x < p.headBack - 0.5 ? headFlat : x > p.shaftEnd ? (overhang ? gluePlane : heelFlat) : x > p.heelFront + 0.5 ? heelFlat : stripFloor;
    const wide = outside === stripFloor ? strip : margin;
    for (let j = 0; j < ny; j++) {
      const y = frame.ny(y0 + j * cell);
      const off = Math.max(lo - y, y - hi);
      if (off > wide) continue;
      const zz = off > 0 || past ? outside : frame.z(neck.back(x, y));
      z[j * nx + i] = Number.isFinite(zz) ? zz : outside;
    }
  }
  return { map, stripFloor };
}
