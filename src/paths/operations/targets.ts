import { type HeightMap, makeMap } from "../../kernel/heightmap.ts";
import { tenonUnder } from "../../neck/features.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import type { Frame } from "./frame.ts";

/** Beside a tenon the strip is wider by a cutter's radius and more, so that the outermost rows go down too. */
const CHEEK_ROOM: Mm = 5;

/** What roughing on the carve side may cut down to, as a height map in the side's frame. */
export interface CarveTarget {
  readonly map: HeightMap;
  /** Floor of the strips cleared on both sides of the shaft. */
  readonly stripFloor: Mm;
}

/**
 * On the plan the finished back; beside the shaft a strip down to `stripFloor`, so that a round-nosed cutter can reach the
 * carve's upright edges; beside headstock and heel a margin level with their flats; past the board's end a margin level with
 * the glue plane when the board overhangs, and such a strip beside a tenon. Everything else is left as it is: it holds the piece.
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
  const gluePlane = frame.z(0);
  const overhang = p.end > p.shaftEnd + 1e-9;
  const { tenon } = neck.features;
  for (let i = 0; i < nx; i++) {
    const x = frame.nx(x0 + i * cell);
    if (x < p.tip - margin || x > p.end + margin) continue;
    const [lo, hi] = neck.edges(Math.min(p.end, Math.max(p.tip, x)));
    const past = x > p.end || x < p.tip;
    const flat = x < p.headBack - 0.5 || x > p.heelFront + 0.5;
    const cheek = tenon !== null && x > tenon.xMin;
    const low = cheek || (overhang && x > p.shaftEnd);
    const s = neck.section(x);
    const wide = cheek ? strip + CHEEK_ROOM : flat ? margin : strip;
    for (let j = 0; j < ny; j++) {
      const y = frame.ny(y0 + j * cell);
      const off = Math.max(lo - y, y - hi);
      if (off > wide) continue;
      const outside = low ? gluePlane : flat ? frame.z(s.flat + s.flatSlope * y) : stripFloor;
      const zz =
        off > 0 || past
          ? outside
          : cheek && x < p.shaftEnd
            ? Math.abs(y) > tenon.width / 2
              ? gluePlane
              : frame.z(tenonUnder(tenon, x))
            : frame.z(neck.back(x, y));
      z[j * nx + i] = Number.isFinite(zz) ? zz : outside;
    }
  }
  return { map, stripFloor };
}
