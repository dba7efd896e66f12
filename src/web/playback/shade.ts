/*
 * Heights as a shaded picture: a matt surface under a light from the upper left, darker where it lies deeper. What is cut through is
 * left transparent.
 */

export type Rgb = readonly [number, number, number];

export interface Heights {
  readonly z: Float32Array;
  readonly nx: number;
  readonly ny: number;
  readonly cell: number;
}

export interface Tone {
  /** Colours of the lowest and of the highest wood in full light. */
  readonly low: Rgb;
  readonly high: Rgb;
}

/** Whether the picture's columns and rows run to the right and upward on the screen (1) or the other way (-1). */
export type Light = readonly [number, number];

/** How much of the light comes from everywhere. */
const AMBIENT = 0.45;
/** Towards the light: left, up the picture, towards the eye. */
const LIGHT = [-0.42, 0.5, 0.76] as const;

/** RGBA of heights between `bed` and `top`; row 0 of the picture is row 0 of the heights. */
export function shade(h: Heights, bed: number, top: number, tone: Tone, light: Light, out: Uint8ClampedArray): void {
  const { z, nx, ny, cell } = h;
  const span = Math.max(1e-6, top - bed);
  const [lr, lg, lb] = tone.low;
  const [hr, hg, hb] = [tone.high[0] - lr, tone.high[1] - lg, tone.high[2] - lb];
  const [lx, ly, lz] = [LIGHT[0] * light[0], LIGHT[1] * light[1], LIGHT[2]];
  const inverse = 1 / (2 * cell);
  for (let j = 0; j < ny; j++) {
    const row = j * nx;
    const below = j > 0 ? -nx : 0;
    const above = j < ny - 1 ? nx : 0;
    for (let i = 0; i < nx; i++) {
      const k = row + i;
      const v = z[k];
      const o = 4 * k;
      if (!(v > bed + 0.01)) {
        out[o + 3] = 0;
        continue;
      }
      const dx = (z[i < nx - 1 ? k + 1 : k] - z[i > 0 ? k - 1 : k]) * inverse;
      const dy = (z[k + above] - z[k + below]) * inverse;
      const lit = (lz - lx * dx - ly * dy) / Math.sqrt(1 + dx * dx + dy * dy);
      const shone = AMBIENT + (1 - AMBIENT) * (lit > 0 ? lit / lz : 0);
      const t = (v - bed) / span;
      out[o] = (lr + hr * t) * shone;
      out[o + 1] = (lg + hg * t) * shone;
      out[o + 2] = (lb + hb * t) * shone;
      out[o + 3] = 255;
    }
  }
}
