// How much wood a cutter's rim meets; mirrors EngagementField of src/kernel/engagement.ts, with the same arithmetic, cell by cell.

const SKIN: f64 = 0.05;
const GRAZE: f64 = 0.004;
const SAME: f64 = 0.002;
const FRONT: i32 = 48;
const FAR: f64 = 1e9;
const FAR4: f32 = 1e9;
const TINY: f32 = 1e-30;
const OVER: f64 = SKIN + 1e-5;
const TILE: i32 = 16;
const TILE_BITS: i32 = 4;

// of a cell, 16 bytes: height, inner, edgeHeight, outer; those of before lie the same way, so far further
const INNER: usize = 4, EDGE: usize = 8, OUTER: usize = 12;

let CELLS: usize = 0, BEFORE: usize = 0, LOOKS: usize = 0, MOST: usize = 0, VAIN: usize = 0, COS: usize = 0, SIN: usize = 0, OUT: usize = 0;
let NX: i32 = 0, NY: i32 = 0, TILES_X: i32 = 0;
let X0: f64 = 0, Y0: f64 = 0, CELL: f64 = 0, BAND: f64 = 0;
let X_MIN: f64 = 0, Y_MIN: f64 = 0, X_MAX: f64 = 0, Y_MAX: f64 = 0;
let TURN: i32 = 0;

// @ts-ignore: decorator
@inline function cellAt(p: i32): usize {
  return CELLS + (<usize>p << 4);
}

// @ts-ignore: decorator
@inline function f4(at: usize, off: usize): f64 {
  return <f64>load<f32>(at + off);
}

/** `out`: angle and load of the last measurement; `numbers`: x0 y0 cell band, then the wood's xMin yMin xMax yMax. */
export function engageField(cells: usize, before: usize, looks: usize, most: usize, vain: usize, cos: usize, sin: usize, out: usize, numbers: usize, nx: i32, ny: i32, tilesX: i32): void {
  CELLS = cells;
  BEFORE = before - cells;
  LOOKS = looks;
  MOST = most;
  VAIN = vain;
  COS = cos;
  SIN = sin;
  OUT = out;
  NX = nx;
  NY = ny;
  TILES_X = tilesX;
  X0 = load<f64>(numbers);
  Y0 = load<f64>(numbers, 8);
  CELL = load<f64>(numbers, 16);
  BAND = load<f64>(numbers, 24);
  X_MIN = load<f64>(numbers, 32);
  Y_MIN = load<f64>(numbers, 40);
  X_MAX = load<f64>(numbers, 48);
  Y_MAX = load<f64>(numbers, 56);
}

export function engageBegin(turn: i32): void {
  TURN = turn;
}

/** A tile of wood of this height, untouched; its memory of before is still as it was made. */
export function engageTile(tile: i32, top: f32): void {
  const i0 = (tile % TILES_X) * TILE;
  const j0 = (tile / TILES_X) * TILE;
  const i1 = min(NX, i0 + TILE);
  const j1 = min(NY, j0 + TILE);
  let now = f32x4.splat(0);
  now = f32x4.replace_lane(now, 0, top);
  now = f32x4.replace_lane(now, 2, FAR4);
  now = f32x4.replace_lane(now, 3, <f32>BAND);
  for (let j = j0; j < j1; j++) {
    const end = cellAt(j * NX + i1);
    for (let at = cellAt(j * NX + i0); at < end; at += 16) v128.store(at, now);
  }
}

/** A cell of it. */
export function engageCell(p: i32, top: f32): void {
  const at = cellAt(p);
  store<f32>(at, top);
  store<f32>(at, 0, INNER);
  store<f32>(at, FAR4, EDGE);
  store<f32>(at, <f32>BAND, OUTER);
  v128.store(at + BEFORE, f32x4.splat(0));
}

