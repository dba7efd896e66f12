import { flatten } from "../kernel/contour.ts";
import { signedDistance } from "../kernel/polygon.ts";
import { reachesBack } from "./drawing.ts";
import type { Report } from "./report.ts";
import { NK } from "./rules.ts";
import { scarfOf } from "./scarf.ts";
import type { Neck } from "./types.ts";

const round = (v: number): number => Math.round(v * 1000) / 1000;
const deg = (rad: number): number => round((rad * 180) / Math.PI);

/** Checks of what only some necks have: drawings, scarfs, slotted heads, tenons, bars, fans, fall-away, volutes, laminates. */
export function checkMore(neck: Neck, drawingGap: number, report: Report): void {
  checkDrawing(neck, drawingGap, report);
  checkAngled(neck, report);
  checkSlotted(neck, report);
  checkTenon(neck, report);
  checkBars(neck, report);
  checkFan(neck, report);
  checkShaft(neck, report);
}

function checkDrawing(neck: Neck, gap: number, report: Report): void {
  const { outline, drawing } = neck.order.headstock;
  if (outline && !drawing)
    report(NK.drawingUnread, {
      where: "headstock.outline.drawing",
      value: outline.drawing,
      limit: null,
      unit: "",
      says: `The drawing ${outline.drawing} was not read; the outline here is another.`,
      tryThis: "Give the order as a file, with its drawing beside it.",
    });
  const back = drawing && gap <= 0.1 ? reachesBack(neck.outline, -neck.order.headstock.throat) : null;
  if (back)
    report(NK.drawingBack, {
      where: "headstock.outline",
      value: back.by,
      limit: 0.02,
      says: `The drawn outline turns back by ${round(back.by)} mm along the neck, at x ${round(back.at.x)}, y ${round(back.at.y)}.`,
      tryThis: "Draw hooks and notches that reach back along the neck as if filled, and saw them out by hand.",
      at: back.at,
    });
  if (gap <= 0.1) return;
  const none = gap === Number.POSITIVE_INFINITY;
  report(NK.drawingGap, {
    where: "headstock.outline",
    value: none ? null : gap,
    limit: 0.1,
    says: none
      ? "The drawing does not cross the throat's line exactly twice."
      : `The drawing passes the throat ${round(gap)} mm off the board's edge.`,
    tryThis:
      "Draw the headstock in the neck's frame (nut at x = 0, centreline y = 0) and let its sides run on past the throat along the board's edges.",
  });
}

function checkAngled(neck: Neck, report: Report): void {
  const { headstock } = neck.order;
  if ((headstock.kind ?? "flat") === "flat") return;
  const angle = headstock.angle ?? 0;
  if (!(angle >= (3 * Math.PI) / 180 && angle <= (20 * Math.PI) / 180))
    report(NK.angleRange, {
      where: "headstock.angle",
      value: deg(angle),
      limit: "3..20",
      unit: "deg",
      says: `The headstock tilts by ${deg(angle)} degrees.`,
      tryThis: "Common are 8 to 17 degrees.",
    });
  const scarf = scarfOf(neck);
  if (!scarf) return;
  if (scarf.face < 45)
    report(NK.scarfThin, {
      where: "headstock.angle",
      value: scarf.face,
      limit: 45,
      says: `The scarf's glued face is ${round(scarf.face)} mm long.`,
      tryThis: "Lessen the angle or use a thicker board.",
    });
  let worst = { v: Number.POSITIVE_INFINITY, id: "", x: 0, y: 0 };
  for (const t of neck.features.tuners) {
    const v = Math.abs(t.x - neck.places.nutSlope * t.y - scarf.headEnd) - t.steps[0].diameter / 2;
    if (v < worst.v) worst = { v, id: t.id, x: t.x, y: t.y };
  }
  if (worst.v < 3)
    report(NK.scarfBore, {
      where: worst.id,
      value: worst.v,
      limit: 3,
      says: `The glue line on the headstock's face passes ${round(worst.v)} mm from the bore.`,
      tryThis: "Move the tuners, or change angle or thickness so that the line falls between them.",
      at: worst,
    });
}

