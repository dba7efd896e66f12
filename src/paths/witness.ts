import { checkConditions, checkCutter } from "../cutting/check.ts";
import { conditionsFor } from "../cutting/conditions.ts";
import { feedsAlong } from "../cutting/feeds-along.ts";
import type { Conditions, Cutter, Machine } from "../cutting/types.ts";
import { SWATH } from "../holding/extent.ts";
import { SKIN_LEFT } from "../holding/sections/types.ts";
import { apply, inverse } from "../holding/transform.ts";
import type { Side, Solid } from "../holding/types.ts";
import { flatten } from "../kernel/contour.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import { signedDistance } from "../kernel/polygon.ts";
import type { ForceModel } from "../materials/cutting-force.ts";
import type { Neck } from "../neck/types.ts";
import type { Finding, Mm } from "../units/index.ts";
import { bore, peck } from "./strategies/bore.ts";
import type { Motion } from "./strategies/common.ts";

/*
 * Witness marks: the board side bores two holes through the waste, the carve side scribes a ring about each. What the ring is out of the
 * middle of its hole is what the turned piece lies beside its place.
 *
 *       ( o )  turned as it should     (o  )  the ring stands to the right of its hole: +x
 */

export interface WitnessPlace {
  /** In the program of each side. */
  readonly board: readonly [Mm, Mm];
  readonly carve: readonly [Mm, Mm];
}

export interface WitnessCut {
  readonly id: string;
  readonly title: string;
  readonly conditions: Conditions;
  readonly moves: MoveList;
  readonly findings: readonly Finding[];
}

export interface Witness {
  readonly places: readonly WitnessPlace[];
  readonly hole: Mm;
  /** Diameter of the ring's middle line. */
  readonly ring: Mm;
  readonly bores: WitnessCut;
  readonly rings: WitnessCut;
}

/** Wood between hole and ring, and round the ring. */
const BETWEEN: Mm = 4;
const AROUND: Mm = 3;
const SCRIBED: Mm = 0.4;
/** Places are looked for so far apart. */
const STEP: Mm = 2;

export interface WitnessAsk {
  readonly neck: Neck;
  readonly machine: Machine;
  readonly sides: { readonly board: Side; readonly carve: Side };
  readonly bore: Cutter;
  readonly scribe: Cutter;
  readonly density: number;
  readonly coefficients?: ForceModel;
}

const reachOf = (c: Cutter): Mm => Math.max(c.diameter, c.shankDiameter) / 2;

/** Distance of a place from a solid's footprint, nothing inside. */
function fromSolid(s: Solid, x: Mm, y: Mm): Mm {
  if (s.kind === "cylinder") return Math.hypot(x - s.x, y - s.y) - s.diameter / 2;
  if (s.kind === "prism") return signedDistance([Float64Array.from(s.points.flat())], x, y);
  return Math.hypot(Math.max(s.min[0] - x, 0, x - s.max[0]), Math.max(s.min[1] - y, 0, y - s.max[1]));
}

