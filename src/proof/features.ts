import { tenonUnder } from "../neck/features.ts";
import type { HeadSlot, MarkerRecess, Neck, NutSeat, RodChannel, ScrewBore, Tenon, TunerBore } from "../neck/types.ts";
import type { Rule } from "../units/index.ts";
import { type Gauge, type Ground, roundAt } from "./gauge.ts";
import { channelFloor } from "./place.ts";
import { wallAt } from "./probe.ts";
import * as PF from "./rules.ts";
import type { Reading } from "./simulate.ts";
import type { Measure } from "./types.ts";

/** Of nominal, mm: places, diameters, widths and floors. */
const TOLERANCE = 0.02;

const mm = (id: string, what: string, ordered: number, measured: number, tolerance = TOLERANCE): Measure => ({
  id,
  what,
  unit: "mm",
  ordered,
  measured,
  tolerance,
});

/** The value of a list that is farthest from what was ordered. */
const farthest = (ordered: number, values: readonly number[]): number =>
  values.reduce((a, v) => (!(Math.abs(v - ordered) <= Math.abs(a - ordered)) ? v : a), ordered);

/** Bores, recesses, seat and channels of one side, from what is left of the wood; recesses before a hand step fills them. */
export function measureFeatures(gauge: Gauge, sim: Reading, neck: Neck): void {
  const { side } = gauge.frame;
  const f = neck.features;
  const bare = neck.order.blank.kind === "shaft-alone";
  if (side === "board") {
    for (const t of f.tuners) if (!t.tilt) tuner(gauge, t);
    for (const h of f.headSlots) headSlot(gauge, h, neck);
    if (!bare) {
      for (const m of f.markers) marker(gauge, m, neck, sim.fills.get(m.id));
      nut(gauge, f.nut, neck);
    }
  } else {
    for (const s of f.screws) screw(gauge, s);
    if (f.tenon !== null) tenon(gauge, f.tenon, neck);
  }
  for (const c of f.rod) if (c.from === side) channel(gauge, c, f.rod, sim.fills.get(c.id), neck.places.shaftEnd);
}

function round(
  gauge: Gauge,
  rule: Rule,
  id: string,
  what: string,
  x: number,
  y: number,
  diameter: number,
  level: number,
  ground: Ground,
): boolean {
  const found = roundAt(ground, x, y, diameter / 2, level, wallAt);
  if (found === null) {
    gauge.missing(rule, id, `${id}${what} is not cut at its place, x ${x.toFixed(2)}, y ${y.toFixed(2)} of the neck.`, { x, y });
    return false;
  }
  gauge.measure(rule, mm(id, `diameter${what}`, diameter, found.diameter), { x, y });
  gauge.measure(rule, mm(id, `centre${what}, off its place`, 0, Math.hypot(found.x - x, found.y - y)), { x, y });
  return true;
}

function tuner(gauge: Gauge, t: TunerBore): void {
  const { frame } = gauge;
  const wide = Math.max(...t.steps.map((s) => s.diameter));
  const ground = gauge.ground(t.x, t.y, wide);
  t.steps.forEach((s, n) => {
    const name = t.steps.length > 1 ? ` of step ${n + 1}` : "";
    if (!round(gauge, PF.BORE, t.id, name, t.x, t.y, s.diameter, frame.z((s.zTop + s.zBottom) / 2), ground)) return;
    const next = t.steps[n + 1];
    if (next !== undefined) {
      const r = (s.diameter + next.diameter) / 4;
      const floors = [0, 1, 2, 3].map((k) => frame.neckZ(ground(t.x + r * Math.cos(k * 1.57), t.y + r * Math.sin(k * 1.57))));
      gauge.measure(PF.BORE, mm(t.id, `floor${name}`, s.zBottom, farthest(s.zBottom, floors)), t);
    } else {
      const floor = frame.neckZ(ground(t.x, t.y));
      // through: as deep as ordered counts as ordered, however much deeper into the waste
      gauge.measure(PF.BORE, mm(t.id, "through, floor or lower", s.zBottom, Math.max(floor, s.zBottom)), t);
    }
  });
}

function screw(gauge: Gauge, s: ScrewBore): void {
  const { frame } = gauge;
  const ground = gauge.ground(s.x, s.y, s.diameter);
  if (!round(gauge, PF.BORE, s.id, "", s.x, s.y, s.diameter, frame.z((s.zFrom + s.zTo) / 2), ground)) return;
  gauge.measure(PF.BORE, mm(s.id, "bottom", s.zTo, frame.neckZ(ground(s.x, s.y))), s);
}

