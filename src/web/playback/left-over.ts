import { compareSide, frameOf, type Neck, type Playback, rampTable } from "../../job/played.ts";
import type { LeftOver } from "./protocol.ts";

/** Dark ends of the two scales, mm: finishing leaves hundredths, a gouge is a tenth. */
const ABOVE = 0.2;
const BELOW = 0.1;
/** Edges between the bars of the distribution, mm; everything beyond the last belongs to the last bar. */
const EDGES: readonly number[] = [-0.1, -0.05, -0.02, -0.01, 0, 0.01, 0.02, 0.05, 0.1, 0.2];

/** A side at the end of its work beside the ordered neck. The playback has to stand at its end. */
export function leftOver(neck: Neck, p: Playback, cusps: Readonly<Record<string, number>>): LeftOver {
  const mine = p.programs.flatMap((q) => q.cuts).map((c) => cusps[c] ?? 0);
  const { deviation } = compareSide(neck, frameOf(p.side), p.stock.map, Math.max(0, ...mine), p.filled);
  const pixels = new Uint8ClampedArray(4 * deviation.length);
  const [above, below] = [rampTable("above"), rampTable("below")];
  const cells = new Array<number>(EDGES.length + 1).fill(0);
  for (let k = 0; k < deviation.length; k++) {
    const d = deviation[k];
    if (Number.isNaN(d)) continue;
    const [table, full] = d >= 0 ? [above, ABOVE] : [below, BELOW];
    const c = 3 * Math.min(255, Math.round((Math.abs(d) / full) * 255));
    pixels[4 * k] = table[c];
    pixels[4 * k + 1] = table[c + 1];
    pixels[4 * k + 2] = table[c + 2];
    pixels[4 * k + 3] = 255;
    let bar = 0;
    while (bar < EDGES.length && d >= EDGES[bar]) bar++;
    cells[bar]++;
  }
  return { pixels: pixels.buffer, above: ABOVE, below: BELOW, edges: EDGES, cells, cell: p.stock.map.cell };
}
