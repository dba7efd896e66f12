import type { Contour } from "../../kernel/curve.ts";
import { textWidth } from "../draw/metrics.ts";
import type { DimensionItem, HatchItem, Ink, Item, LineKind, PathStep, XY } from "../draw/types.ts";
import { contourPath, type View } from "../draw/view.ts";

type Options = { readonly ink?: Ink; readonly layer?: string };

/** Collects the items of a drawing; coordinates are millimetres of the page. */
export class Pen {
  readonly items: Item[] = [];

  line(line: LineKind, a: XY, b: XY, o: Options = {}): void {
    this.items.push({ kind: "line", line, a, b, ...o });
  }

  polyline(line: LineKind | "none", points: readonly XY[], o: Options & { readonly closed?: boolean; readonly fill?: Ink } = {}): void {
    const { closed = false, ...rest } = o;
    this.items.push({ kind: "polyline", line, points, closed, ...rest });
  }

  rect(line: LineKind | "none", a: XY, b: XY, o: Options & { readonly fill?: Ink } = {}): void {
    this.polyline(line, [a, [b[0], a[1]], b, [a[0], b[1]]], { closed: true, ...o });
  }

  path(line: LineKind | "none", steps: readonly PathStep[], o: Options & { readonly fill?: Ink } = {}): void {
    this.items.push({ kind: "path", line, steps, ...o });
  }

  contour(line: LineKind, view: View, c: Contour, o: Options & { readonly fill?: Ink } = {}): void {
    this.path(line, contourPath(view, c), o);
  }

  circle(line: LineKind | "none", centre: XY, radius: number, o: Options & { readonly fill?: Ink } = {}): void {
    this.items.push({ kind: "circle", line, centre, radius, ...o });
  }

  /** Centre lines of a round thing, reaching `past` beyond it. */
  cross(centre: XY, radius: number, past = 1.2, o: Options = {}): void {
    const r = radius + past;
    this.line("centre", [centre[0] - r, centre[1]], [centre[0] + r, centre[1]], o);
    this.line("centre", [centre[0], centre[1] - r], [centre[0], centre[1] + r], o);
  }

  text(
    at: XY,
    text: string,
    size: number,
    o: Options & {
      readonly anchor?: "start" | "middle" | "end";
      readonly bold?: boolean;
      readonly turn?: number;
      readonly ground?: boolean;
    } = {},
  ): void {
    const { anchor = "start", ...rest } = o;
    this.items.push({ kind: "text", at, text, size, anchor, ...rest });
  }

  dimension(d: Omit<DimensionItem, "kind">): void {
    this.items.push({ kind: "dimension", ...d });
  }

  hatch(h: Omit<HatchItem, "kind">): void {
    this.items.push({ kind: "hatch", ...h });
  }

  /** A note with a line that leads to what it is about: from `tip` to the knee `to`, then along under the text. */
  leader(tip: XY, to: XY, text: string, size: number, o: Options = {}): void {
    const right = to[0] >= tip[0];
    const w = textWidth(text, size);
    this.line("narrow", tip, to, o);
    this.line("narrow", to, [to[0] + (right ? w : -w), to[1]], o);
    this.circle("none", tip, 0.35, { ...o, fill: o.ink ?? "ink" });
    this.text([to[0], to[1] - 0.6], text, size, { anchor: right ? "start" : "end", ...o });
  }
}

/** The same items, shifted. */
export function shifted(items: readonly Item[], dx: number, dy: number): Item[] {
  const p = (q: XY): XY => [q[0] + dx, q[1] + dy];
  const one = (i: Item): Item => {
    switch (i.kind) {
      case "line":
        return { ...i, a: p(i.a), b: p(i.b) };
      case "polyline":
        return { ...i, points: i.points.map(p) };
      case "circle":
        return { ...i, centre: p(i.centre) };
      case "text":
      case "image":
        return { ...i, at: p(i.at) };
      case "dimension":
        return { ...i, a: p(i.a), b: p(i.b), line: i.along === "x" ? i.line + dy : i.along === "y" ? i.line + dx : i.line };
      case "hatch":
        return { ...i, rings: i.rings.map((r) => r.map(p)) };
      case "path":
        return { ...i, steps: i.steps.map((s) => shiftedStep(s, dx, dy)) };
    }
  };
  return items.map(one);
}

function shiftedStep(s: PathStep, dx: number, dy: number): PathStep {
  switch (s.to) {
    case "close":
      return s;
    case "arc":
      return { ...s, cx: s.cx + dx, cy: s.cy + dy, x: s.x + dx, y: s.y + dy };
    case "cubic":
      return { ...s, x1: s.x1 + dx, y1: s.y1 + dy, x2: s.x2 + dx, y2: s.y2 + dy, x: s.x + dx, y: s.y + dy };
    default:
      return { ...s, x: s.x + dx, y: s.y + dy };
  }
}