function checkSlotted(neck: Neck, report: Report): void {
  const { headSlots, rollers } = neck.features;
  if (headSlots.length === 0) return;
  const poly = flatten(neck.outline, 0.02);
  let wall = { v: Number.POSITIVE_INFINITY, id: "", x: 0, y: 0 };
  for (const s of headSlots) {
    for (let k = 0; k <= 20; k++) {
      const x = s.xMin + ((s.xMax - s.xMin) * k) / 20;
      for (const y of [s.y - s.width / 2, s.y + s.width / 2]) {
        const v = -signedDistance([poly], x, y);
        if (v < wall.v) wall = { v, id: s.id, x, y };
      }
    }
    for (const o of headSlots) {
      const v = Math.abs(o.y - s.y) - (o.width + s.width) / 2;
      if (o !== s && v < wall.v) wall = { v, id: `${s.id}, ${o.id}`, x: s.xMin, y: s.y };
    }
  }
  if (wall.v < 6)
    report(NK.slotWall, {
      where: wall.id,
      value: wall.v,
      limit: 6,
      says: `Beside the opening ${round(wall.v)} mm of wood remain.`,
      tryThis: "Make the openings narrower, or the headstock wider (headstock.edge, tuner rows).",
      at: wall,
    });
  for (const r of rollers) {
    const s = headSlots.find((h) => h.id === `head-slot-${r.side}`);
    const inside = s ? Math.min(r.x - s.xMin, s.xMax - r.x) - r.diameter / 2 : -1;
    const reach = s ? r.depth - (Math.abs(r.y - s.y) + s.width / 2) : -1;
    if (inside >= 1 && reach >= 2) continue;
    report(NK.rollerReach, {
      where: r.id,
      value: Math.min(inside, reach),
      limit: 1,
      says:
        inside < 1 ? "The roller lies outside its opening." : `The roller's bore ends ${round(-reach)} mm before the opening's far wall.`,
      tryThis: "Change headstock.slotted (from, length, rollerDepth) or the tuners' places.",
      at: r,
    });
    break;
  }
}

function checkTenon(neck: Neck, report: Report): void {
  const { tenon } = neck.features;
  const { heel } = neck.order;
  if (heel.kind === "set" && tenon) {
    const [lo, hi] = neck.boardEdges(tenon.xMin);
    const off = Math.min(
      hi - tenon.width / 2,
      -lo - tenon.width / 2,
      heel.length + 1e-9 - (tenon.xMax - tenon.xMin) + 3,
      heel.thickness - neck.order.board.thickness - tenon.depth + 3,
    );
    if (off < 3 - 1e-9)
      report(NK.tenonSize, {
        where: "heel.tenon",
        value: off,
        limit: 3,
        says: "The tenon does not fit into the heel.",
        tryThis: "Make the tenon narrower, shorter or shallower than the heel.",
        at: { x: tenon.xMin, y: 0 },
      });
  }
  const a = neck.neckAngle;
  if (heel.setUp && (a < -Math.PI / 180 || a > (6 * Math.PI) / 180))
    report(NK.neckAngleOdd, {
      where: "heel.setUp",
      value: deg(a),
      limit: "-1..6",
      unit: "deg",
      says: `Bridge height, action and board height ask for a neck angle of ${deg(a)} degrees.`,
      tryThis: "Measure them again: height of the saddle's top over the body, action at fret 12, board's plane over the body at its end.",
    });
}