function distanceAt(at: usize, z: f64): f64 {
  let d = BAND;
  if (f4(at, 0) <= z) d = f4(at, INNER);
  else if (f4(at, EDGE) <= z) d = f4(at, OUTER);
  const was = at + BEFORE;
  const h = f4(was, 0), e = f4(was, EDGE);
  if (h != 0 && h <= z) d = min(d, f4(was, INNER));
  else if (e != 0 && e <= z) d = min(d, f4(was, OUTER));
  return d;
}

/** Adds what the half circle ahead of (ux, uy) meets to the angle and the load in `out`; `off` intervals at either end are left out. */
export function engageArc(x: f64, y: f64, z: f64, ux: f64, uy: f64, r: f64, depth: f64, off: i32): void {
  const cell = CELL, x0 = X0, y0 = Y0, band = BAND;
  const xMin = X_MIN, yMin = Y_MIN, xMax = X_MAX, yMax = Y_MAX;
  const nx = NX, ny = NY, COSS = COS, SINS = SIN;
  const zs = z + SKIN;
  const perCell = 1 / cell;
  const next = <usize>nx << 4;
  let before = -band;
  let tall: f64 = 0;
  let angle: f64 = 0;
  let sum: f64 = 0;
  for (let k = off; k <= FRONT - off; k++) {
    const cos = load<f64>(COSS + (<usize>k << 3)), sin = load<f64>(SINS + (<usize>k << 3));
    const px = x + r * (cos * ux - sin * uy);
    const py = y + r * (sin * ux + cos * uy);
    let m = px - xMin;
    if (xMax - px < m) m = xMax - px;
    if (py - yMin < m) m = py - yMin;
    if (yMax - py < m) m = yMax - py;
    let h: f64 = 0;
    if (m > -band) {
      const fx = (px - x0) * perCell;
      const fy = (py - y0) * perCell;
      const gx = Math.floor(fx);
      const gy = Math.floor(fy);
      if (gx >= 0 && gy >= 0 && gx < <f64>(nx - 1) && gy < <f64>(ny - 1)) {
        const p = cellAt(<i32>gy * nx + <i32>gx);
        const q = p + next;
        const ha = f4(p, 0);
        const hb = f4(p, 16);
        const hc = f4(q, 0);
        const hd = f4(q, 16);
        const highest = max(max(ha, hb), max(hc, hd));
        h = highest - z;
        if (h <= SKIN) m = -band;
        else {
          const a = ha <= zs ? f4(p, INNER) : f4(p, EDGE) <= zs ? f4(p, OUTER) : band;
          const b = hb <= zs ? f4(p, 16 + INNER) : f4(p, 16 + EDGE) <= zs ? f4(p, 16 + OUTER) : band;
          const c = hc <= zs ? f4(q, INNER) : f4(q, EDGE) <= zs ? f4(q, OUTER) : band;
          const d = hd <= zs ? f4(q, 16 + INNER) : f4(q, 16 + EDGE) <= zs ? f4(q, 16 + OUTER) : band;
          const tx = fx - gx;
          const ty = fy - gy;
          const v = (a + (b - a) * tx) * (1 - ty) + (c + (d - c) * tx) * ty;
          if (v < m) m = v;
          let level = m > 0 ? min(min(ha > zs ? ha : FAR, hb > zs ? hb : FAR), min(hc > zs ? hc : FAR, hd > zs ? hd : FAR)) : FAR;
          while (level < h + z - SKIN) {
            const zl = level + SKIN;
            const e = distanceAt(p, zl);
            const f = distanceAt(p + 16, zl);
            const g = distanceAt(q, zl);
            const w = distanceAt(q + 16, zl);
            if ((e + (f - e) * tx) * (1 - ty) + (g + (w - g) * tx) * ty <= GRAZE) {
              h = level - z;
              break;
            }
            level = min(min(ha > zl ? ha : FAR, hb > zl ? hb : FAR), min(hc > zl ? hc : FAR, hd > zl ? hd : FAR));
          }
        }
      } else m = -band;
    }
    m -= GRAZE;
    if (k > off) {
      const share = m > 0 ? (before > 0 ? 1.0 : m / (m - before)) : before > 0 ? before / (before - m) : 0.0;
      if (share > 0) {
        angle += share;
        sum += share * (m > 0 ? (before > 0 ? (h + tall) / 2 : h) : tall);
      }
    }
    before = m;
    tall = h;
  }
  store<f64>(OUT, load<f64>(OUT) + (angle * Math.PI) / <f64>(FRONT - 2 * off));
  store<f64>(OUT, load<f64>(OUT, 8) + (sum * Math.PI) / <f64>(FRONT - 2 * off) / depth, 8);
}

