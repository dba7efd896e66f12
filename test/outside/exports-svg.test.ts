/*
 * SVG files read back by svgpath (arcs by SVG 1.1, F.6.5) and measured against the exact neck; and the sheets that a template is cut into.
 */
import svgpath from "svgpath";
import { describe, expect, test } from "vitest";
import { closestOnCurve, curveBounds, curveLength, pointOn } from "../../src/kernel/contour.ts";
import type { Curve } from "../../src/kernel/curve.ts";
import { plainItems } from "../../src/sheet/draw/plain.ts";
import { framed } from "../../src/sheet/drawings/common.ts";
import { templatesOf } from "../../src/sheet/exports/index.ts";
import { tiledTemplates } from "../../src/sheet/exports/templates.ts";
import { chainsOf, OVERLAP, tileDrawing } from "../../src/sheet/exports/tiles.ts";
import { bothWays, caseOf, densely, NAMES, neckOf, orderBytes, type Piece, TEMPLATES, type XY } from "./exports.ts";

/** Pieces of SVG path data, read by svgpath; arcs in centre form by SVG 1.1, F.6.5 (circles only). Cubics by 400 chords (within 0.0003 mm on a neck). */
function svgPieces(d: string): Piece[] {
  const out: Piece[] = [];
  let start: XY = [0, 0];
  svgpath(d)
    .abs()
    .iterate((s, _i, x, y) => {
      const at: XY = [x, y];
      const n = s.slice(1) as number[];
      if (s[0] === "M") start = [n[0], n[1]];
      else if (s[0] === "L") out.push({ kind: "line", a: at, b: [n[0], n[1]] });
      else if (s[0] === "Z") out.push({ kind: "line", a: at, b: start });
      else if (s[0] === "C") {
        let a = at;
        for (let k = 1; k <= 400; k++) {
          const [t, u] = [k / 400, 1 - k / 400];
          const b = [0, 1].map(
            (i) => u ** 3 * at[i] + 3 * u * u * t * n[i] + 3 * u * t * t * n[2 + i] + t ** 3 * n[4 + i],
          ) as unknown as XY;
          out.push({ kind: "line", a, b });
          a = b;
        }
      } else if (s[0] === "A") out.push(arcOf(at, n));
      else throw new Error(`path command ${s[0]}`);
    });
  return out;
}

function arcOf(a: XY, [r0, , , large, sweep, bx, by]: number[]): Piece {
  const [hx, hy] = [(a[0] - bx) / 2, (a[1] - by) / 2];
  const q = hx * hx + hy * hy;
  const r = Math.max(r0, Math.sqrt(q));
  const f = (large === sweep ? -1 : 1) * Math.sqrt(Math.max(0, r * r - q) / q);
  const c: XY = [(a[0] + bx) / 2 + f * hy, (a[1] + by) / 2 - f * hx];
  const from = Math.atan2(a[1] - c[1], a[0] - c[0]);
  let turn = Math.atan2(by - c[1], bx - c[0]) - from;
  if (sweep && turn < 0) turn += 2 * Math.PI;
  if (!sweep && turn > 0) turn -= 2 * Math.PI;
  return { kind: "arc", c, r, from, turn };
}

describe.each(NAMES)("SVG of %s", (name) => {
  test("is in millimetres of its own view box, and outline and board are within 0.001 mm of the exact curves, both ways", async () => {
    const { neck, text } = await caseOf(orderBytes(name), ["svg"]);
    for (const t of TEMPLATES) {
      const [, w, h, vw, vh] = /<svg[^>]* width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(text(`-${t}.svg`))!;
      expect([w, h]).toEqual([vw, vh]);
    }
    const origin = framed(templatesOf(neck)[0], { order: name, hash: "0".repeat(64) }).origin!;
    // the outline is drawn first, the board next
    const paths = [...text("-plan.svg").matchAll(/<path[^>]* d="([^"]*)"/g)].slice(0, 2).map((m) => svgPieces(m[1]));
    [neck.outline, neck.board].forEach((contour, k) => {
      const exact = densely(contour.curves, 60).map(([x, y]): XY => [origin[0] + x, origin[1] - y]);
      const near = (q: XY): number =>
        Math.min(...contour.curves.map((c) => closestOnCurve(c, q[0] - origin[0], origin[1] - q[1]).distance));
      expect(bothWays(paths[k], exact, near), contour.name).toBeLessThan(0.001);
    });
  });
});

