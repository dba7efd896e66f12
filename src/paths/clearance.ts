import { profileOf, radiusAtHeight, tipHeight, whatIsWrong } from "../cutting/shape.ts";
import type { Cutter } from "../cutting/types.ts";
import { unturned } from "../holding/check.ts";
import { CLEAR } from "../holding/extent.ts";
import { baseName, freeOf, middleOf, shifted } from "../holding/placed.ts";
import { settingOf } from "../holding/sections/setting.ts";
import type { Holding, Side, SideName, Solid } from "../holding/types.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { planDistance, roundOf, topOf } from "./reach.ts";
import { PA } from "./rules.ts";
import type { Clearance, Cut, SideClearance } from "./types.ts";

/*
 * How far everything that holds the piece stands from all that turns: cutter, shank and every step of the holder, over every move that goes
 * below the safe height. The distance to a tool changes by no more than its tip moves, so a move is halved until the rest of it surely
 * keeps further off than what was found already:
 *
 *      |  holder |            ____
 *      |___   ___|      gap  |    |   block: its height counts, so that a holder that passes above it keeps its distance upward
 *          |_|  <----------->|    |
 *          | |               |____|
 */

/** Pieces of a move shorter than this are not divided further. */
const FINE: Mm = 0.02;
/** A rounded or pointed tip is taken as so many steps, each as wide as it is at its top. */
const STEPS = 8;

/** What turns about the spindle's axis, by heights above the tip. */
interface Part {
  readonly part: Clearance["part"];
  readonly radius: Mm;
  readonly from: Mm;
  readonly to: Mm;
}

export function partsOf(cutter: Cutter): Part[] {
  const out: Part[] = [];
  const profile = whatIsWrong(cutter) === null ? profileOf(cutter) : null;
  const full = profile === null ? 0 : Math.min(tipHeight(profile), cutter.fluteLength);
  for (let k = 0; k < STEPS && profile !== null && full > 0; k++) {
    const to = (full * (k + 1)) / STEPS;
    out.push({ part: "cutter", radius: radiusAtHeight(profile, to), from: (full * k) / STEPS, to });
  }
  out.push({ part: "cutter", radius: cutter.diameter / 2, from: full, to: cutter.fluteLength });
  out.push({ part: "shank", radius: cutter.shankDiameter / 2, from: cutter.fluteLength, to: cutter.reach });
  let from = cutter.reach;
  cutter.holder.forEach((h, k) => {
    // above what is described, the spindle: as wide as the last piece of the holder
    const to = k === cutter.holder.length - 1 ? Number.POSITIVE_INFINITY : from + h.length;
    out.push({ part: "holder", radius: h.diameter / 2, from, to });
    from += h.length;
  });
  return out;
}

const bottomOf = (s: Solid): Mm => (s.kind === "box" ? s.min[2] : s.zMin);

interface Found {
  readonly mm: Mm;
  readonly part: Clearance["part"];
  readonly at: readonly [Mm, Mm, Mm];
}

/** Moves looked at together before each of them is. */
const TOGETHER = 32;

/** Boxes in plan around so many moves each, with the lowest that the tip comes: xMin, yMin, xMax, yMax, zMin. */
function boxesOf(m: MoveList): Float64Array {
  const out = new Float64Array(5 * Math.ceil(m.count / TOGETHER));
  let [px, py, pz] = m.start;
  for (let from = 0, o = 0; from < m.count; from += TOGETHER, o += 5) {
    let [xMin, yMin, xMax, yMax, zMin] = [px, py, px, py, pz];
    for (let k = from; k < Math.min(m.count, from + TOGETHER); k++) {
      const [qx, qy, qz] = [m.x[k], m.y[k], m.z[k]];
      // the whole circle of an arc, whatever its plane
      const r = m.kind[k] === MoveKind.arc ? 2 * arcRadius(m, k, px, py, pz) : 0;
      xMin = Math.min(xMin, qx - r);
      xMax = Math.max(xMax, qx + r);
      yMin = Math.min(yMin, qy - r);
      yMax = Math.max(yMax, qy + r);
      zMin = Math.min(zMin, qz - r);
      [px, py, pz] = [qx, qy, qz];
    }
    out.set([xMin, yMin, xMax, yMax, zMin], o);
  }
  return out;
}

