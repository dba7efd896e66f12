import { type Affine, inverseAffine, mapMoves, mapPoint } from "../../kernel/map-moves.ts";
import type { MoveList } from "../../kernel/moves.ts";
import { inForce, type OrderCorrection } from "../../spec/corrections.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { degToRad, type Mm, type Rad } from "../../units/index.ts";
import type { SideName } from "../types.ts";

/*
 * What the machine makes of a program: true = M programmed + t, in the program's frame of a side. M is of the machine (scale and
 * lean of its axes about the program's zero) and of the piece (how far it lies askew after turning), t of the piece (where it really
 * lies after turning, what came out too high). Programs
 * are posted through the inverse; the proof takes what it reads through the map itself, so that it sees the true wood.
 */

/** Corrections beyond these are refused: so much is no error to be posted away but a machine or a set-up to be mended. */
export const RANGES: Readonly<{ scale: number; square: Rad; turn: Mm; askew: Rad; height: Mm }> = {
  scale: 0.02,
  square: degToRad(1),
  turn: 3,
  askew: degToRad(0.5),
  height: 1.5,
};

type Real = NonNullable<MachineSpec["real"]>;

/** The map of a side; undefined when the machine does what it is told. */
export function realOf(
  machine: Pick<MachineSpec, "real">,
  corrections: readonly OrderCorrection[] | undefined,
  side: SideName,
): Affine | undefined {
  const real: Real = machine.real ?? { x: 1, y: 1, z: 1, square: 0 };
  let z = 0;
  for (const c of inForce(corrections)) if (c.kind === "height" && c.side === side) z += c.by;
  const { x, y, angle } = side === "carve" ? turnedBy(corrections) : { x: 0, y: 0, angle: 0 };
  if (real.x === 1 && real.y === 1 && real.z === 1 && real.square === 0 && x === 0 && y === 0 && angle === 0 && z === 0) return undefined;
  const lean = Math.tan(real.square) * real.y;
  if (angle === 0) return [real.x, lean, 0, x, 0, real.y, 0, y, 0, 0, real.z, z];
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  return [cos * real.x, cos * lean - sin * real.y, 0, x, sin * real.x, sin * lean + cos * real.y, 0, y, 0, 0, real.z, z];
}

/** How the piece lies after turning, all corrections in force together: each was measured of programs that had those before it. */
export function turnedBy(corrections: readonly OrderCorrection[] | undefined): { readonly x: Mm; readonly y: Mm; readonly angle: Rad } {
  let [x, y, angle] = [0, 0, 0];
  for (const c of inForce(corrections)) {
    if (c.kind !== "turn") continue;
    const [cos, sin] = [Math.cos(c.angle ?? 0), Math.sin(c.angle ?? 0)];
    [x, y] = [cos * x - sin * y + c.x, sin * x + cos * y + c.y];
    angle += c.angle ?? 0;
  }
  return { x, y, angle: angle as Rad };
}

/** The moves that are to be programmed so that these come out. */
export const posted = (moves: MoveList, real: Affine | undefined): MoveList =>
  real === undefined ? moves : mapMoves(moves, inverseAffine(real));

/** What the machine makes of moves that were programmed, and of what happens before a move of theirs. */
export function cutBy<E extends { readonly move: number }>(
  moves: MoveList,
  events: readonly E[],
  real: Affine | undefined,
): { readonly moves: MoveList; readonly events: readonly E[] } {
  if (real === undefined) return { moves, events };
  const first = new Uint32Array(moves.count + 1);
  const cut = mapMoves(moves, real, first);
  return { moves: cut, events: events.map((e) => ({ ...e, move: first[Math.min(e.move, moves.count)] })) };
}

/** The height to program for a height that is to be. */
export const postedHeight = (z: Mm, real: Affine | undefined): Mm => (real === undefined ? z : mapPoint(inverseAffine(real), 0, 0, z)[2]);
