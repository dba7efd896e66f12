import type { Mm } from "../../units/index.ts";
import { type Polygon, polygonBounds } from "../polygon.ts";
import { distancesInWasm } from "../wasm/clearing.ts";

/** A rectangle of square cells; cell (i, j) stands for the point (x0 + i cell, y0 + j cell). Row-major, x fastest. */
export interface Grid {
  readonly nx: number;
  readonly ny: number;
  readonly x0: Mm;
  readonly y0: Mm;
  readonly cell: Mm;
}

/** A grid that covers the rings and `margin` around them. */
export function gridAround(rings: readonly Polygon[], margin: Mm, cell: Mm): Grid {
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const r of rings) {
    const b = polygonBounds(r);
    xMin = Math.min(xMin, b.xMin);
    yMin = Math.min(yMin, b.yMin);
    xMax = Math.max(xMax, b.xMax);
    yMax = Math.max(yMax, b.yMax);
  }
  if (!(xMin < xMax && yMin < yMax)) return { nx: 2, ny: 2, x0: 0, y0: 0, cell };
  const nx = Math.ceil((xMax - xMin + 2 * margin) / cell) + 1;
  const ny = Math.ceil((yMax - yMin + 2 * margin) / cell) + 1;
  // off round numbers, so that straight edges do not run along cell centres
  return { nx, ny, x0: xMin - margin - 0.137 * cell, y0: yMin - margin - 0.171 * cell, cell };
}

/** Bilinear value at a point; `outside` beyond the grid. */
export function valueAt(g: Grid, v: Float32Array, x: Mm, y: Mm, outside: number): number {
  const fx = (x - g.x0) / g.cell;
  const fy = (y - g.y0) / g.cell;
  const i = Math.floor(fx);
  const j = Math.floor(fy);
  if (!(i >= 0 && j >= 0 && i < g.nx - 1 && j < g.ny - 1)) return outside;
  const p = j * g.nx + i;
  const q = p + g.nx;
  const tx = fx - i;
  const a = v[p] + (v[p + 1] - v[p]) * tx;
  const b = v[q] + (v[q + 1] - v[q]) * tx;
  return a + (b - a) * (fy - j);
}

/**
 * Signed distance to a region's edge at every cell, positive inside, exact within `band` of it and held to +-band beyond.
 * Even-odd over all rings.
 */
export function signedField(g: Grid, rings: readonly Polygon[], band: Mm): Float32Array {
  const { nx, ny, x0, y0, cell } = g;
  const out = new Float32Array(nx * ny).fill(band);
  const crossings: number[][] = Array.from({ length: ny }, () => []);
  for (const r of rings) {
    const n = r.length;
    for (let k = 0, m = n - 2; k < n; m = k, k += 2) {
      const [ax, ay, bx, by] = [r[m], r[m + 1], r[k], r[k + 1]];
      const [yLow, yHigh] = ay < by ? [ay, by] : [by, ay];
      // rows whose centre line the edge crosses, its lower end counted
      for (let j = Math.max(0, Math.ceil((yLow - y0) / cell)); j < ny; j++) {
        const y = y0 + j * cell;
        if (y >= yHigh) break;
        crossings[j].push(ax + ((y - ay) / (by - ay)) * (bx - ax));
      }
      const i0 = Math.max(0, Math.ceil((Math.min(ax, bx) - band - x0) / cell));
      const i1 = Math.min(nx - 1, Math.floor((Math.max(ax, bx) + band - x0) / cell));
      const j0 = Math.max(0, Math.ceil((yLow - band - y0) / cell));
      const j1 = Math.min(ny - 1, Math.floor((yHigh + band - y0) / cell));
      const dx = bx - ax;
      const dy = by - ay;
      const inv = 1 / Math.max(1e-18, dx * dx + dy * dy);
      for (let j = j0; j <= j1; j++) {
        const py = y0 + j * cell - ay;
        // the part of a long slanting edge that comes near this row
        let [lo, hi] = [i0, i1];
        if (Math.abs(dy) > band) {
          const t0 = (py - band) / dy;
          const t1 = (py + band) / dy;
          const s0 = Math.max(0, Math.min(1, t0, t1));
          const s1 = Math.min(1, Math.max(0, t0, t1));
          lo = Math.max(i0, Math.floor((ax + Math.min(s0 * dx, s1 * dx) - band - x0) / cell));
          hi = Math.min(i1, Math.ceil((ax + Math.max(s0 * dx, s1 * dx) + band - x0) / cell));
        }
        for (let i = lo; i <= hi; i++) {
          const px = x0 + i * cell - ax;
          let t = (px * dx + py * dy) * inv;
          t = t < 0 ? 0 : Math.min(t, 1);
          const ex = px - t * dx;
          const ey = py - t * dy;
          const d = Math.sqrt(ex * ex + ey * ey);
          if (d < out[j * nx + i]) out[j * nx + i] = d;
        }
      }
    }
  }
  for (let j = 0; j < ny; j++) {
    const c = crossings[j].sort((a, b) => a - b);
    let next = 0;
    let inside = false;
    for (let i = 0; i < nx; i++) {
      const x = x0 + i * cell;
      while (next < c.length && c[next] <= x) {
        inside = !inside;
        next++;
      }
      if (!inside) out[j * nx + i] = -out[j * nx + i];
    }
  }
  return out;
}

