import { flatten } from "../kernel/contour.ts";
import { distanceToSegment, signedDistance } from "../kernel/polygon.ts";
import { type Finding, finding } from "../units/index.ts";
import { checkMore } from "./check-more.ts";
import { isTilted } from "./places.ts";
import type { Report } from "./report.ts";
import { NK } from "./rules.ts";
import type { Neck } from "./types.ts";

const round = (v: number): number => Math.round(v * 1000) / 1000;

/** The design checks: measured on the finished geometry only. Each rule reports its worst place once. */
export function checkNeck(neck: Neck, drawingGap: number): Finding[] {
  const found: Finding[] = [];
  const report: Report = (rule, said) => {
    const value = typeof said.value === "number" ? round(said.value) : said.value;
    found.push(finding(rule, { ...said, value, unit: said.unit ?? "mm" }));
  };
  if (!buildable(neck)) {
    report(NK.outline, {
      where: "scale, strings",
      value: null,
      limit: null,
      unit: "",
      says: "The order gives a neck of no sensible size.",
      tryThis: "Check scale, strings' spread and the board's width.",
    });
    return found;
  }
  checkRegions(neck, report);
  checkRod(neck, report);
  checkBoard(neck, report);
  checkStrings(neck, report);
  checkHeadstock(neck, report);
  checkHeel(neck, report);
  checkMarkers(neck, report);
  checkMore(neck, drawingGap, report);
  return found;
}

/** Whether every place of the outline lies within five metres: drawings and sums of anything larger would never end. */
function buildable(neck: Neck): boolean {
  const near = (v: number): boolean => Math.abs(v) < 5000;
  const points = neck.outline.curves.flatMap((c) =>
    c.kind === "line" ? [c.a, c.b] : c.kind === "cubic" ? [c.p0, c.p1, c.p2, c.p3] : [c.centre],
  );
  const arcs = neck.outline.curves.every((c) => c.kind !== "arc" || (c.radius < 1e6 && Math.abs(c.sweep) < 7));
  return arcs && points.every((q) => near(q.y) && Math.abs(q.x) < 1e6) && near(neck.places.tip) && near(neck.places.end);
}

/** Smallest value of f over xs, with its place. */
function least(xs: Iterable<number>, f: (x: number) => number | null): { x: number; v: number } | null {
  let best: { x: number; v: number } | null = null;
  for (const x of xs) {
    const v = f(x);
    if (v !== null && !(best && v >= best.v)) best = { x, v };
  }
  return best;
}

function* range(a: number, b: number, step: number): Iterable<number> {
  // an order of nonsense may have no places at all; its other findings say why
  if (!Number.isFinite(a) || !Number.isFinite(b) || (b - a) / step > 1e5) return;
  for (let x = a; x < b; x += step) yield x;
  yield b;
}

