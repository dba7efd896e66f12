import { circlePolygon, type Polygon, reversedPolygon } from "../../src/kernel/polygon.ts";

/*
 * Twelve regions to clear. `area`: what is to go; `walls`: its edge must not be crossed. On an open region the disc may leave
 * over the edges that are no walls, so its centre has a region of its own.
 */
export interface Shape {
  readonly name: string;
  /** What is to be cleared: outer rings counter-clockwise, holes clockwise. */
  readonly area: readonly Polygon[];
  /** Where the disc may cut: the area, and the air beside an open edge. */
  readonly room: readonly Polygon[];
}

const ring = (...xy: number[]): Polygon => Float64Array.from(xy);
const box = (x0: number, y0: number, x1: number, y1: number): Polygon => ring(x0, y0, x1, y0, x1, y1, x0, y1);
const closed = (name: string, ...area: Polygon[]): Shape => ({ name, area, room: area });

/** Small seeded generator (mulberry32), so that the random regions are the same every time. */
function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function polar(n: number, r: (a: number) => number): Polygon {
  const out = new Float64Array(2 * n);
  for (let k = 0; k < n; k++) {
    const a = (2 * Math.PI * k) / n;
    out[2 * k] = 70 + r(a) * Math.cos(a);
    out[2 * k + 1] = 50 + r(a) * Math.sin(a);
  }
  return out;
}

function spiral(): Polygon {
  // a lane 22 mm wide, one turn and a half
  const inner: number[] = [];
  const outer: number[] = [];
  const n = 160;
  for (let k = 0; k <= n; k++) {
    const a = (3.2 * Math.PI * k) / n;
    const r = 18 + 4.6 * a;
    inner.push(r * Math.cos(a), r * Math.sin(a));
    outer.push((r + 22) * Math.cos(a), (r + 22) * Math.sin(a));
  }
  const out = [...outer];
  for (let k = inner.length - 2; k >= 0; k -= 2) out.push(inner[k], inner[k + 1]);
  return Float64Array.from(out);
}

function comb(): Polygon {
  const out: number[] = [0, 0, 150, 0];
  for (let k = 5; k >= 0; k--) {
    const x = k * 26;
    out.push(x + 20, 70, x, 70);
    if (k > 0) out.push(x, 24, x - 6, 24);
  }
  return Float64Array.from(out);
}

export function shapes(): Shape[] {
  const smooth = seeded(7);
  const phase = Array.from({ length: 5 }, () => smooth() * 2 * Math.PI);
  const size = Array.from({ length: 5 }, () => 3 + 5 * smooth());
  const corner = seeded(11);
  const radii = Array.from({ length: 11 }, () => 24 + 24 * corner());
  return [
    { name: "open strip", area: [box(0, 0, 200, 60)], room: [box(-14, -14, 214, 74)] },
    closed("closed pocket", box(0, 0, 120, 60)),
    closed("island", box(0, 0, 120, 80), reversedPolygon(circlePolygon(62, 41, 14, 0.002))),
    closed("dumbbell", ring(0, 0, 46, 0, 46, 20, 94, 20, 94, 0, 140, 0, 140, 56, 94, 56, 94, 36, 46, 36, 46, 56, 0, 56)),
    closed("spiral", spiral()),
    closed("needle", ring(0, 18, 160, 29, 160, 31, 0, 42)),
    closed("U", ring(0, 0, 110, 0, 110, 80, 84, 80, 84, 26, 26, 26, 26, 80, 0, 80)),
    closed("L", ring(0, 0, 120, 0, 120, 34, 34, 34, 34, 90, 0, 90)),
    closed("ring", circlePolygon(60, 60, 52, 0.002), reversedPolygon(circlePolygon(60, 60, 26, 0.002))),
    closed("comb", comb()),
    closed(
      "random smooth",
      polar(400, (a) => 38 + size.reduce((s, v, k) => s + v * 0.6 * Math.cos((k + 1) * a + phase[k]), 0)),
    ),
    closed(
      "random polygon",
      polar(11, (a) => radii[Math.round((a / (2 * Math.PI)) * 11) % 11]),
    ),
  ];
}
