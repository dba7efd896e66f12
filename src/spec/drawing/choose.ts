import { type Box, curveBounds, endOf, flatten, pointOn, startOf } from "../../kernel/contour.ts";
import type { Curve } from "../../kernel/curve.ts";
import { insidePolygon } from "../../kernel/polygon.ts";
import type { Finding, Mm } from "../../units/index.ts";
import { roughLength } from "./curves.ts";
import { type Chain, closeLoop, type Gap, say } from "./join.ts";
import { HOLES, LEFT_OUT, OPEN, refuse, SEVERAL, tell } from "./rules.ts";

/*
 * Which closed curve is the outline. The largest by its box, when it holds all others and none of the others, open ones included,
 * could be it: a drawing's frame must not become a headstock, nor the ring around a tuner when the outline itself was left open.
 */

const MOST_RINGS = 1000;
/** Another closed curve of at least this share of the largest one's box could be the outline. */
const RIVAL_SHARE = 0.25;
/** An open curve of at least this share of the box could be the outline, left open. */
const OPEN_SHARE = 0.1;
/** Inside a plain rectangle, which is a frame more often than a headstock, anything this long could be the outline. */
const IN_FRAME: Mm = 40;

export interface Ring {
  readonly curves: readonly Curve[];
  readonly gaps: readonly Gap[];
  readonly from: string;
  readonly box: Box;
}

export function boundsOf(curves: readonly Curve[]): Box {
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const c of curves) {
    const b = curveBounds(c);
    xMin = Math.min(xMin, b.xMin);
    yMin = Math.min(yMin, b.yMin);
    xMax = Math.max(xMax, b.xMax);
    yMax = Math.max(yMax, b.yMax);
  }
  return { xMin, yMin, xMax, yMax };
}

const size = (b: Box): number => (b.xMax - b.xMin) * (b.yMax - b.yMin);
const longer = (b: Box): Mm => Math.max(b.xMax - b.xMin, b.yMax - b.yMin);
const holds = (a: Box, b: Box, slack: Mm): boolean =>
  b.xMin >= a.xMin - slack && b.yMin >= a.yMin - slack && b.xMax <= a.xMax + slack && b.yMax <= a.yMax + slack;
const extent = (b: Box): string => `${+(b.xMax - b.xMin).toFixed(2)} x ${+(b.yMax - b.yMin).toFixed(2)} mm`;
const middle = (b: Box): string => say({ x: (b.xMin + b.xMax) / 2, y: (b.yMin + b.yMax) / 2 });

/** The outline first, then the other closed curves; open ones reported or refused. Throws a Refusal. */
export function chooseOutline(chains: readonly Chain[], closeWithin: Mm, findings: Finding[]): readonly Ring[] {
  const open = chains.filter((c) => !c.closed);
  const rings: Ring[] = chains
    .filter((c) => c.closed)
    .map((c) => ({ ...closeLoop(c), from: c.from, box: boundsOf(c.curves) }))
    .sort((a, b) => size(b.box) - size(a.box));
  if (rings.length > MOST_RINGS) {
    refuse(
      SEVERAL,
      "the drawing",
      `The drawing has ${rings.length} closed curves, too many to tell which is the outline.`,
      "Name the outline's layer, or save the outline alone.",
      {
        value: rings.length,
        limit: MOST_RINGS,
        unit: "curves",
      },
    );
  }
  if (rings.length === 0) return refuseOpen(open, closeWithin);
  const [outline, ...others] = rings;
  const framed = isRectangle(outline.curves);
  const leftOut: { chain: Chain; box: Box }[] = [];
  for (const chain of open) {
    const box = boundsOf(chain.curves);
    const share = size(box) / size(outline.box);
    if (!holds(outline.box, box, 1e-3) || share > OPEN_SHARE || (framed && longer(box) >= IN_FRAME)) return refuseOpen(open, closeWithin);
    leftOut.push({ chain, box });
  }
  refuseRivals(outline, others, framed);
  if (leftOut.length > 0) {
    const most = leftOut.reduce((a, b) => (longer(b.box) > longer(a.box) ? b : a));
    findings.push(
      tell(
        LEFT_OUT,
        `${most.chain.from}: ${middle(most.box)}`,
        `${leftOut.length} open curves inside the outline are left out, the largest ${extent(most.box)} about ${middle(most.box)}.`,
        "Check that none of them belongs to the outline.",
        { value: leftOut.length, limit: 0, unit: "curves" },
      ),
    );
  }
  if (others.length > 0) {
    const some = others.slice(0, 6).map((r) => `${extent(r.box)} about ${middle(r.box)}`);
    findings.push(
      tell(
        HOLES,
        middle(others[0].box),
        `${others.length} closed curves inside the outline are left out: ${some.join("; ")}${others.length > 6 ? "; ..." : ""}.`,
        "Nothing: bores and slots come from the order.",
        {
          value: others.length,
          limit: 0,
          unit: "curves",
        },
      ),
    );
  }
  return rings;
}

