/*
 * Wood as two surfaces over a plan: stations along the neck, and at each the same number of places across. Everything in millimetres of the
 * neck's frame.
 */

export interface Block {
  /** Stations. */
  readonly x: Float32Array;
  /** Places across, station by station: `across` for each. */
  readonly y: Float32Array;
  readonly top: Float32Array;
  /** Not below `top` anywhere: there is no wood. */
  readonly bottom: Float32Array;
  readonly across: number;
}

/** Thinner than this is no wood, mm. */
const THIN = 0.02;

/** Corners (x, y, z) of the triangles that close a block: above, below, and walls where wood ends. Right-handed, outward. */
export function trianglesOf(b: Block): Float32Array {
  const n = b.x.length;
  const m = b.across;
  const out: number[] = [];
  const wood = (i: number, j: number): boolean => {
    if (i < 0 || j < 0 || i >= n - 1 || j >= m - 1) return false;
    for (const k of [i * m + j, (i + 1) * m + j, i * m + j + 1, (i + 1) * m + j + 1]) if (!(b.top[k] - b.bottom[k] > THIN)) return false;
    return true;
  };
  const put = (i: number, j: number, z: Float32Array): void => {
    out.push(b.x[i], b.y[i * m + j], z[i * m + j]);
  };
  const wall = (i: number, j: number, i2: number, j2: number): void => {
    put(i, j, b.top);
    put(i, j, b.bottom);
    put(i2, j2, b.top);
    put(i2, j2, b.top);
    put(i, j, b.bottom);
    put(i2, j2, b.bottom);
  };
  // places across run in the same direction at every station; -1 turns the faces when they fall
  const rising = m > 1 && b.y[m - 1] > b.y[0];
  for (let i = 0; i < n - 1; i++) {
    for (let j = 0; j < m - 1; j++) {
      if (!wood(i, j)) continue;
      const [a, c] = rising ? [j, j + 1] : [j + 1, j];
      put(i, a, b.top);
      put(i + 1, a, b.top);
      put(i + 1, c, b.top);
      put(i, a, b.top);
      put(i + 1, c, b.top);
      put(i, c, b.top);
      put(i, a, b.bottom);
      put(i + 1, c, b.bottom);
      put(i + 1, a, b.bottom);
      put(i, a, b.bottom);
      put(i, c, b.bottom);
      put(i + 1, c, b.bottom);
      const lower = rising ? j - 1 : j + 1;
      const upper = rising ? j + 1 : j - 1;
      if (!wood(i, lower)) wall(i, a, i + 1, a);
      if (!wood(i, upper)) wall(i + 1, c, i, c);
      if (!wood(i - 1, j)) wall(i, c, i, a);
      if (!wood(i + 1, j)) wall(i + 1, a, i + 1, c);
    }
  }
  return Float32Array.from(out);
}

/** Volume inside triangles that close a body, mm3; positive when they look outward. */
export function volumeOf(t: Float32Array): number {
  let six = 0;
  for (let k = 0; k < t.length; k += 9) {
    six +=
      t[k] * (t[k + 4] * t[k + 8] - t[k + 5] * t[k + 7]) +
      t[k + 1] * (t[k + 5] * t[k + 6] - t[k + 3] * t[k + 8]) +
      t[k + 2] * (t[k + 3] * t[k + 7] - t[k + 4] * t[k + 6]);
  }
  return six / 6;
}

/** What a neck says of its surfaces. */
export interface Surfaces {
  readonly places: { readonly tip: number; readonly end: number };
  edges(x: number): readonly [number, number];
  top(x: number, y: number): number;
  back(x: number, y: number): number;
}

/** A neck as a block, its stations `step` apart. */
export function blockOfNeck(neck: Surfaces, step: number, across = 29): Block {
  const { tip, end } = neck.places;
  const n = Math.max(2, Math.ceil((end - tip) / step) + 1);
  const x = Float32Array.from({ length: n }, (_, i) => tip + ((end - tip) * i) / (n - 1));
  const y = new Float32Array(n * across);
  const top = new Float32Array(n * across);
  const bottom = new Float32Array(n * across);
  for (let i = 0; i < n; i++) {
    // ends have no width of their own: look a little inside
    const at = Math.min(end - 1e-3, Math.max(tip + 1e-3, x[i]));
    const [lo, hi] = neck.edges(at);
    for (let j = 0; j < across; j++) {
      // closer at the edges, where the carve is steep
      const u = 0.5 - 0.5 * Math.cos((Math.PI * j) / (across - 1));
      const v = lo + (hi - lo) * u;
      const inside = Math.min(hi - 1e-3, Math.max(lo + 1e-3, v));
      const k = i * across + j;
      y[k] = v;
      top[k] = neck.top(at, inside);
      bottom[k] = neck.back(at, inside);
    }
  }
  return { x, y, top, bottom, across };
}
