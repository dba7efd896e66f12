import { numbersOf } from "./affine.ts";
import { LIMIT, MAX_CURVES, NUMBER, refuse } from "./rules.ts";
import type { Piece, Stroke } from "./types.ts";

/** Has the piece no length at all? */
function isNothing(p: Piece): boolean {
  switch (p.kind) {
    case "line":
      return p.a.x === p.b.x && p.a.y === p.b.y;
    case "oval":
      return p.sweep === 0 || (p.u.x === 0 && p.u.y === 0 && p.v.x === 0 && p.v.y === 0);
    case "cubic":
      return [p.p1, p.p2, p.p3].every((q) => q.x === p.p0.x && q.y === p.p0.y);
    case "spline":
      return p.points.every((q) => q.x === p.points[0].x && q.y === p.points[0].y);
  }
}

/** Collects the strokes of a drawing within the limits, and counts what is left out. */
export class Sink {
  readonly strokes: Stroke[] = [];
  /** Curves without length. */
  nothings = 0;
  /** Kinds that were left out, with their count. */
  readonly skipped: Map<string, number> = new Map();

  skip(kind: string): void {
    this.skipped.set(kind, (this.skipped.get(kind) ?? 0) + 1);
  }

  /** A figure of pieces each of which starts where the one before ends; `closed` when the last ends at the first. */
  figure(pieces: readonly Piece[], closed: boolean, layers: readonly string[], from: string): void {
    const kept: Piece[] = [];
    for (const p of pieces) {
      for (const v of numbersOf(p)) {
        if (!Number.isFinite(v))
          refuse(NUMBER, from, "A number here is not finite, or grows beyond all measure.", "Draw this curve again.");
      }
      if (isNothing(p)) this.nothings++;
      else kept.push(p);
    }
    const first = this.strokes.length;
    if (first + kept.length > MAX_CURVES) {
      refuse(LIMIT, from, `The drawing has more than ${MAX_CURVES} curves.`, "Save the outline alone, as curves instead of tiny pieces.", {
        limit: MAX_CURVES,
        unit: "curves",
      });
    }
    kept.forEach((piece, k) => {
      this.strokes.push({ piece, layers, from, follows: k > 0, closes: closed && k === kept.length - 1 });
    });
  }
}