/** Finds out from which height on sweeps change nothing in a tile. */
function lookUp(tile: i32): void {
  const j0 = (tile / TILES_X) * TILE;
  const i0 = (tile % TILES_X) * TILE;
  const j1 = min(NY, j0 + TILE);
  const i1 = min(NX, i0 + TILE);
  let most = -FAR4;
  const deep = <f32>-BAND;
  for (let j = j0; j < j1; j++) {
    const end = cellAt(j * NX + i1);
    for (let p = cellAt(j * NX + i0); p < end; p += 16) {
      const h = load<f32>(p);
      most = max(most, load<f32>(p, INNER) <= deep ? h : <f32>(<f64>h + OVER));
    }
  }
  store<f32>(MOST + (<usize>tile << 2), most);
  store<u16>(VAIN + (<usize>tile << 1), 0);
}

/** The sweep of a disc of radius r from (ax, ay, az) to (bx, by, bz); `joined`: the last one ended at its beginning, with the same radius. */
export function engageStamp(ax: f64, ay: f64, az: f64, bx: f64, by: f64, bz: f64, r: f64, joined: i32): void {
  const cell = CELL, x0 = X0, y0 = Y0, band = BAND, nx = NX, ny = NY, tilesX = TILES_X, turn = TURN;
  const dx = bx - ax;
  const dy = by - ay;
  const dz = bz - az;
  const l2 = dx * dx + dy * dy;
  const inv = l2 > 0 ? 1 / l2 : 0.0;
  const len = Math.sqrt(l2);
  const wide = r + band;
  const fresh = joined == 0 || dz < -1e-9;
  const r2 = r * r;
  const wide2 = wide * wide;
  const deep = r - band;
  const deep2 = deep > 0 ? deep * deep : 0.0;
  const j0 = max(0, <i32>Math.ceil((min(ay, by) - wide - y0) / cell));
  const j1 = min(ny - 1, <i32>Math.floor((max(ay, by) + wide - y0) / cell));
  const zPlunge = l2 > 0 ? az : min(az, bz);
  const least = <f64><f32>-band;
  const low = <f32>(dz == 0 ? az : min(az, bz) - 1e-6);
  for (let j = j0; j <= j1; j++) {
    const y = y0 + <f64>j * cell - ay;
    let lo: f64 = FAR;
    let hi: f64 = -FAR;
    const wa = wide2 - y * y;
    if (wa > 0) {
      hi = Math.sqrt(wa);
      lo = -hi;
    }
    const wb = wide2 - (y - dy) * (y - dy);
    if (wb > 0) {
      const w = Math.sqrt(wb);
      if (dx + w > hi) hi = dx + w;
      if (dx - w < lo) lo = dx - w;
    }
    if (len > 0 && Math.abs(dy) > 1e-12) {
      const c = (y * dx) / dy;
      const s = (wide * len) / Math.abs(dy);
      const t0 = ((c - s) * dx + y * dy) * inv;
      const t1 = ((c + s) * dx + y * dy) * inv;
      if (t0 > 0 && t0 < 1 && c - s < lo) lo = c - s;
      if (t1 > 0 && t1 < 1 && c + s > hi) hi = c + s;
    }
    if (!fresh && Math.abs(dx) > 1e-9) {
      const start = (-y * dy) / dx;
      if (dx > 0) lo = max(lo, start - cell);
      else hi = min(hi, start + cell);
    }
    if (lo > hi) continue;
    let i = <i32>max(0.0, Math.ceil((ax + lo - x0) / cell));
    const last = <i32>min(<f64>(nx - 1), Math.floor((ax + hi - x0) / cell));
    let skip = nx;
    let skipTo = 0;
    if (!fresh && deep2 > y * y) {
      const w = Math.sqrt(deep2 - y * y);
      skip = <i32>Math.ceil((ax - w - x0) / cell);
      skipTo = <i32>Math.floor((ax + w - x0) / cell) + 1;
    }
    const row = j * nx;
    const tiles = (j >> TILE_BITS) * tilesX;
    while (i <= last) {
      if (i >= skip && i < skipTo) {
        i = skipTo;
        continue;
      }
      const tile = tiles + (i >> TILE_BITS);
      const next = ((i >> TILE_BITS) + 1) << TILE_BITS;
      if (load<i32>(LOOKS + (<usize>tile << 2)) < turn || low >= load<f32>(MOST + (<usize>tile << 2))) {
        i = next;
        continue;
      }
      const end = min(min(last, next - 1), i < skip ? skip - 1 : last);
      let vain = 0;
      for (; i <= end; i++) {
        const x = x0 + <f64>i * cell - ax;
        let t = (x * dx + y * dy) * inv;
        if (t < 0) {
          if (!fresh) continue;
          t = 0;
        } else if (t > 1) t = 1;
        const ex = x - t * dx;
        const ey = y - t * dy;
        const d2 = ex * ex + ey * ey;
        if (d2 >= wide2) continue;
        const z = zPlunge + t * dz;
        const p = cellAt(row + i);
        const h = f4(p, 0);
        if (z > h + SKIN) {
          vain++;
          continue;
        }
        if (z >= h && f4(p, INNER) <= least) {
          vain++;
          continue;
        }
        if (d2 <= r2) {
          const d = d2 < deep2 ? -band : Math.sqrt(d2) - r;
          if (z < h) {
            const inner = f4(p, INNER);
            if (h - z >= SKIN && (inner <= f4(p + BEFORE, INNER) + SAME || load<f32>(p + BEFORE) == 0)) {
              store<f32>(p + BEFORE, h == 0 ? TINY : <f32>h);
              store<f32>(p + BEFORE, <f32>inner, INNER);
            }
            store<f32>(p, <f32>(h - z < SKIN && inner < d ? inner : d), INNER);
            store<f32>(p, <f32>z);
          } else if (d < f4(p, INNER)) store<f32>(p, <f32>d, INNER);
        } else if (z < h - SKIN) {
          const d = Math.sqrt(d2) - r;
          const e = f4(p, EDGE);
          if (z < e - SKIN) {
            const outer = f4(p, OUTER);
            if (load<f32>(p + BEFORE, EDGE) == 0 || outer <= f4(p + BEFORE, OUTER) + SAME) {
              store<f32>(p + BEFORE, e == 0 ? TINY : <f32>e, EDGE);
              store<f32>(p + BEFORE, <f32>outer, OUTER);
            }
            store<f32>(p, <f32>z, EDGE);
            store<f32>(p, <f32>d, OUTER);
          } else if (z <= e + SKIN) {
            if (z < e) store<f32>(p, <f32>z, EDGE);
            if (d < f4(p, OUTER)) store<f32>(p, <f32>d, OUTER);
          }
        }
      }
      if (vain > 0) {
        const at = VAIN + (<usize>tile << 1);
        const n = <i32>load<u16>(at) + vain;
        store<u16>(at, <u16>n);
        if ((n & 0xffff) > TILE * TILE) lookUp(tile);
      }
    }
  }
}
