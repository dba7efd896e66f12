// The stock in linear memory; mirrors src/kernel/field.ts and pyramid.ts. All pointers are byte addresses.

export let Z: usize = 0;
export let ROWS: usize = 0;
export let BLOCKS: usize = 0;
export let LO: usize = 0;
export let HI: usize = 0;
export let NX: i32 = 0;
/** Rows FIRST..NY - 1 stand; others are never looked at. */
export let FIRST: i32 = 0;
export let NY: i32 = 0;
export let NBX: i32 = 0;
export let CELL: f64 = 0;

/** Rows `first` (a multiple of 16) to ny - 1 stand. Z must be followed by 64 bytes of "nothing": the last block of the last row reads past its end. */
export function field(z: usize, rows: usize, blocks: usize, lo: usize, hi: usize, nx: i32, first: i32, ny: i32, cell: f64): void {
  Z = z;
  ROWS = rows;
  BLOCKS = blocks;
  LO = lo;
  HI = hi;
  NX = nx;
  FIRST = first;
  NY = ny;
  NBX = (nx + 15) >> 4;
  CELL = cell;
}

// @ts-ignore: decorator
@inline export function f4(p: usize, i: i32): usize {
  return p + ((<usize>i) << 2);
}

// @ts-ignore: decorator
@inline export function f8(p: usize, i: i32): usize {
  return p + ((<usize>i) << 3);
}

// @ts-ignore: decorator
@inline export function hmax(m: v128): f32 {
  m = f32x4.pmax(m, i8x16.shuffle(m, m, 8, 9, 10, 11, 12, 13, 14, 15, 0, 1, 2, 3, 4, 5, 6, 7));
  m = f32x4.pmax(m, i8x16.shuffle(m, m, 4, 5, 6, 7, 0, 1, 2, 3, 12, 13, 14, 15, 8, 9, 10, 11));
  return f32x4.extract_lane(m, 0);
}

/** Sum of the four lanes. */
// @ts-ignore: decorator
@inline export function sum4(v: v128): f64 {
  return (<f64>f32x4.extract_lane(v, 0) + <f64>f32x4.extract_lane(v, 1)) + (<f64>f32x4.extract_lane(v, 2) + <f64>f32x4.extract_lane(v, 3));
}

/** Maximum of the 16 cells from p; cells from the row's end on count too (a bound, not a value). */
// @ts-ignore: decorator
@inline export function max16(p: usize): f32 {
  return hmax(f32x4.pmax(f32x4.pmax(v128.load(p), v128.load(p, 16)), f32x4.pmax(v128.load(p, 32), v128.load(p, 48))));
}

/** Maximum of row j's cells in block column bi, exactly. */
export function rowMax(j: i32, bi: i32): f32 {
  const p = f4(Z, j * NX + bi * 16);
  const n = NX - bi * 16;
  if (n >= 16) return max16(p);
  let m = load<f32>(p);
  for (let i = 1; i < n; i++) m = max(m, load<f32>(f4(p, i)));
  return m;
}

export function renewBlock(bi: i32, bj: i32): void {
  const end = min(NY, bj * 16 + 16);
  let m = load<f32>(f4(ROWS, bj * 16 * NBX + bi));
  for (let j = bj * 16 + 1; j < end; j++) m = max(m, load<f32>(f4(ROWS, j * NBX + bi)));
  store<f32>(f4(BLOCKS, bj * NBX + bi), m);
}

/** The maxima over cells i0..i1 of rows j0..j1, ends included, anew. */
export function maxima(i0: i32, j0: i32, i1: i32, j1: i32): void {
  const b0 = i0 >> 4, b1 = i1 >> 4;
  for (let j = j0; j <= j1; j++) for (let bi = b0; bi <= b1; bi++) store<f32>(f4(ROWS, j * NBX + bi), rowMax(j, bi));
  for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) for (let bi = b0; bi <= b1; bi++) renewBlock(bi, bj);
}

/** Every cell that stands, and every maximum, at one height. */
export function level(height: f32): void {
  const v = f32x4.splat(height);
  for (let p = f4(Z, FIRST * NX), end = f4(Z, NX * NY); p < end; p += 16) v128.store(p, v);
  for (let p = f4(ROWS, FIRST * NBX), end = f4(ROWS, NY * NBX); p < end; p += 16) v128.store(p, v);
  for (let p = f4(BLOCKS, (FIRST >> 4) * NBX), end = f4(BLOCKS, ((NY + 15) >> 4) * NBX); p < end; p += 16) v128.store(p, v);
}
