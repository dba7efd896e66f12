import type { XY } from "./types.ts";

/** Even-odd: is the point inside the rings? */
export function isInside(rings: readonly (readonly XY[])[], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i];
      const [xj, yj] = ring[j];
      if (yi > y !== yj > y && x < xi + ((y - yi) / (yj - yi)) * (xj - xi)) inside = !inside;
    }
  }
  return inside;
}

/** The parts of a polyline that lie inside the rings (even-odd), as polylines. */
export function clipPolyline(rings: readonly (readonly XY[])[], line: readonly XY[]): XY[][] {
  const out: XY[][] = [];
  let run: XY[] = [];
  for (let k = 0; k + 1 < line.length; k++) {
    const [ax, ay] = line[k];
    const [bx, by] = line[k + 1];
    const cuts = [0, ...crossings(rings, ax, ay, bx, by), 1];
    for (let c = 0; c + 1 < cuts.length; c++) {
      const [t0, t1] = [cuts[c], cuts[c + 1]];
      if (t1 - t0 < 1e-9) continue;
      const tm = (t0 + t1) / 2;
      if (!isInside(rings, ax + tm * (bx - ax), ay + tm * (by - ay))) {
        if (run.length > 1) out.push(run);
        run = [];
        continue;
      }
      if (run.length === 0) run.push([ax + t0 * (bx - ax), ay + t0 * (by - ay)]);
      run.push([ax + t1 * (bx - ax), ay + t1 * (by - ay)]);
    }
  }
  if (run.length > 1) out.push(run);
  return out;
}

/** Parameters in 0..1, in order, at which a segment crosses the rings. */
function crossings(rings: readonly (readonly XY[])[], ax: number, ay: number, bx: number, by: number): number[] {
  const ts: number[] = [];
  const dx = bx - ax;
  const dy = by - ay;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [px, py] = ring[j];
      const ex = ring[i][0] - px;
      const ey = ring[i][1] - py;
      const det = dx * ey - dy * ex;
      if (det === 0) continue;
      const t = ((px - ax) * ey - (py - ay) * ex) / det;
      const u = ((px - ax) * dy - (py - ay) * dx) / det;
      if (t > 0 && t < 1 && u >= 0 && u <= 1) ts.push(t);
    }
  }
  return ts.sort((p, q) => p - q);
}