function marker(gauge: Gauge, m: MarkerRecess, neck: Neck, until: number | undefined): void {
  const { frame } = gauge;
  const ground = gauge.ground(m.x, m.y, m.diameter, until);
  const level = frame.z(m.zFloor + neck.order.markers.face.depth / 2);
  if (!round(gauge, PF.RECESS, m.id, "", m.x, m.y, m.diameter, level, ground)) return;
  const r = m.diameter / 3;
  const floors = [ground(m.x, m.y), ground(m.x + r, m.y), ground(m.x - r, m.y), ground(m.x, m.y + r), ground(m.x, m.y - r)];
  gauge.measure(PF.RECESS, mm(m.id, "floor above the glue plane", m.zFloor, farthest(m.zFloor, floors.map(frame.neckZ))), m);
}

/** An opening: its walls halfway down at five stations, its ends, and whether it is through everywhere. */
function headSlot(gauge: Gauge, h: HeadSlot, neck: Neck): void {
  const { frame } = gauge;
  const r = h.width / 2;
  const ground = gauge.groundOver(h.xMin - 2, h.y - r - 2, h.xMax + 2, h.y + r + 2);
  const under = (x: number): number => neck.section(x).flat + neck.section(x).flatSlope * h.y;
  const halfway = (x: number): number => frame.z((neck.top(x, h.y) + under(x)) / 2);
  const widths: number[] = [];
  const middles: number[] = [];
  let through = 0;
  for (let k = 0; k < 5; k++) {
    const x = h.xMin + r + ((h.xMax - h.xMin - h.width) * (k + 0.5)) / 5;
    const wall = (dir: number): number => wallAt((s, enough) => ground(x, h.y + s, enough), halfway(x), dir * (r + 1), 0, 0.05);
    widths.push(wall(1) - wall(-1));
    middles.push((wall(1) + wall(-1)) / 2);
    for (const y of [-0.9 * r, 0, 0.9 * r]) through = Math.max(through, frame.neckZ(ground(x, h.y + y)) - under(x));
  }
  const at = { x: (h.xMin + h.xMax) / 2, y: h.y };
  gauge.measure(PF.HEAD_SLOT, mm(h.id, "width", h.width, farthest(h.width, widths)), at);
  gauge.measure(PF.HEAD_SLOT, mm(h.id, "off its middle line", 0, farthest(0, middles)), at);
  // through: lower than the back counts as the back
  gauge.measure(PF.HEAD_SLOT, mm(h.id, "floor over the back, most", 0, Math.max(0, through)), at);
  for (const [name, x, dir] of [
    ["end toward the tip", h.xMin, -1],
    ["end toward the nut", h.xMax, 1],
  ] as const)
    gauge.measure(
      PF.HEAD_SLOT,
      mm(h.id, name, x, x + dir * wallAt((s, enough) => ground(x + dir * s, h.y, enough), halfway(x), 1, -r, 0.05)),
      {
        x,
        y: h.y,
      },
    );
}

/** Sides and shoulder of a tenon halfway up, its underside at both ends. */
function tenon(gauge: Gauge, t: Tenon, neck: Neck): void {
  const { frame } = gauge;
  const half = t.width / 2;
  const ground = gauge.groundOver(t.xMin - 2, -half - 3, t.xMax + 1, half + 3);
  const level = (x: number): number => frame.z(tenonUnder(t, x) / 2);
  const length = t.xMax - t.xMin;
  const stations = [0.1, 0.5, 0.9].map((s) => t.xMin + s * length);
  const at = { x: t.xMin + length / 2, y: 0 };
  for (const sign of [-1, 1]) {
    const sides = stations.map((x) => sign * wallAt((s, enough) => ground(x, sign * s, enough), level(x), half - 1, half + 2, 0.05));
    const side = sign * half;
    gauge.measure(PF.TENON, mm(t.id, sign < 0 ? "side toward -y" : "side toward +y", side, farthest(side, sides)), at);
  }
  const [lo, hi] = neck.edges(t.xMin + 1);
  const shoulders = [(lo - half) / 2, (hi + half) / 2].map(
    (y) => t.xMin + wallAt((s, enough) => ground(t.xMin + s, y, enough), frame.z(tenonUnder(t, t.xMin) / 2), -1, 1.5, 0.05),
  );
  gauge.measure(PF.TENON, mm(t.id, "shoulder", t.xMin, farthest(t.xMin, shoulders)), { x: t.xMin, y: 0 });
  const off = stations.flatMap((x) => [-0.8 * half, 0, 0.8 * half].map((y) => frame.neckZ(ground(x, y)) - tenonUnder(t, x)));
  gauge.measure(PF.TENON, mm(t.id, "underside, off its plane", 0, farthest(0, off)), at);
}