function checkRegions(neck: Neck, report: Report): void {
  const p = neck.places;
  const { headstock, heel, board, carve } = neck.order;
  const steps: [string, number, string, number][] = [
    ["the headstock's back", p.headBack, "its transition", p.carveStart],
    ["the carve's start", p.carveStart, "the carve's end", p.carveEnd],
    ["the carve's end", p.carveEnd, "the heel", p.heelFront],
    ["the heel", p.heelFront, "the shaft's end", p.shaftEnd],
  ];
  for (const [a, xa, b, xb] of steps)
    if (!(xb > xa))
      report(NK.regions, {
        where: "heel, headstock",
        value: xb - xa,
        limit: 0,
        says: `From ${a} (x ${round(xa)}) to ${b} (x ${round(xb)}) there is no length left.`,
        tryThis: "Shorten the heel or its transition, or start the headstock's transition nearer the nut.",
        at: { x: xa, y: 0 },
      });
  if (p.headBack < -headstock.throat)
    report(NK.throat, {
      where: "headstock.backLength",
      value: -p.headBack,
      limit: headstock.throat,
      says: `The back becomes flat ${round(-p.headBack)} mm behind the nut, but the sides widen after ${round(headstock.throat)} mm.`,
      tryThis: "Lengthen headstock.throat or shorten headstock.backLength.",
      at: { x: p.headBack, y: 0 },
    });
  const rise = headstock.drop + (neck.order.nut.kind === "seat" ? board.thickness : neck.order.nut.floor);
  if (!isTilted(neck.order) && rise > headstock.rampRadius)
    report(NK.rampHigh, {
      where: "headstock.rampRadius",
      value: headstock.rampRadius,
      limit: round(rise),
      says: `The ramp climbs ${round(rise)} mm with a radius of ${round(headstock.rampRadius)} mm.`,
      tryThis: "Enlarge headstock.rampRadius or lessen headstock.drop.",
      at: { x: p.rampTop, y: 0 },
    });
  const thin = Math.min(...carve.stations.map((s) => s.thickness - board.thickness));
  if (thin < 4)
    report(NK.thin, {
      where: "carve.stations",
      value: thin,
      limit: 4,
      says: `The thinnest station leaves ${round(thin)} mm of shaft under the board.`,
      tryThis: "Make the carve thicker or the board thinner.",
    });
  const wood = Math.min(heel.thickness - board.thickness, headstock.thickness);
  if (wood < 5)
    report(NK.heelThin, {
      where: "heel.thickness, headstock.thickness",
      value: wood,
      limit: 5,
      says: `Only ${round(wood)} mm of wood in the heel or the headstock.`,
      tryThis: "Make the heel or headstock thicker.",
    });
  checkTransition(neck, report, "headstock.backLength", p.carveStart - p.headBack, p.carveStart, -neck.section(p.headBack).flat);
  checkTransition(neck, report, "heel.transition", p.heelFront - p.carveEnd, p.carveEnd, heel.thickness - board.thickness);
}

/** z = s flat with s = 3t^2 - 2t^3 along the very edge: its tightest inward curve is at the carve's end, radius L^2 / (6 flat). */
function checkTransition(_neck: Neck, report: Report, where: string, length: number, x: number, flat: number): void {
  if (!(length > 0)) return;
  const radius = (length * length) / (6 * flat);
  if (radius < 4.5)
    report(NK.transitionTight, {
      where,
      value: radius,
      limit: 4.5,
      says: `The transition curves inward with a radius of ${round(radius)} mm at the edge of the neck.`,
      tryThis: "Make the transition longer.",
      at: { x, y: 0 },
    });
}

function checkRod(neck: Neck, report: Report): void {
  const rod = neck.order.rod;
  if (rod.kind === "none") {
    report(NK.bareSides, {
      where: "rod",
      value: null,
      limit: null,
      unit: "",
      says: "There is no rod and no channel.",
      tryThis: "Nothing, if the scale is short; otherwise order a rod.",
    });
    return;
  }
  const under = least(range(rod.from_x, rod.to_x, 1), (x) => neck.woodUnderRod(x));
  if (under && !(under.v >= rod.minimumUnder))
    report(NK.woodUnderRod, {
      where: "rod",
      value: under.v,
      limit: rod.minimumUnder,
      says: `At x ${round(under.x)} only ${round(under.v)} mm of wood remain between the rod and the finished back.`,
      tryThis: "Make the carve thicker there, the rod channel shallower, or the exponent larger.",
      at: { x: under.x, y: 0 },
    });
  const side = least(
    [rod.from_x, rod.to_x],
    (x) => Math.min(...neck.edges(Math.min(Math.max(x, neck.places.tip), neck.places.boardEnd)).map(Math.abs)) - rod.width / 2,
  );
  if (rod.from_x <= neck.places.tip || rod.to_x >= neck.places.shaftEnd || rod.from_x >= rod.to_x || (side && !(side.v >= 6)))
    report(NK.rodPlace, {
      where: "rod",
      value: `${round(rod.from_x)}..${round(rod.to_x)}`,
      limit: `${round(neck.places.tip)}..${round(neck.places.shaftEnd)}`,
      says: "The rod channel does not lie inside the shaft.",
      tryThis: "Change rod.from, rod.to or rod.width.",
      at: { x: rod.from_x, y: 0 },
    });
  if (rod.from === "back" && rod.roof < 1)
    report(NK.rodWider, {
      where: "rod.roof",
      value: rod.roof,
      limit: 1,
      says: `Only ${round(rod.roof)} mm of shaft stay between channel and board.`,
      tryThis: "Set rod.roof to 1 mm or more.",
    });
}

