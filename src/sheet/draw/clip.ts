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
export const clipPolyline = (rings: readonly (readonly XY[])[], line: readonly XY[]): XY[][] => clipTo(rings)(line);

/**
 * Clips many polylines to the same rings. Each segment is taken as a whole line: an edge crosses it when its ends lie on different sides,
 * a point of the line counting as its left. Every vertex then has one side, crossings come in pairs, and the parity of those behind a
 * place says whether it is inside: no second look at the rings.
 */
export function clipTo(rings: readonly (readonly XY[])[]): (line: readonly XY[]) => XY[][] {
  const flat = rings.filter((r) => r.length > 2).map((r) => Float64Array.from(r.flat()));
  const box = boundsOf(flat);
  const ts: number[] = [];
  return (line) => {
    const out: XY[][] = [];
    let run: XY[] = [];
    const leave = (): void => {
      if (run.length > 1) out.push(run);
      run = [];
    };
    for (let k = 0; k + 1 < line.length; k++) {
      const ax = line[k][0];
      const ay = line[k][1];
      const bx = line[k + 1][0];
      const by = line[k + 1][1];
      if (Math.max(ax, bx) < box[0] || Math.max(ay, by) < box[1] || Math.min(ax, bx) > box[2] || Math.min(ay, by) > box[3]) {
        leave();
        continue;
      }
      crossings(flat, ax, ay, bx, by, ts);
      let inside = false;
      // pieces of the line inside lie from every even crossing to the next
      for (let c = 0; c + 1 < ts.length; c += 2) {
        const t0 = Math.max(0, ts[c]);
        const t1 = Math.min(1, ts[c + 1]);
        if (t1 - t0 < 1e-9) continue;
        inside = true;
        if (t0 > 0 || run.length === 0) {
          leave();
          run.push([ax + t0 * (bx - ax), ay + t0 * (by - ay)]);
        }
        run.push([ax + t1 * (bx - ax), ay + t1 * (by - ay)]);
        if (t1 < 1) leave();
      }
      if (!inside) leave();
    }
    leave();
    return out;
  };
}

/** xMin, yMin, xMax, yMax. */
function boundsOf(rings: readonly Float64Array[]): readonly [number, number, number, number] {
  const b: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const r of rings) {
    for (let i = 0; i < r.length; i += 2) {
      b[0] = Math.min(b[0], r[i]);
      b[1] = Math.min(b[1], r[i + 1]);
      b[2] = Math.max(b[2], r[i]);
      b[3] = Math.max(b[3], r[i + 1]);
    }
  }
  return b;
}

/** Into `ts`, in order: parameters at which the whole line through two points crosses the rings, 0 and 1 being the points. */
function crossings(rings: readonly Float64Array[], ax: number, ay: number, bx: number, by: number, ts: number[]): void {
  ts.length = 0;
  const dx = bx - ax;
  const dy = by - ay;
  const length2 = dx * dx + dy * dy;
  if (length2 === 0) return;
  for (const ring of rings) {
    const n = ring.length;
    let px = ring[n - 2] - ax;
    let py = ring[n - 1] - ay;
    let side = dx * py - dy * px;
    for (let i = 0; i < n; i += 2) {
      const qx = ring[i] - ax;
      const qy = ring[i + 1] - ay;
      const next = dx * qy - dy * qx;
      if (side >= 0 !== next >= 0) {
        const s = side / (side - next);
        ts.push(((px + s * (qx - px)) * dx + (py + s * (qy - py)) * dy) / length2);
      }
      px = qx;
      py = qy;
      side = next;
    }
  }
  // a handful at most
  for (let i = 1; i < ts.length; i++) {
    const t = ts[i];
    let j = i - 1;
    for (; j >= 0 && ts[j] > t; j--) ts[j + 1] = ts[j];
    ts[j + 1] = t;
  }
}