function nut(gauge: Gauge, n: NutSeat, neck: Neck): void {
  const { frame } = gauge;
  const middle = (n.xMin + n.xMax) / 2;
  const [lo, hi] = neck.boardEdges(middle);
  const lean = Math.hypot(1, n.slope);
  const fronts: number[] = [];
  const backs: number[] = [];
  const floors: number[] = [];
  for (const share of [0.15, 0.5, 0.85]) {
    const y = lo + (hi - lo) * share;
    const shift = n.slope * y;
    const x = middle + shift;
    const half = (n.xMax - n.xMin) / 2;
    const ground = gauge.ground(x, y, half + 2);
    floors.push(frame.neckZ(ground(x, y)), frame.neckZ(ground(x - 0.6 * half, y)), frame.neckZ(ground(x + 0.6 * half, y)));
    const level = frame.z((n.zFloor + neck.boardTop(n.xMax + shift, y)) / 2);
    const wall = (dir: number): number => wallAt((s, enough) => ground(x + s, y, enough), level, dir * (half + 1), 0, 0.04);
    backs.push(x + wall(1) - shift);
    if (n.kind === "seat") fronts.push(x + wall(-1) - shift);
  }
  const at = { x: middle, y: 0 };
  gauge.measure(PF.NUT_SEAT, mm(n.id, "wall toward the frets", n.xMax, farthest(n.xMax, backs), TOLERANCE * lean), at);
  if (n.kind === "seat")
    gauge.measure(PF.NUT_SEAT, mm(n.id, "wall toward the headstock", n.xMin, farthest(n.xMin, fronts), TOLERANCE * lean), at);
  gauge.measure(PF.NUT_SEAT, mm(n.id, "floor above the glue plane", n.zFloor, farthest(n.zFloor, floors)), at);
}

function channel(gauge: Gauge, c: RodChannel, all: readonly RodChannel[], until: number | undefined, shaftEnd: number): void {
  const { frame } = gauge;
  const y = c.y ?? 0;
  const r = c.width / 2;
  const widths: number[] = [];
  const middles: number[] = [];
  const offFloors: number[] = [];
  // stations beside other channels are open to them and say nothing of this one's walls
  const wider = all.filter((o) => o !== c && o.from === c.from && Math.abs((o.y ?? 0) - y) < (o.width + c.width) / 2);
  const open = (x: number): boolean => wider.some((o) => o.width >= c.width && x > o.xMin - 0.5 && x < o.xMax + 0.5);
  for (let k = 0; k < 9; k++) {
    const x = c.xMin + r + ((c.xMax - c.xMin - 2 * r) * (k + 0.5)) / 9;
    if (open(x)) continue;
    const ground = gauge.ground(x, y, r + 2, until);
    const floor = channelFloor(c, x);
    const level = frame.z(floor) + 1;
    const plus = wallAt((s, enough) => ground(x, y + s, enough), level, r + 1, 0, 0.05);
    const minus = wallAt((s, enough) => ground(x, y + s, enough), level, -r - 1, 0, 0.05);
    widths.push(plus - minus);
    middles.push((plus + minus) / 2);
    offFloors.push(frame.neckZ(ground(x, y)) - floor);
  }
  const at = { x: (c.xMin + c.xMax) / 2, y };
  if (widths.length === 0) return;
  gauge.measure(PF.CHANNEL, mm(c.id, "width", c.width, farthest(c.width, widths)), at);
  gauge.measure(PF.CHANNEL, mm(c.id, "off its middle line", 0, farthest(0, middles)), at);
  gauge.measure(PF.CHANNEL, mm(c.id, "floor above the glue plane", c.zFloor, c.zFloor + farthest(0, offFloors)), at);
  for (const [name, x, dir] of [
    ["end toward the headstock", c.xMin, -1],
    ["end toward the body", c.xMax, 1],
  ] as const) {
    // open to another channel, or to the shaft's end
    if (x + dir > shaftEnd || wider.some((o) => x > o.xMin - 0.5 && x < o.xMax + 0.5)) continue;
    const ground = gauge.ground(x, y, r + 2, until);
    const level = frame.z(channelFloor(c, x)) + 1;
    gauge.measure(PF.CHANNEL, mm(c.id, name, x, x + dir * wallAt((s, enough) => ground(x + dir * s, y, enough), level, 1, -r, 0.05)), {
      x,
      y,
    });
  }
}