function checkBoard(neck: Neck, report: Report): void {
  const { frets, board, nut, headstock } = neck.order;
  const p = neck.places;
  const last = neck.fretAt(frets.count);
  if (board.pastLastFret < 1)
    report(NK.boardShort, {
      where: "board.pastLastFret",
      value: board.pastLastFret,
      limit: 1,
      says: "The board ends at its last fret.",
      tryThis: "Let the board run on past the last fret.",
    });
  const space = frets.count > 1 ? last - neck.fretAt(frets.count - 1) : Number.POSITIVE_INFINITY;
  if (space < 4)
    report(NK.fretCrowded, {
      where: "frets.count",
      value: space,
      limit: 4,
      says: `The last two of ${frets.count} frets stand ${round(space)} mm apart.`,
      tryThis: "Order fewer frets or a longer scale.",
      at: { x: last, y: 0 },
    });
  const tight = least(
    range(p.boardFront, p.boardEnd, 5),
    (x) => neck.boardRadius(x) - Math.max(...neck.boardEdges(x).map(Math.abs)) * 1.02,
  );
  if (tight && !(tight.v > 0))
    report(NK.tightBoard, {
      where: "board.radius",
      value: neck.boardRadius(tight.x),
      limit: null,
      says: `At x ${round(tight.x)} the board is wider than its radius allows.`,
      tryThis: "Enlarge board.radius.",
      at: { x: tight.x, y: 0 },
    });
  let worst = { v: Number.POSITIVE_INFINITY, id: "", x: 0, y: 0 };
  for (const s of neck.features.frets)
    for (const e of [s.bass, s.treble]) {
      const v = neck.top(e.x, e.y) - s.depth;
      if (!(v >= worst.v)) worst = { v, id: s.id, x: e.x, y: e.y };
    }
  if (!(worst.v >= 0.5))
    report(NK.slotDepth, {
      where: worst.id,
      value: worst.v,
      limit: 0.5,
      says: `Under the slot's end only ${round(worst.v)} mm of board remain.`,
      tryThis: "Make the board thicker, the slots shallower, or the radius larger.",
      at: worst,
    });
  const edge = Math.min(...neck.boardEdges(0).map((y) => neck.top(0, y)));
  if (!(nut.floor < edge) || nut.floor < -headstock.drop)
    report(NK.nutFloor, {
      where: "nut.floor",
      value: nut.floor,
      limit: round(edge),
      says: "The nut's floor does not lie between the headstock face and the board's edge.",
      tryThis: "Change nut.floor.",
      at: { x: 0, y: 0 },
    });
}

function checkStrings(neck: Neck, report: Report): void {
  const n = neck.order.strings.count;
  const last = neck.fretAt(neck.order.frets.count);
  const margin = (x: number): number => {
    const [lo, hi] = neck.boardEdges(x);
    const ys = [neck.stringAt(1, x), neck.stringAt(n, x)];
    return Math.min(hi - Math.max(...ys), Math.min(...ys) - lo);
  };
  const worst = least(range(0, last, 5), margin);
  if (!worst || worst.v >= 2.5) return;
  report(worst.v < 0 ? NK.stringOff : NK.stringMargin, {
    where: "strings, board.width",
    value: worst.v,
    limit: worst.v < 0 ? 0 : 2.5,
    says: `At x ${round(worst.x)} an outer string's centre runs ${round(worst.v)} mm inside the board's edge.`,
    tryThis: "Widen the board or bring the strings closer together.",
    at: { x: worst.x, y: 0 },
  });
}

