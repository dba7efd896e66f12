import { dimensionItems } from "./dimension.ts";
import { hatchLines } from "./hatch.ts";
import { CAP_HEIGHT, textWidth } from "./metrics.ts";
import type { Item, PathStep, PlainItem, XY } from "./types.ts";

/** Breaks dimensions, hatches and grounded text down, in order. */
export function plainItems(items: readonly Item[]): PlainItem[] {
  return items.flatMap((i): PlainItem[] => {
    if (i.kind === "dimension") return dimensionItems(i).flatMap(grounded);
    if (i.kind === "hatch") return hatchLines(i);
    return grounded(i);
  });
}

const grounded = (i: PlainItem): PlainItem[] => (i.kind === "text" && i.ground ? [patchUnder(i), i] : [i]);

/** A patch of paper behind a text. */
function patchUnder(t: Extract<Item, { kind: "text" }>): PlainItem {
  const w = textWidth(t.text, t.size, t.bold);
  const x0 = t.anchor === "start" ? 0 : t.anchor === "middle" ? -w / 2 : -w;
  const pad = 0.15 * t.size;
  const a = ((t.turn ?? 0) * Math.PI) / 180;
  const corner = (x: number, y: number): XY => [t.at[0] + x * Math.cos(a) - y * Math.sin(a), t.at[1] + x * Math.sin(a) + y * Math.cos(a)];
  const [l, r, top, low] = [x0 - pad, x0 + w + pad, -CAP_HEIGHT * t.size - pad, 0.24 * t.size];
  return {
    kind: "polyline",
    line: "none",
    closed: true,
    fill: "paper",
    points: [corner(l, top), corner(r, top), corner(r, low), corner(l, low)],
  };
}

/** Points along an arc step, its end included, chords within `tolerance` of the arc. */
export function arcPoints(s: Extract<PathStep, { to: "arc" }>, tolerance: number): XY[] {
  const step = s.r > tolerance ? 2 * Math.acos(1 - tolerance / s.r) : Math.PI / 4;
  const n = Math.max(1, Math.ceil(Math.abs(s.sweep) / step));
  return Array.from({ length: n }, (_, i): XY => {
    const a = s.start + (s.sweep * (i + 1)) / n;
    return [s.cx + s.r * Math.cos(a), s.cy + s.r * Math.sin(a)];
  });
}

/** ".001" of 1 to ".999" of 999, without trailing zeros; "" of 0. */
const THOUSANDTHS: readonly string[] = Array.from({ length: 1000 }, (_, k) =>
  k === 0 ? "" : `.${`${1000 + k}`.slice(1).replace(/0+$/, "")}`,
);

/** A number as drawings write it: no exponent, no trailing zeros, no minus zero. Whole numbers are written many times faster than others. */
export function num(v: number, decimals = 3): string {
  if (decimals === 3 && Math.abs(v) < 1e6) {
    const r = Math.round(Math.abs(v) * 1000);
    const whole = Math.floor(r / 1000);
    const text = `${whole}${THOUSANDTHS[r - 1000 * whole]}`;
    return v < 0 && r > 0 ? `-${text}` : text;
  }
  const s = v.toFixed(decimals);
  const t = s.includes(".") ? s.replace(/\.?0+$/, "") : s;
  return t === "-0" ? "0" : t;
}