function checkBars(neck: Neck, report: Report): void {
  const bars = neck.features.rod.filter((c) => c.id.startsWith("bar"));
  const rod = neck.features.rod.find((c) => c.id === "rod-channel");
  for (const b of bars) {
    const y = b.y ?? 0;
    const clear = rod && b.xMax > rod.xMin && b.xMin < rod.xMax ? Math.abs(y) - (b.width + rod.width) / 2 - 1.5 : Number.POSITIVE_INFINITY;
    const edge = Math.min(...[b.xMin, b.xMax].flatMap((x) => neck.boardEdges(x).map((e) => Math.abs(e) - Math.abs(y) - b.width / 2 - 5)));
    const ends = Math.min(b.xMin - neck.places.rampTop, neck.places.shaftEnd - b.xMax);
    const v = Math.min(clear, edge, ends);
    if (v >= 0) continue;
    report(NK.barPlace, {
      where: b.id,
      value: v,
      limit: 0,
      says: `The bar's channel is ${round(-v)} mm too near the rod, an edge or an end of the shaft.`,
      tryThis: "Change bars.offset, bars.width, bars.from or bars.to.",
      at: { x: b.xMin, y },
    });
    return;
  }
}

function checkFan(neck: Neck, report: Report): void {
  const { fan, frets } = neck.order;
  if (!fan) return;
  const steepest = Math.max(Math.abs(neck.fretSlope(0)), Math.abs(neck.fretSlope(frets.count)));
  const angle = Math.atan(steepest);
  if (fan.bass < fan.treble || angle > (20 * Math.PI) / 180)
    report(NK.fanOdd, {
      where: "scale",
      value: fan.bass < fan.treble ? fan.bass : deg(angle),
      limit: fan.bass < fan.treble ? fan.treble : 20,
      unit: fan.bass < fan.treble ? "mm" : "deg",
      says: fan.bass < fan.treble ? "The bass scale is shorter than the treble scale." : `A fret slants by ${deg(angle)} degrees.`,
      tryThis: "Bring the two scales closer together or let a middle fret stand square.",
    });
}

function checkShaft(neck: Neck, report: Report): void {
  const { order, places } = neck;
  const { volute, stations } = order.carve;
  if (volute && volute.at - volute.length < places.headBack)
    report(NK.voluteReach, {
      where: "carve.volute",
      value: volute.at - volute.length,
      limit: round(places.headBack),
      says: "The volute runs into the headstock's flat back.",
      tryThis: "Move it toward the nut (carve.volute.at) or shorten it.",
    });
  const shoulder = Math.max(...stations.map((s) => (s.shoulder ?? 0) / Math.max(0.1, s.thickness - order.board.thickness)));
  if (shoulder > 0.5)
    report(NK.shoulderDeep, {
      where: "carve.stations",
      value: shoulder,
      limit: 0.5,
      unit: "",
      says: `A shoulder takes ${round(shoulder * 100)} % of the carve's depth.`,
      tryThis: "Lessen the shoulder.",
    });
  if (order.board.fallAway || order.board.relief) {
    const least = neck.features.frets.reduce(
      (a, f) => Math.min(a, neck.top(f.bass.x, f.bass.y) - f.depth, neck.top(f.treble.x, f.treble.y) - f.depth),
      Number.POSITIVE_INFINITY,
    );
    if (least < 0.5)
      report(NK.fallAwayDeep, {
        where: "board.fallAway, board.relief",
        value: least,
        limit: 0.5,
        says: `Where the board falls away ${round(least)} mm of it remain under a slot.`,
        tryThis: "Lessen fall-away or relief, or thicken the board.",
      });
  }
  const { strips } = order.wood;
  if (strips) {
    const wide = strips.reduce((a, s) => a + s.width, 0);
    let need = 0;
    for (let x = places.tip; x <= places.end; x += 4) need = Math.max(need, ...neck.edges(x).map((y) => 2 * Math.abs(y)));
    if (wide < need)
      report(NK.laminates, {
        where: "wood.strips",
        value: wide,
        limit: round(need),
        says: `The strips are ${round(wide)} mm wide together; the neck needs ${round(need)} mm.`,
        tryThis: "Widen the strips, or glue wings to the headstock and say so by wider outer strips.",
      });
  }
}