function refuseRivals(outline: Ring, others: readonly Ring[], framed: boolean): void {
  const no = (r: Ring, why: string): never =>
    refuse(
      SEVERAL,
      `${r.from}: ${middle(r.box)}`,
      `It is not plain which closed curve is the outline: beside the one of ${extent(outline.box)}, the one of ${extent(r.box)} about ${middle(r.box)} ${why}.`,
      "Name the outline's layer, or save the outline alone.",
      { value: others.length + 1, limit: 1, unit: "curves" },
    );
  const shapes = [outline, ...others].map((r) => flatten({ name: "ring", curves: r.curves }, 0.01));
  others.forEach((r, k) => {
    const p = pointOn(r.curves[0], 0.5);
    if (!holds(outline.box, r.box, 0) || !insidePolygon(shapes[0], p.x, p.y)) no(r, "lies outside of it");
    if (size(r.box) >= RIVAL_SHARE * size(outline.box)) no(r, "is large enough to be it");
    if (framed && longer(r.box) >= IN_FRAME) no(r, "could be it, and the larger one a frame");
    // a closed curve that holds others is an outline itself, or the frame of one
    for (let j = k + 1; j < others.length; j++) {
      const q = pointOn(others[j].curves[0], 0.5);
      if (longer(r.box) >= IN_FRAME && holds(r.box, others[j].box, 0) && insidePolygon(shapes[k + 1], q.x, q.y))
        no(r, "holds others in its turn");
    }
  });
}

/** Four lines along the axes, or more that lie on them. */
function isRectangle(curves: readonly Curve[]): boolean {
  const b = boundsOf(curves);
  const tiny = 1e-3;
  return curves.every(
    (c) =>
      c.kind === "line" &&
      ((Math.abs(c.a.x - c.b.x) < tiny && Math.min(Math.abs(c.a.x - b.xMin), Math.abs(c.a.x - b.xMax)) < tiny) ||
        (Math.abs(c.a.y - c.b.y) < tiny && Math.min(Math.abs(c.a.y - b.yMin), Math.abs(c.a.y - b.yMax)) < tiny)),
  );
}

/** Refuses with the largest open curve, its loose ends and how far each is from the next loose end. */
function refuseOpen(open: readonly Chain[], closeWithin: Mm): never {
  const length = (c: Chain): number => c.curves.reduce((sum, k) => sum + roughLength(k), 0);
  const by = open.map((chain) => ({ chain, length: length(chain) })).sort((a, b) => b.length - a.length);
  const main = by[0].chain;
  const from = startOf(main.curves[0]);
  const to = endOf(main.curves[main.curves.length - 1]);
  // the nearest other loose end; the first thousand curves are enough to say it
  let near = to;
  let gap = Math.hypot(from.x - to.x, from.y - to.y);
  let at = from;
  for (const { chain } of by.slice(1, 1000)) {
    for (const q of [startOf(chain.curves[0]), endOf(chain.curves[chain.curves.length - 1])]) {
      for (const p of [from, to]) {
        const d = Math.hypot(p.x - q.x, p.y - q.y);
        if (d < gap) {
          gap = d;
          near = q;
          at = p;
        }
      }
    }
  }
  const many = open.length === 1 ? "An open curve" : `One of ${open.length} open curves`;
  return refuse(
    OPEN,
    `${main.from}: ${say(at)}`,
    `The outline is not closed. ${many}, ${+by[0].length.toFixed(1)} mm long, has a loose end at ${say(at)}; the nearest other one is ${+gap.toPrecision(3)} mm away at ${say(near)}.`,
    "Close the outline in the drawing program, name the outline's layer if these curves do not belong to it, or raise the closing tolerance if the gap is no mistake.",
    { value: +gap.toPrecision(6), limit: closeWithin, unit: "mm" },
  );
}