/** The least distance between a solid and a tool over all moves, no more than `most`; null when it is more. */
function leastOver(m: MoveList, boxes: Float64Array, parts: readonly Part[], s: Solid, safeZ: Mm, most: Mm): Found | null {
  const { x: cx, y: cy, radius } = roundOf(s);
  const [top, bottom] = [topOf(s), bottomOf(s)];
  const widest = Math.max(...parts.map((p) => p.radius));
  let best = most;
  let found: Found | null = null;
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    if (k % TOGETHER === 0) {
      const o = 5 * (k / TOGETHER);
      const dx = Math.max(0, boxes[o] - cx, cx - boxes[o + 2]);
      const dy = Math.max(0, boxes[o + 1] - cy, cy - boxes[o + 3]);
      const far = radius + widest + best;
      if (boxes[o + 4] >= safeZ - 1e-6 || dx * dx + dy * dy >= far * far) {
        k = Math.min(m.count, k + TOGETHER) - 1;
        [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
        continue;
      }
    }
    const [ax, ay, az] = [px, py, pz];
    [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
    const arc = m.kind[k] === MoveKind.arc;
    if (m.kind[k] === MoveKind.dwell) continue;
    if (!arc && az >= safeZ - 1e-6 && pz >= safeZ - 1e-6) continue;
    const r = arc ? arcRadius(m, k, ax, ay, az) : 0;
    const across = arc ? r * m.sweep[k] : Math.sqrt((px - ax) * (px - ax) + (py - ay) * (py - ay));
    const length = Math.sqrt(across * across + (pz - az) * (pz - az));
    // whole moves that stay far off, by the distance of their end
    const off = radius + widest + best + length;
    if ((px - cx) * (px - cx) + (py - cy) * (py - cy) >= off * off) continue;
    const stack: number[] = [0, 1];
    while (stack.length > 0) {
      const b = stack.pop() as number;
      const a = stack.pop() as number;
      const p = at(m, k, ax, ay, az, r, (a + b) / 2);
      const half = ((b - a) * length) / 2;
      const d = planDistance(s, p[0], p[1]);
      let near = Number.POSITIVE_INFINITY;
      let part: Clearance["part"] = "cutter";
      for (const q of parts) {
        const up = Math.max(0, p[2] + q.from - top, bottom - p[2] - q.to);
        const gap = Math.hypot(Math.max(0, d - q.radius), up);
        if (gap < near) [near, part] = [gap, q.part];
      }
      if (near < best) {
        best = near;
        found = { mm: near, part, at: p };
      }
      if (near - half >= best || half < FINE) continue;
      stack.push(a, (a + b) / 2, (a + b) / 2, b);
    }
  }
  return found;
}

function arcRadius(m: MoveList, k: number, ax: Mm, ay: Mm, az: Mm): Mm {
  if (m.plane[k] === 0) return Math.hypot(ax - m.cx[k], ay - m.cy[k]);
  return m.plane[k] === 1 ? Math.hypot(ax - m.cx[k], az - m.cz[k]) : Math.hypot(ay - m.cy[k], az - m.cz[k]);
}

/** The place at share t of move k that begins at (ax, ay, az). */
function at(m: MoveList, k: number, ax: Mm, ay: Mm, az: Mm, r: Mm, t: number): readonly [Mm, Mm, Mm] {
  const line = (u: Mm, v: Mm): Mm => u + (v - u) * t;
  if (m.kind[k] !== MoveKind.arc) return [line(ax, m.x[k]), line(ay, m.y[k]), line(az, m.z[k])];
  const turn = (u: Mm, v: Mm, cu: Mm, cv: Mm): readonly [Mm, Mm] => {
    const a = Math.atan2(v - cv, u - cu) + m.sweep[k] * t;
    return [cu + r * Math.cos(a), cv + r * Math.sin(a)];
  };
  if (m.plane[k] === 0) {
    const [x, y] = turn(ax, ay, m.cx[k], m.cy[k]);
    return [x, y, line(az, m.z[k])];
  }
  if (m.plane[k] === 1) {
    const [z, x] = turn(az, ax, m.cz[k], m.cx[k]);
    return [x, line(ay, m.y[k]), z];
  }
  const [y, z] = turn(ay, az, m.cy[k], m.cz[k]);
  return [line(ax, m.x[k]), y, z];
}

interface Swept {
  readonly cut: Cut;
  readonly parts: readonly Part[];
  readonly boxes: Float64Array;
}

const sweptBy = (cuts: readonly Cut[], cutters: readonly Cutter[], side: SideName): Swept[] =>
  cuts.flatMap((cut) => {
    const cutter = cut.side === side ? cutters.find((c) => c.number === cut.cutter) : undefined;
    return cutter === undefined ? [] : [{ cut, parts: partsOf(cutter), boxes: boxesOf(cut.moves) }];
  });

/** Of a solid over several cuts: which comes nearest, and how near. */
function nearest(s: Solid, swept: readonly Swept[], safeZ: Mm, most: Mm = FAR): Clearance | null {
  let out: Clearance | null = null;
  for (const { cut, parts, boxes } of swept) {
    const f = leastOver(cut.moves, boxes, parts, s, safeZ, out?.mm ?? most);
    if (f !== null) out = { name: s.name, role: s.role, cut: cut.id, ...f };
  }
  return out;
}

/** What stands further off than this is not measured. */
const FAR: Mm = 60;

/** The nearest of what holds each side that has cuts: of what stands, and of the strips under the piece. Further off than 60 mm: left out. */
export function sideClearances(holding: Holding, cuts: readonly Cut[], cutters: readonly Cutter[]): SideClearance[] {
  return (["board", "carve"] as const).flatMap((name) => {
    const side = holding.sides[name];
    const swept = sweptBy(cuts, cutters, name);
    let standing = null as Clearance | null;
    let under = null as Clearance | null;
    for (const n of new Set(swept.map((w) => w.cut.section))) {
      const mine = swept.filter((w) => w.cut.section === n);
      // strips lie under the piece, and are near to it by what they are: they count by themselves
      for (const s of settingOf(side, n).holding)
        if (s.role === "support") under = nearest(s, mine, side.safeZ, under?.mm) ?? under;
        else standing = nearest(s, mine, side.safeZ, standing?.mm) ?? standing;
    }
    if (standing === null && under === null) return [];
    return [{ side: name, ...(standing === null ? {} : { standing }), ...(under === null ? {} : { under }) }];
  });
}

/** A step of what is tried when a part is to be moved out of the way, and how far it is looked for. */
const STEP: Mm = 0.5;
const LOOKED: Mm = 60;

/** A finding for every part that stands nearer to what turns than it may, with how far it has to go. `clear`: of the same cuts. */
export function checkClear(
  holding: Holding,
  cuts: readonly Cut[],
  cutters: readonly Cutter[],
  clear: readonly SideClearance[] = sideClearances(holding, cuts, cutters),
): Finding[] {
  const tooNear = (c: Clearance | undefined): boolean => c !== undefined && c.mm < CLEAR - 1e-6;
  return (["board", "carve"] as const).flatMap((name) => {
    if (!clear.some((c) => c.side === name && (tooNear(c.standing) || tooNear(c.under)))) return [];
    const side = holding.sides[name];
    const swept = sweptBy(cuts, cutters, name);
    const out = new Map<string, Finding>();
    for (const n of new Set(swept.map((w) => w.cut.section))) {
      const mine = swept.filter((w) => w.cut.section === n);
      const { holding: solids } = settingOf(side, n);
      for (const s of solids) {
        const base = baseName(s);
        const c = nearest(s, mine, side.safeZ, CLEAR);
        const before = out.get(base);
        if (c === null || c.mm >= CLEAR - 1e-6 || (before !== undefined && Number(before.value) <= c.mm)) continue;
        const r2 = (v: Mm): Mm => Math.floor(v * 100) / 100;
        out.set(
          base,
          finding(PA.clear, {
            where: `${name} side, ${base}`,
            value: r2(c.mm),
            limit: CLEAR,
            unit: "mm",
            says: `In ${c.cut} the ${c.part} comes ${c.mm > 0 ? `within ${r2(c.mm)} mm of` : "into"} ${base}; ${CLEAR} mm are to stay between them.`,
            tryThis: `${wayOut(
              side,
              solids.filter((q) => baseName(q) === base),
              mine,
              n !== undefined,
            )}`,
          }),
        );
      }
    }
    return [...out.values()];
  });
}

/** In words: how far a part has to be moved until all of it is clear. */
function wayOut(side: Side, parts: readonly Solid[], swept: readonly Swept[], inSection: boolean): string {
  const otherwise = "Take a longer or wider blank, a smaller cutter or a slimmer holder, or lower what stands there.";
  const main = parts[0];
  const free = freeOf(main.role, main.name);
  const turned = Math.abs(side.neckToProgram[0]) < 0.5;
  const { stock } = unturned(side);
  const lay = { along: stock.max[0] > 0 ? 1 : -1, up: stock.max[1] > 0 ? 1 : -1 } as const;
  const clear = (u: Mm, v: Mm): boolean => {
    // away from the stop and away from the datum edge, in the side's own axes
    const [x, y] = [u * lay.along, v * lay.up];
    const [dx, dy] = turned ? [-y, x] : [x, y];
    return parts.every((s) => nearest(shifted(s, dx, dy), swept, side.safeZ, CLEAR) === null);
  };
  for (let by = STEP; by <= LOOKED; by += STEP)
    for (const [can, u, v, way] of [
      [free.y, 0, by, "away from the datum edge's line"],
      [free.y, 0, -by, "toward the datum edge's line"],
      [free.x, by, 0, "away from the end stop's line"],
      [free.x, -by, 0, "toward the end stop's line"],
    ] as const) {
      if (!can || !clear(u, v)) continue;
      if (inSection) return `Move it ${by} mm ${way}. ${otherwise}`;
      // the middle as holding.placed counts it
      const back = (s: Solid): Solid => (turned ? quarterBack(s) : s);
      const [x, y] = middleOf(back(main), lay);
      const key = u === 0 ? `y ${r1(y + v)}` : `x ${r1(x + u)}`;
      return `Move it ${by} mm ${way} (holding.placed, "${baseName(main)}", ${key}).`;
    }
  return otherwise;
}

const r1 = (v: Mm): Mm => Math.round(v * 10) / 10;

/** Undoes the quarter turn of a machine whose long axis is y: (x, y) -> (y, -x). */
function quarterBack(s: Solid): Solid {
  if (s.kind === "cylinder") return { ...s, x: s.y, y: -s.x };
  if (s.kind === "prism") return { ...s, points: s.points.map(([x, y]) => [y, -x] as const) };
  return { ...s, min: [s.min[1], -s.max[0], s.min[2]], max: [s.max[1], -s.min[0], s.max[2]] };
}
