import type { Playback } from "../../job/played.ts";
import type { Block } from "../space/block.ts";

/** Both sides' wood on one plan of the neck's frame, `step` mm apart, from how the two stand now. */
export function blockOfWood(board: Playback, carve: Playback, step: number): Block {
  const { min, max } = board.side.stock;
  const corners = [
    [min[0], min[1]],
    [max[0], min[1]],
    [min[0], max[1]],
    [max[0], max[1]],
  ].map(([x, y]) => back(board.side.neckToProgram, x, y, max[2]));
  const [x0, x1] = [Math.min(...corners.map((c) => c[0])), Math.max(...corners.map((c) => c[0]))];
  const [y0, y1] = [Math.min(...corners.map((c) => c[1])), Math.max(...corners.map((c) => c[1]))];
  const n = Math.max(2, Math.floor((x1 - x0) / step) + 1);
  const across = Math.max(2, Math.floor((y1 - y0) / step) + 1);
  const x = Float32Array.from({ length: n }, (_, i) => x0 + i * step);
  const y = Float32Array.from({ length: n * across }, (_, k) => y0 + (k % across) * step);
  const top = heightsOf(board, x, y, across);
  const bottom = heightsOf(carve, x, y, across);
  return { x, y, top, bottom, across };
}

/** Program frame -> neck frame. */
function back(m: Playback["side"]["neckToProgram"], x: number, y: number, z: number): [number, number, number] {
  const [u, v, w] = [x - m[3], y - m[7], z - m[11]];
  return [m[0] * u + m[4] * v + m[8] * w, m[1] * u + m[5] * v + m[9] * w, m[2] * u + m[6] * v + m[10] * w];
}

/** Heights of a side's wood in the neck's frame at places of its plan; what lies off the blank is the bed. */
function heightsOf(p: Playback, x: Float32Array, y: Float32Array, across: number): Float32Array {
  const m = p.side.neckToProgram;
  const { map } = p.stock;
  const out = new Float32Array(y.length);
  // a side that is turned over has its height fall as the neck's rises
  const up = m[10];
  for (let k = 0; k < y.length; k++) {
    const u = x[Math.floor(k / across)];
    const px = m[0] * u + m[1] * y[k] + m[3];
    const py = m[4] * u + m[5] * y[k] + m[7];
    const i = Math.round((px - map.x0) / map.cell);
    const j = Math.round((py - map.y0) / map.cell);
    const z = i >= 0 && j >= 0 && i < map.nx && j < map.ny ? Math.max(p.side.stock.min[2], map.z[j * map.nx + i]) : p.side.stock.min[2];
    out[k] = (z - m[11]) * up;
  }
  return out;
}