/** A window of cells, ends included. */
export interface Window {
  readonly i0: number;
  readonly j0: number;
  readonly i1: number;
  readonly j1: number;
}

/**
 * Distances (in cells) from every cell of a window to the nearest marked cell of the window, by lower envelopes of parabolas
 * (Felzenszwalb and Huttenlocher 2012); Infinity-like (1e9) when there is none. Returned row-major over the window.
 */
export function distances(nx: number, marked: Uint8Array, w: Window): Float32Array {
  const wx = w.i1 - w.i0 + 1;
  const wy = w.j1 - w.j0 + 1;
  const quick = distancesInWasm(nx, marked, w.i0, w.j0, wx, wy);
  if (quick !== null) return quick;
  const far = 1e18;
  const out = new Float32Array(wx * wy);
  const columns = new Float64Array(wx * wy);
  for (let i = 0; i < wx; i++) {
    let d = 1e9;
    for (let j = 0; j < wy; j++) {
      d = marked[(w.j0 + j) * nx + w.i0 + i] ? 0 : d + 1;
      columns[j * wx + i] = d;
    }
    d = 1e9;
    for (let j = wy - 1; j >= 0; j--) {
      const p = j * wx + i;
      d = columns[p] === 0 ? 0 : d + 1;
      if (d < columns[p]) columns[p] = d;
    }
  }
  const vertex = new Int32Array(wx);
  const from = new Float64Array(wx + 1);
  const f = new Float64Array(wx);
  for (let j = 0; j < wy; j++) {
    const row = j * wx;
    let k = -1;
    for (let i = 0; i < wx; i++) {
      const c = columns[row + i];
      if (c >= 1e9) continue;
      f[i] = c * c;
      let s = -far;
      while (k >= 0) {
        const v = vertex[k];
        s = (f[i] + i * i - f[v] - v * v) / (2 * (i - v));
        if (s > from[k]) break;
        k--;
      }
      if (k < 0) s = -far;
      vertex[++k] = i;
      from[k] = s;
    }
    if (k < 0) {
      for (let i = 0; i < wx; i++) out[row + i] = 1e9;
      continue;
    }
    from[k + 1] = far;
    for (let i = 0, v = 0; i < wx; i++) {
      while (from[v + 1] < i) v++;
      const d = i - vertex[v];
      out[row + i] = Math.sqrt(d * d + f[vertex[v]]);
    }
  }
  return out;
}
