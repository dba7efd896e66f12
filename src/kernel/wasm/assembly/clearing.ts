// What a clearing's disc meets and takes away, and distances on a grid; mirror Uncut and distances of src/kernel/clearing, with the same arithmetic.
import { f4, f8 } from "./field";

const GRAZE: f64 = 0.005;
const FRONT: i32 = 36;

let M: usize = 0, COS: usize = 0, SIN: usize = 0;
let NX: i32 = 0, NY: i32 = 0;
let X0: f64 = 0, Y0: f64 = 0, CELL: f64 = 0, RADIUS: f64 = 0, BAND: f64 = 0;

export function uncutField(m: usize, cos: usize, sin: usize, nx: i32, ny: i32, x0: f64, y0: f64, cell: f64, radius: f64, band: f64): void {
  M = m;
  COS = cos;
  SIN = sin;
  NX = nx;
  NY = ny;
  X0 = x0;
  Y0 = y0;
  CELL = cell;
  RADIUS = radius;
  BAND = band;
}

export function uncutMet(x: f64, y: f64, ux: f64, uy: f64): f64 {
  const nx = NX, ny = NY, inv = 1 / CELL, m = M, r = RADIUS;
  const gx = (x - X0) * inv;
  const gy = (y - Y0) * inv;
  const rx = r * ux * inv;
  const ry = r * uy * inv;
  let sum: f64 = 0;
  let before: f64 = -1;
  for (let k = 0; k <= FRONT; k++) {
    const c = load<f64>(f8(COS, k));
    const s = load<f64>(f8(SIN, k));
    const fx = gx + c * rx - s * ry;
    const fy = gy + s * rx + c * ry;
    const i = Math.floor(fx);
    const j = Math.floor(fy);
    let v: f64 = -1;
    if (i >= 0 && j >= 0 && i < <f64>(nx - 1) && j < <f64>(ny - 1)) {
      const p = f4(m, <i32>j * nx + <i32>i);
      const q = f4(p, nx);
      const tx = fx - i;
      const p0 = <f64>load<f32>(p), q0 = <f64>load<f32>(q);
      const a = p0 + (<f64>load<f32>(p, 4) - p0) * tx;
      const b = q0 + (<f64>load<f32>(q, 4) - q0) * tx;
      v = a + (b - a) * (fy - j) - GRAZE;
    }
    if (k > 0) {
      if (v > 0) sum += before > 0 ? 1.0 : v / (v - before);
      else if (before > 0) sum += before / (before - v);
    }
    before = v;
  }
  return (sum * Math.PI) / <f64>FRONT;
}