function checkHeadstock(neck: Neck, report: Report): void {
  const { tuners } = neck.features;
  const spec = neck.order.headstock.tuners;
  const poly = flatten(neck.outline, 0.01);
  checkOutline(neck, report, poly);
  let wall = { v: Number.POSITIVE_INFINITY, id: "", x: 0, y: 0 };
  for (const t of tuners) {
    const d = -signedDistance([poly], t.x, t.y) - t.steps[0].diameter / 2;
    if (!(d >= wall.v)) wall = { v: d, id: t.id, x: t.x, y: t.y };
  }
  if (tuners.length > 0 && !(wall.v >= 3))
    report(wall.v < 1.5 ? NK.boreBreaksEdge : NK.boreToEdge, {
      where: wall.id,
      value: wall.v,
      limit: wall.v < 1.5 ? 1.5 : 3,
      says: `Between the bore and the headstock's edge ${round(wall.v)} mm of wood remain.`,
      tryThis: "Enlarge headstock.edge, or move the tuners away from the throat (tuners.first) or from the tip (headstock.tip).",
      at: wall,
    });
  let near = { v: Number.POSITIVE_INFINITY, id: "", x: 0, y: 0 };
  tuners.forEach((a, i) => {
    for (const b of tuners.slice(i + 1)) {
      const v = Math.hypot(a.x - b.x, a.y - b.y);
      if (v < near.v) near = { v, id: `${a.id}, ${b.id}`, x: a.x, y: a.y };
    }
  });
  if (near.v < spec.clearance)
    report(NK.tunerSpacing, {
      where: near.id,
      value: near.v,
      limit: spec.clearance,
      says: `Two tuners stand ${round(near.v)} mm apart.`,
      tryThis: "Enlarge tuners.pitch or the rows' distance.",
      at: near,
    });
  const turned = tuners.reduce((a, b) => (b.stringAngle > a.stringAngle ? b : a), tuners[0]);
  if (turned && turned.stringAngle > spec.sideAngle + 1e-9)
    report(NK.stringAngle, {
      where: turned.id,
      value: (turned.stringAngle * 180) / Math.PI,
      limit: round((spec.sideAngle * 180) / Math.PI),
      unit: "deg",
      says: `String ${turned.string} turns aside at the nut.`,
      tryThis: "Bring the tuner rows nearer the centreline, move the first tuner further from the nut, or allow a larger tuners.sideAngle.",
      at: turned,
    });
  checkPosts(neck, report);
}

/** A string passes every other post on the way to its own with air between (half the winding diameter plus half a millimetre). */
function checkPosts(neck: Neck, report: Report): void {
  const { tuners } = neck.features;
  const w = neck.order.headstock.tuners.winding / 2;
  for (const t of tuners) {
    const y0 = neck.stringAt(t.string, 0);
    const sideOf = Math.sign(t.y - y0) || 1;
    const touch = t.y - sideOf * w;
    for (const o of tuners) {
      if (o === t || o.x <= t.x) continue;
      const y = y0 + ((touch - y0) * o.x) / t.x;
      const gap = Math.abs(y - o.y) - w;
      if (gap >= 0.5) continue;
      report(NK.stringOverPost, {
        where: t.id,
        value: gap,
        limit: 0.5,
        says: `String ${t.string} passes ${round(gap)} mm from the post of string ${o.string}.`,
        tryThis: "Let the rows spread toward the nut (tuners.rowAtFirst larger than rowAtLast).",
        at: o,
      });
    }
  }
}

