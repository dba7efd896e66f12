import { cutBy } from "../../holding/correct/posting.ts";
import { type Box2, type Lying, type Nested, nest } from "../../holding/nest.ts";
import type { SideName, Solid } from "../../holding/types.ts";
import { bounds } from "../../kernel/bounds.ts";
import { type Affine, inverseAffine, mapPoint } from "../../kernel/map-moves.ts";
import { schedule, type Turn } from "../../program/batch/schedule.ts";
import type { Mm } from "../../units/index.ts";
import { InputError } from "../errors.ts";
import type { MadeJob } from "../made.ts";
import { openProgram, type SetSide } from "../resume.ts";
import { sourceOf } from "../resume-made.ts";
import { cutterOfStep, type JobStep, type Piece, phasesOf, sideOf } from "./pieces.ts";

/* Laying out: where each piece lies on the bed, and whose turn it is. */

/** Moves may come out so much beside where they are told, for machines that are corrected. */
const BESIDE: Mm = 0.5;

/** One side of the bed. */
export interface LaidSide {
  readonly side: SideName;
  readonly nested: Nested;
  /** By piece: its zero from that of piece 1, as programs are told. */
  readonly shifts: readonly (readonly [Mm, Mm])[];
  /** By piece: its side, and its own safe height as the machine is told. */
  readonly sides: readonly SetSide[];
  readonly told: readonly Mm[];
  /** The bed's safe height. */
  readonly safe: Mm;
}

/** A turn of the work; one that cuts has the number of its program. */
export interface LaidTurn {
  readonly side: SideName;
  readonly turn: Turn;
  readonly number: number | null;
  /** What a step of the turn is in its piece's own job. */
  readonly stepOf: (s: Turn["steps"][number]) => JobStep;
}

export interface Laid {
  readonly pieces: readonly Piece[];
  readonly sides: ReadonlyMap<SideName, LaidSide>;
  readonly turns: readonly LaidTurn[];
  readonly changes: number;
  readonly fewest: boolean;
}

const boxOf = (s: Solid): Box2 =>
  s.kind === "box"
    ? { xMin: s.min[0], yMin: s.min[1], xMax: s.max[0], yMax: s.max[1] }
    : s.kind === "cylinder"
      ? { xMin: s.x - s.diameter / 2, yMin: s.y - s.diameter / 2, xMax: s.x + s.diameter / 2, yMax: s.y + s.diameter / 2 }
      : {
          xMin: Math.min(...s.points.map((p) => p[0])),
          yMin: Math.min(...s.points.map((p) => p[1])),
          xMax: Math.max(...s.points.map((p) => p[0])),
          yMax: Math.max(...s.points.map((p) => p[1])),
        };
const join = (a: Box2, b: Box2): Box2 => ({
  xMin: Math.min(a.xMin, b.xMin),
  yMin: Math.min(a.yMin, b.yMin),
  xMax: Math.max(a.xMax, b.xMax),
  yMax: Math.max(a.yMax, b.yMax),
});

/** A piece's blank with all that holds it, and all that its cutters come to. */
function lying(made: MadeJob, name: SideName): Lying {
  const side = sideOf(made, name);
  const { min, max } = side.stock;
  const solid = side.holding.map(boxOf).reduce(join, { xMin: min[0], yMin: min[1], xMax: max[0], yMax: max[1] });
  const sweep = made.programs
    .filter((p) => p.side === name)
    .map((p): Box2 => {
      const { written, cutter } = openProgram(sourceOf(made), p.file);
      const b = bounds(cutBy(written.moves, [], side.real).moves);
      const r = BESIDE + Math.max(cutter.diameter, cutter.shankDiameter, ...cutter.holder.map((h) => h.diameter)) / 2;
      return { xMin: b.min[0] - r, yMin: b.min[1] - r, xMax: b.max[0] + r, yMax: b.max[1] + r };
    })
    .reduce(join);
  return { solid, sweep };
}

const straight = (real: Affine | undefined): Affine =>
  real === undefined
    ? [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]
    : [real[0], real[1], real[2], 0, real[4], real[5], real[6], 0, real[8], real[9], real[10], 0];

function laySide(pieces: readonly Piece[], side: SideName, gap: Mm): LaidSide {
  const { machine } = pieces[0].made.shop;
  const sides = pieces.map((p) => sideOf(p.made, side));
  const { nested, fit } = nest(
    pieces.map((p) => lying(p.made, side)),
    [machine.travel.x, machine.travel.y],
    [machine.bed.x, machine.bed.y],
    machine.along,
    gap,
  );
  if (nested === null)
    throw new InputError(
      `${side} side`,
      `only the first ${fit} of ${pieces.length} pieces lie on the bed with ${gap} mm between them`,
      "batch fewer, or a smaller --gap",
    );
  // told so that it comes out there, whatever the machine makes of a millimetre; in steps of the text
  const shifts = nested.at.map(([x, y], k): [Mm, Mm] => {
    const to = mapPoint(inverseAffine(straight(sides[k].real)), x - nested.at[0][0], y - nested.at[0][1], 0);
    return [Math.round(to[0] * 1e4) / 1e4, Math.round(to[1] * 1e4) / 1e4];
  });
  const told = sides.map((s) => (s.real === undefined ? s.safeZ : mapPoint(inverseAffine(s.real), 0, 0, s.safeZ)[2]));
  return { side, nested, shifts, sides, told, safe: Math.ceil(Math.max(...told) * 1e4) / 1e4 };
}

/** Lays the pieces out on both sides and orders the work of all of them. Throws InputError on pieces that do not lie on one bed. */
export function layOut(pieces: readonly Piece[], gap: Mm): Laid {
  const ways = pieces.map((p) => phasesOf(p.made));
  const odd = ways.findIndex((w) => w.map((x) => x.side).join() !== ways[0].map((x) => x.side).join());
  if (odd >= 0)
    throw new InputError(
      pieces[odd].made.folder,
      "it is turned over at other times than the first piece (a rest between roughing and finishing)",
      "batch pieces of the same plan",
    );
  const sides = new Map<SideName, LaidSide>();
  const turns: LaidTurn[] = [];
  let [number, changes, fewest] = [0, 0, true];
  for (const [n, { side }] of ways[0].entries()) {
    if (!sides.has(side)) sides.set(side, laySide(pieces, side, gap));
    const plan = schedule(ways.map((w, k) => w[n].steps.map((s, i) => ({ id: String(i), cutter: cutterOfStep(pieces[k].made, s) }))));
    changes += plan.changes;
    fewest &&= plan.exact;
    for (const turn of plan.turns)
      turns.push({
        side,
        turn,
        number: turn.kind === "cut" ? ++number : null,
        stepOf: (s) => ways[s.piece][n].steps[Number(s.id)],
      });
  }
  return { pieces, sides, turns, changes, fewest };
}
