import type { PathStep } from "./types.ts";

/**
 * Cubics that stand for an arc: pieces of at most a sixteenth of a turn, handles 4/3 tan(piece/4) long. The radial error of such
 * a piece is below 1e-7 of the radius.
 */
export function arcCubics(s: Extract<PathStep, { to: "arc" }>): (readonly [number, number, number, number, number, number])[] {
  const n = Math.max(1, Math.ceil(Math.abs(s.sweep) / (Math.PI / 8)));
  const step = s.sweep / n;
  const k = (4 / 3) * Math.tan(step / 4) * s.r;
  return Array.from({ length: n }, (_, i) => {
    const a = s.start + i * step;
    const b = a + step;
    const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
    const [ex, ey] = i === n - 1 ? [s.x, s.y] : [s.cx + s.r * cb, s.cy + s.r * sb];
    return [s.cx + s.r * ca - k * sa, s.cy + s.r * sa + k * ca, ex + k * sb, ey - k * cb, ex, ey] as const;
  });
}