function checkOutline(neck: Neck, report: Report, poly: Float64Array): void {
  const say = (says: string, x: number): void =>
    report(NK.outline, {
      where: "headstock",
      value: null,
      limit: null,
      unit: "",
      says,
      tryThis: "Check headstock.throat, blend, edge, tip and tuners.first.",
      at: { x, y: 0 },
    });
  const { tip, boardEnd } = neck.places;
  if (!(boardEnd > tip) || poly.some((v) => !Number.isFinite(v))) {
    say("The outline has places that are not numbers.", 0);
    return;
  }
  let width = Number.POSITIVE_INFINITY;
  let at = 0;
  for (const x of range(tip + 0.5, boardEnd - 0.01, 2)) {
    const [lo, hi] = neck.edges(x);
    if (!(hi - lo >= width)) {
      width = hi - lo;
      at = x;
    }
  }
  if (!(width > 1)) say(`The outline pinches to ${round(width)} mm at x ${round(at)}.`, at);
  if (-neck.order.headstock.throat < tip + 1) say("The throat is longer than the headstock.", tip);
}

function checkHeel(neck: Neck, report: Report): void {
  const p = neck.places;
  for (const s of neck.features.screws) {
    const r = s.diameter / 2;
    const [lo, hi] = neck.edges(Math.min(Math.max(s.x, p.tip), p.boardEnd));
    const wall = Math.min(s.x - r - p.heelFront, p.shaftEnd - s.x - r, s.y - r - lo, hi - s.y - r);
    if (!(wall >= 5))
      report(NK.screwInHeel, {
        where: s.id,
        value: wall,
        limit: 5,
        says: `The screw leaves ${round(wall)} mm to the heel's edge.`,
        tryThis: "Lengthen the heel, or bring the screws closer together (heel.screws.along, across, fromEnd).",
        at: s,
      });
    if (s.zTo > -1 && s.zTo <= 0)
      report(NK.screwDepth, {
        where: s.id,
        value: -s.zTo,
        limit: 1,
        says: `The screw bore stops ${round(-s.zTo)} mm below the glue plane.`,
        tryThis: "Lessen heel.screws.depth.",
        at: s,
      });
    const roof = neck.top(s.x, s.y) - neck.order.frets.depth - 1;
    if (s.zTo > 0 && s.zTo > roof)
      report(NK.screwThrough, {
        where: s.id,
        value: s.zTo,
        limit: roof,
        says: "The screw bore comes out through the board.",
        tryThis: "Lessen heel.screws.depth.",
        at: s,
      });
    else if (s.zTo > 0)
      report(NK.screwDepth, {
        where: s.id,
        value: -s.zTo,
        limit: 1,
        says: `The screw bore enters the board by ${round(s.zTo)} mm.`,
        tryThis: "Lessen heel.screws.depth.",
        at: s,
      });
  }
}

function checkMarkers(neck: Neck, report: Report): void {
  const { markers, frets } = neck.features;
  const low = markers.reduce((a, m) => Math.min(a, m.zFloor), Number.POSITIVE_INFINITY);
  if (low < 0.5)
    report(NK.markerDepth, {
      where: "markers.face.depth",
      value: low,
      limit: 0.5,
      says: `A marker recess stops ${round(low)} mm above the glue plane.`,
      tryThis: "Lessen markers.face.depth.",
    });
  for (const m of markers) {
    const r = m.diameter / 2;
    const gap = Math.min(
      ...frets.map((s) => distanceToSegment(m.x, m.y, s.bass.x, s.bass.y, s.treble.x, s.treble.y) - s.kerf / 2 - r),
      ...markers.filter((o) => o !== m).map((o) => Math.hypot(o.x - m.x, o.y - m.y) - r - o.diameter / 2),
    );
    if (gap < 1)
      report(NK.markerHitsSlot, {
        where: m.id,
        value: gap,
        limit: 1,
        says: `The recess comes within ${round(gap)} mm of its neighbour.`,
        tryThis: "Use smaller markers, or leave this fret unmarked.",
        at: m,
      });
  }
}