describe("sheets of a template", () => {
  test.each([
    ["loan-guitar", "A4"],
    ["loan-guitar-seven", "Letter"],
  ] as const)("%s on %s: put together they give the whole, and no more", (name, paper) => {
    for (const { drawing, tiles } of tiledTemplates(neckOf(name), paper)) {
      const whole = plainItems(drawing.items).flatMap((i) =>
        i.kind === "text" || i.kind === "image" || ("fill" in i && i.fill) ? [] : chainsOf(i).flat(),
      );
      const seen = new Set<number>();
      for (const t of tiles) {
        const page = tileDrawing(drawing, t);
        const pieces = plainItems(page.items)
          .filter(
            (i) => i.kind !== "text" && i.kind !== "image" && i.layer !== "register" && i.layer !== "cut-line" && !("fill" in i && i.fill),
          )
          .flatMap((i) => (i.kind === "text" || i.kind === "image" ? [] : chainsOf(i).flat()));
        // exact length of what the window holds, from the whole by midpoints
        let inside = 0;
        whole.forEach((c, k) => {
          const n = 400;
          const step = curveLength(c) / n;
          if (step === 0) return;
          const b = curveBounds(c);
          if (b.xMin > t.x + t.width || b.xMax < t.x || b.yMin > t.y + t.height || b.yMax < t.y) return;
          if (c.kind === "line") {
            inside += lineInside(c, t);
            if (lineInside(c, t) > 0) seen.add(k);
            return;
          }
          for (let m = 0; m < n; m++) {
            const { x, y } = pointOn(c, (m + 0.5) / n);
            if (x >= t.x && x <= t.x + t.width && y >= t.y && y <= t.y + t.height) {
              inside += step;
              seen.add(k);
            }
          }
        });
        const drawn = pieces.reduce((s, c) => s + curveLength(c), 0);
        expect(Math.abs(drawn - inside), `${drawing.id} ${t.name} ${paper}`).toBeLessThan(0.6);
        for (const c of pieces)
          for (const q of densely([c], 1))
            expect(q[0] > -1e-6 && q[0] < t.width + 1e-6 && q[1] > -1e-6 && q[1] < t.height + 1e-6).toBe(true);
      }
      expect(seen.size).toBe(whole.filter((c) => curveLength(c) > 1e-9).length);
    }
  });

  test.each(NAMES)("%s: windows cover, overlap enough, and every register mark stands on both sheets of its joint", (name) => {
    for (const paper of ["A4", "Letter"] as const)
      for (const { drawing, tiles, lies } of tiledTemplates(neckOf(name), paper)) {
        const xs = [...new Set(tiles.map((t) => t.x))].sort((a, b) => a - b);
        const { width, height } = tiles[0];
        const room = paper === "A4" ? [210, 297] : [215.9, 279.4];
        if (lies === "landscape") room.reverse();
        expect(width).toBeLessThanOrEqual(room[0] - 30 + 1e-9);
        expect(height).toBeLessThanOrEqual(room[1] - 50);
        xs.slice(1).forEach((x, k) => {
          expect(xs[k] + width - x).toBeGreaterThanOrEqual(OVERLAP - 1e-9);
        });
        expect(xs.at(-1)! + width).toBeCloseTo(drawing.width, 9);
        const counts = new Map<string, number>();
        for (const t of tiles) for (const m of t.marks) counts.set(m.join(), (counts.get(m.join()) ?? 0) + 1);
        for (const n of counts.values()) expect(n).toBeGreaterThanOrEqual(2);
        if (tiles.length > 1) expect(counts.size).toBeGreaterThanOrEqual(2 * (tiles.length - 1));
      }
  });
});

/** Length of a segment inside a window (Liang and Barsky, 1984). */
function lineInside(c: Extract<Curve, { kind: "line" }>, w: { x: number; y: number; width: number; height: number }): number {
  const [dx, dy] = [c.b.x - c.a.x, c.b.y - c.a.y];
  let [t0, t1] = [0, 1];
  for (const [p, q] of [
    [-dx, c.a.x - w.x],
    [dx, w.x + w.width - c.a.x],
    [-dy, c.a.y - w.y],
    [dy, w.y + w.height - c.a.y],
  ]) {
    if (p === 0) {
      if (q < 0) return 0;
    } else if (p < 0) t0 = Math.max(t0, q / p);
    else t1 = Math.min(t1, q / p);
  }
  return t1 > t0 ? (t1 - t0) * Math.hypot(dx, dy) : 0;
}