export function uncutSweep(ax: f64, ay: f64, bx: f64, by: f64, joined: i32): void {
  const nx = NX, ny = NY, x0 = X0, y0 = Y0, cell = CELL, m = M, r = RADIUS, band = BAND;
  const dx = bx - ax;
  const dy = by - ay;
  const l2 = dx * dx + dy * dy;
  const inv = l2 > 0 ? 1 / l2 : 0.0;
  const wide = r + band;
  const wide2 = wide * wide;
  const deep = max(0.0, r - band);
  const deep2 = deep * deep;
  const j0 = <i32>max(0.0, Math.ceil((min(ay, by) - wide - y0) / cell));
  const j1 = <i32>min(<f64>(ny - 1), Math.floor((max(ay, by) + wide - y0) / cell));
  const i0 = <i32>max(0.0, Math.ceil((min(ax, bx) - wide - x0) / cell));
  const i1 = <i32>min(<f64>(nx - 1), Math.floor((max(ax, bx) + wide - x0) / cell));
  const wall = 1 / max(1e-12, Math.abs(dy));
  const len = Math.sqrt(l2);
  for (let j = j0; j <= j1; j++) {
    const y = y0 + <f64>j * cell - ay;
    let lo = i0;
    let hi = i1;
    if (len > r) {
      const c = y * dx * (dy < 0 ? -wall : wall);
      const s = wide * len * wall;
      lo = <i32>max(<f64>i0, Math.ceil((ax + c - s - x0) / cell));
      hi = <i32>min(<f64>i1, Math.floor((ax + c + s - x0) / cell));
    }
    let skip = nx;
    let skipTo = 0;
    if (joined != 0 && deep2 > y * y) {
      const w = Math.sqrt(deep2 - y * y);
      skip = <i32>Math.ceil((ax - w - x0) / cell);
      skipTo = <i32>Math.floor((ax + w - x0) / cell) + 1;
    }
    const row = f4(m, j * nx);
    for (let i = lo; i <= hi; i++) {
      if (i >= skip && i < skipTo) {
        i = skipTo;
        if (i > hi) break;
      }
      const x = x0 + <f64>i * cell - ax;
      let t = (x * dx + y * dy) * inv;
      if (t < 0) {
        if (joined != 0) continue;
        t = 0;
      } else if (t > 1) t = 1;
      const ex = x - t * dx;
      const ey = y - t * dy;
      const d2 = ex * ex + ey * ey;
      if (d2 >= wide2) continue;
      const d = d2 <= deep2 ? -band : Math.sqrt(d2) - r;
      const p = f4(row, i);
      if (d < <f64>load<f32>(p)) store<f32>(p, <f32>d);
    }
  }
}

/** `marked`: a byte a cell, rows `nx` apart; `columns`: f64 a cell of the window; `from`, `f`: f64, `vertex`: i32, each a window's width and one. */
export function gridDistances(nx: i32, marked: usize, i0: i32, j0: i32, wx: i32, wy: i32, out: usize, columns: usize, vertex: usize, from: usize, f: usize): void {
  const far: f64 = 1e18;
  // down, then up, a row at a time
  for (let j = 0; j < wy; j++) {
    const row = f8(columns, j * wx);
    const marks = marked + <usize>((j0 + j) * nx + i0);
    for (let i = 0; i < wx; i++) {
      const before = j == 0 ? 1e9 : load<f64>(f8(row, i - wx));
      store<f64>(f8(row, i), load<u8>(marks + <usize>i) != 0 ? 0.0 : before + 1);
    }
  }
  for (let j = wy - 2; j >= 0; j--) {
    const row = f8(columns, j * wx);
    for (let i = 0; i < wx; i++) {
      const p = f8(row, i);
      const up = load<f64>(f8(row, i + wx)) + 1;
      if (up < load<f64>(p)) store<f64>(p, up);
    }
  }
  for (let j = 0; j < wy; j++) {
    const row = f8(columns, j * wx);
    const to = f4(out, j * wx);
    let k = -1;
    for (let i = 0; i < wx; i++) {
      const c = load<f64>(f8(row, i));
      if (c >= 1e9) continue;
      const fi = c * c;
      store<f64>(f8(f, i), fi);
      let s = -far;
      while (k >= 0) {
        const v = load<i32>(f4(vertex, k));
        s = (fi + <f64>(i * i) - load<f64>(f8(f, v)) - <f64>(v * v)) / <f64>(2 * (i - v));
        if (s > load<f64>(f8(from, k))) break;
        k--;
      }
      if (k < 0) s = -far;
      k++;
      store<i32>(f4(vertex, k), i);
      store<f64>(f8(from, k), s);
    }
    if (k < 0) {
      for (let i = 0; i < wx; i++) store<f32>(f4(to, i), 1e9);
      continue;
    }
    store<f64>(f8(from, k + 1), far);
    let v = 0;
    for (let i = 0; i < wx; i++) {
      while (load<f64>(f8(from, v + 1)) < <f64>i) v++;
      const at = load<i32>(f4(vertex, v));
      const d = <f64>(i - at);
      store<f32>(f4(to, i), <f32>Math.sqrt(d * d + load<f64>(f8(f, at))));
    }
  }
}