/** Plans the marks. Throws a RangeError, in words, where there is no room or the cutter cannot make them. */
export function planWitness(ask: WitnessAsk): Witness {
  const { neck, machine, sides, scribe } = ask;
  const { board, carve } = sides;
  const drill = ask.bore.shape === "drill";
  if (!drill && ask.bore.shape !== "flat")
    throw new RangeError(`cutter ${ask.bore.number} is neither a drill nor flat: it bores no clean hole`);
  const deep = board.stock.max[2] - board.stock.min[2] - SKIN_LEFT;
  if (ask.bore.reach < deep + 2)
    throw new RangeError(`cutter ${ask.bore.number} reaches ${ask.bore.reach} mm, the hole is ${deep.toFixed(1)} mm deep`);
  if (ask.bore.fluteLength < deep)
    throw new RangeError(
      `the edges of cutter ${ask.bore.number} are ${ask.bore.fluteLength} mm long, the hole is ${deep.toFixed(1)} mm deep`,
    );
  const hole = drill ? ask.bore.diameter : Math.round(ask.bore.diameter * 15) / 10;
  const ring = hole + 2 * BETWEEN;
  const outer = ring / 2 + reachOf(scribe) + AROUND;
  const back = inverse(board.neckToProgram);
  const outline = flatten(neck.outline, 0.05);
  const { min, max } = board.stock;
  const carved = (x: Mm, y: Mm): readonly [Mm, Mm] => {
    const n = apply(back, x, y, 0);
    const p = apply(carve.neckToProgram, n[0], n[1], 0);
    return [p[0], p[1]];
  };
  /** Wood round a ring there, less than nothing where there is no room. */
  const room = (x: Mm, y: Mm): Mm => {
    const n = apply(back, x, y, 0);
    const edges = Math.min(x - min[0], max[0] - x, y - min[1], max[1] - y) - outer;
    if (edges < 0) return edges;
    const neckOff = signedDistance([outline], n[0], n[1]) - SWATH - outer;
    if (neckOff < 0) return neckOff;
    const [cx, cy] = carved(x, y);
    return Math.min(
      edges,
      neckOff,
      ...board.holding.filter((s) => s.role !== "support").map((s) => fromSolid(s, x, y) - outer),
      ...carve.holding.map((s) => fromSolid(s, cx, cy) - (s.role === "support" ? hole : outer)),
    );
  };
  const long = max[0] - min[0] >= max[1] - min[1] ? 0 : 1;
  const length = max[long] - min[long];
  const best = [0, 1].map((end) => {
    let found: { readonly at: readonly [Mm, Mm]; readonly room: Mm } | null = null;
    for (let u = 0; u <= length / 3; u += STEP)
      for (let v = 0; v <= max[1 - long] - min[1 - long]; v += STEP) {
        const a = end === 0 ? min[long] + u : max[long] - u;
        const c = min[1 - long] + v;
        const at: readonly [Mm, Mm] = long === 0 ? [a, c] : [c, a];
        const r = room(...at);
        // the further apart, the better they tell an angle: a millimetre of wood for ten along the blank
        const worth = Math.min(r, 6) - u / 10;
        if (r >= 0 && (found === null || worth > found.room)) found = { at, room: worth };
      }
    return found;
  });
  if (best[0] === null || best[1] === null)
    throw new RangeError(
      `in the waste there is no room for a ring of ${ring.toFixed(1)} mm with ${AROUND} mm round it, clear of the outline's cutter and of what holds the piece, near both ends`,
    );
  const places = best.map((p): WitnessPlace => ({ board: p!.at, carve: carved(...p!.at) }));
  const wood = { moisture: neck.order.blank.moisture, ...(ask.coefficients ? { model: ask.coefficients } : {}) };
  const motion = (side: Side, c: Conditions): Motion => ({
    feed: c.feed,
    ramp: c.ramp,
    plunge: c.plunge,
    safeZ: side.safeZ,
    approachZ: side.stock.max[2] + machine.approach,
  });
  const cut = (
    id: string,
    title: string,
    side: Side,
    cutter: Cutter,
    kind: "slot" | "plunge",
    depth: Mm,
    c: Conditions,
    make: (b: MoveBuilder, m: Motion) => void,
  ): WitnessCut => {
    const b = new MoveBuilder([places[0][side.name][0], places[0][side.name][1], side.safeZ]);
    make(b, motion(side, c));
    return {
      id,
      title,
      conditions: c,
      moves: feedsAlong(b.list(), { acceleration: machine.acceleration, plunge: c.plunge }),
      findings: [...checkCutter(cutter), ...checkConditions(cutter, machine, c, { where: id, kind, depthBelowTop: depth })],
    };
  };
  const boring = conditionsFor(ask.bore, machine, ask.density, { step: ask.bore.diameter, kind: drill ? "plunge" : "slot", wood });
  const scribing = conditionsFor(scribe, machine, ask.density, { step: scribe.diameter, kind: "slot", depth: SCRIBED, wood });
  const top = board.stock.max[2];
  const floor = board.stock.min[2] + SKIN_LEFT;
  return {
    places,
    hole,
    ring,
    bores: cut("witness-holes", "Witness holes", board, ask.bore, drill ? "plunge" : "slot", deep, boring, (b, m) => {
      for (const p of places) {
        if (drill) peck(b, ...p.board, top, floor, { ...m, peck: boring.depth });
        else
          bore(
            b,
            ...p.board,
            { diameter: hole, zTop: top, zBottom: floor },
            { ...m, cutterDiameter: ask.bore.diameter, depth: Math.min(boring.depth, ask.bore.diameter / 2) },
          );
      }
    }),
    rings: cut("witness-rings", "Witness rings", carve, scribe, "slot", SCRIBED, scribing, (b, m) => {
      const z = carve.stock.max[2] - SCRIBED;
      for (const {
        carve: [x, y],
      } of places) {
        const r = ring / 2;
        b.rapid(x + r, y, m.safeZ);
        b.rapid(x + r, y, m.approachZ);
        b.lineTo(x + r, y, z, m.plunge);
        for (const turn of [1, 2]) {
          const a = turn * Math.PI;
          b.arcTo(x + r * Math.cos(a), y, z, x, y, z, Math.PI, m.feed);
        }
        b.rapid(x + r, y, m.safeZ);
      }
    }),
  };
}
