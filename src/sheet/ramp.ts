/*
 * Scales of colour for quantities: lightness falls evenly from paper to ink in CIELAB, so that a grey print and colour-blind eyes read the
 * same order; hue only tells the two quantities apart. Own construction after CIE 15:2004 (L*a*b*, D65) and IEC 61966-2-1 (sRGB).
 */

export type Rgb = readonly [number, number, number];

/** Lightness at the two ends, and the hue (degrees in the a*b* plane) with its most chroma, reached in the middle. */
interface Ramp {
  readonly from: number;
  readonly to: number;
  readonly hueFrom: number;
  readonly hueTo: number;
  readonly chroma: number;
}

/** Left over: straw to green-blue to night blue. Below target: straw to rust to dark brown-red. */
export const RAMPS: Readonly<Record<"above" | "below", Ramp>> = {
  above: { from: 95, to: 17, hueFrom: 95, hueTo: 280, chroma: 36 },
  below: { from: 95, to: 17, hueFrom: 95, hueTo: 25, chroma: 52 },
};

const WHITE: Rgb = [0.95047, 1, 1.08883];

/** sRGB bytes of a colour in L*a*b* (D65), clipped to the gamut. */
export function labToRgb(l: number, a: number, b: number): Rgb {
  const fy = (l + 16) / 116;
  const inv = (f: number): number => (f > 6 / 29 ? f ** 3 : 3 * (6 / 29) ** 2 * (f - 4 / 29));
  const x = WHITE[0] * inv(fy + a / 500);
  const y = WHITE[1] * inv(fy);
  const z = WHITE[2] * inv(fy - b / 200);
  return [
    byte(3.2406 * x - 1.5372 * y - 0.4986 * z),
    byte(-0.9689 * x + 1.8758 * y + 0.0415 * z),
    byte(0.0557 * x - 0.204 * y + 1.057 * z),
  ];
}

function byte(linear: number): number {
  const v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
  return Math.max(0, Math.min(255, Math.round(v * 255)));
}

/** L* of sRGB bytes: what a grey print keeps. */
export function lightnessOf([r, g, b]: Rgb): number {
  const lin = (v: number): number => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
  const y = 0.2126 * lin(r) + 0.7152 * lin(g) + 0.0722 * lin(b);
  return y > (6 / 29) ** 3 ? 116 * Math.cbrt(y) - 16 : y * (29 / 3) ** 3;
}

/** Colour at t (0 least, 1 most). */
export function rampColour(name: "above" | "below", t: number): Rgb {
  const r = RAMPS[name];
  const u = Math.max(0, Math.min(1, t));
  const l = r.from + (r.to - r.from) * u;
  const c = r.chroma * Math.sin(Math.PI * Math.min(1, 0.12 + 0.76 * u));
  const h = ((r.hueFrom + (r.hueTo - r.hueFrom) * u) * Math.PI) / 180;
  return labToRgb(l, c * Math.cos(h), c * Math.sin(h));
}

/** 256 colours, flat. */
export function rampTable(name: "above" | "below"): Uint8Array {
  const out = new Uint8Array(256 * 3);
  for (let i = 0; i < 256; i++) out.set(rampColour(name, i / 255), i * 3);
  return out;
}

export const hexOf = ([r, g, b]: Rgb): `#${string}` => `#${[r, g, b].map((v) => v.toString(16).padStart(2, "0")).join("")}`;
