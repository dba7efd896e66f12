import { whatIsWrong } from "../cutting/shape.ts";
import { apply } from "../holding/transform.ts";
import type { SideName, Transform } from "../holding/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { checkPinHoles } from "./pin-holes.ts";
import { LIES_ELSEWHERE, NO_CUTTER, NO_SIDE, RIGID, SAME_BLANK, SIDE_UP, STEPS, TURN } from "./rules.ts";
import { checkSectionsStated } from "./sections.ts";
import type { ProofInput, ProofSide } from "./types.ts";

const EXACT = 1e-6;

/** How far a transform's matrix is from a rotation: the largest entry of M M^T - 1, and |det - 1|. */
export function notRigid(t: Transform): number {
  const rows = [0, 4, 8].map((k) => [t[k], t[k + 1], t[k + 2]]);
  const dot = (a: number[], b: number[]): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  if (!t.every(Number.isFinite)) return Number.POSITIVE_INFINITY;
  let worst = 0;
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) worst = Math.max(worst, Math.abs(dot(rows[i], rows[j]) - (i === j ? 1 : 0)));
  const [a, b, c] = rows;
  const det = a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  return Math.max(worst, Math.abs(det - 1));
}

/** What the job states before any program is read, as far as it concerns one side. */
export function checkSetup(input: ProofInput, name: SideName): Finding[] {
  const side = input.sides.find((s) => s.name === name);
  if (side === undefined || !soundStock(side)) {
    return [
      finding(NO_SIDE, {
        where: `side ${name}`,
        value: null,
        limit: null,
        unit: "",
        says: side === undefined ? `The job does not state the ${name} side.` : `The ${name} side's stock is not a box with a size.`,
        tryThis: "Make the job again from its order.",
      }),
    ];
  }
  return [
    ...checkTransforms(input, side),
    ...checkSteps(input, name),
    ...checkSectionsStated(input, side),
    ...checkCutters(input, name),
    ...(name === "carve" ? checkPinHoles(input, side) : []),
  ];
}

const soundStock = ({ stock }: ProofSide): boolean =>
  [0, 1, 2].every((k) => stock.max[k] - stock.min[k] > 0 && stock.max[k] - stock.min[k] < 5000);

function checkTransforms(input: ProofInput, side: ProofSide): Finding[] {
  const t = side.neckToProgram;
  const where = `side ${side.name}, transform`;
  const tryThis = "Do not prove these programs further: make the job again from its order.";
  const off = notRigid(t);
  if (off > EXACT) {
    return [
      finding(RIGID, {
        where,
        value: off,
        limit: EXACT,
        unit: "",
        says: `The ${side.name} side's transform stretches, shears or mirrors the neck.`,
        tryThis,
      }),
    ];
  }
  const up = side.name === "board" ? 1 : -1;
  if (Math.abs(t[10] - up) > EXACT) {
    const says =
      side.name === "board"
        ? "On the board side the board does not face the spindle."
        : "On the carve side the back does not face the spindle.";
    return [finding(SIDE_UP, { where, value: t[10], limit: up, unit: "", says, tryThis })];
  }
  const board = input.sides.find((s) => s.name === "board");
  if (side.name === "board") return checkPlace(input, side);
  if (board === undefined || notRigid(board.neckToProgram) > EXACT) return [];
  return [...checkTurn(input, board, side), ...checkBlank(board, side)];
}

/**
 * What leads from the board side's frame to the carve side's is half a turn about an axis of the bed: "x" is the one the neck lies along,
 * however it is turned in its blank. Half a turn about x turns a neck askew by the same angle the other way, so a wrong sign shows.
 */
function checkTurn(input: ProofInput, board: ProofSide, carve: ProofSide): Finding[] {
  const b = board.neckToProgram;
  const c = carve.neckToProgram;
  // C B^T
  const turn = [0, 4, 8].flatMap((r) => [0, 4, 8].map((k) => c[r] * b[k] + c[r + 1] * b[k + 1] + c[r + 2] * b[k + 2]));
  const about = (x: 1 | -1): number => Math.max(...[x, 0, 0, 0, -x, 0, 0, 0, -1].map((v, k) => Math.abs(turn[k] - v)));
  const asked = input.neck.order.holding.turn;
  const along = Math.abs(b[0]) > Math.abs(b[4]);
  const expected: 1 | -1 = (asked === "x") === along ? 1 : -1;
  if (about(expected) <= EXACT) return [];
  const found = about(expected === 1 ? -1 : 1) <= EXACT ? `about ${asked === "x" ? "y" : "x"}` : "about neither x nor y";
  return [
    finding(TURN, {
      where: "side carve, transform",
      value: found,
      limit: `about ${asked}`,
      unit: "",
      says: `The order turns the piece about ${asked}, but the carve side's transform turns it ${found}: the back would be cut onto the wrong end or edge.`,
      tryThis: "Make the job again, or turn the piece as the order says.",
    }),
  ];
}

/**
 * The board side's program zero lies where the datum edge meets the end, its long axis along the blank: the transform says where the neck
 * lies in it. Of places that the order leaves to the plan only the turn is known.
 */
function checkPlace({ neck }: ProofInput, { neckToProgram: t }: ProofSide): Finding[] {
  const { blank, hand } = neck.order;
  // with the long axis along y the whole set-up is a quarter turn further: x' = y, y' = -x
  const [cos, sin, x, y] = Math.abs(t[0]) > Math.abs(t[4]) ? [t[0], t[4], t[3], t[7]] : [t[4], -t[0], t[7], -t[3]];
  // the neck's +y points from the datum edge into the blank, or at it
  const up = (blank.datumEdge === "bass") === (hand === "right") ? 1 : -1;
  const said: readonly (readonly [string, number, number | null, number, string])[] = [
    ["blank.rotation", (up * Math.atan2(sin, cos) * 180) / Math.PI, ((blank.rotation ?? 0) * 180) / Math.PI, EXACT, "degrees"],
    ["blank.tipFromEnd", x + neck.places.tip, blank.tipFromEnd, 1e-4, "mm"],
    ["blank.centreFromDatum", up * y, blank.centreFromDatum, 1e-4, "mm"],
  ];
  return said.flatMap(([where, found, wanted, limit, unit]) =>
    wanted === null || Math.abs(found - wanted) <= limit
      ? []
      : [
          finding(LIES_ELSEWHERE, {
            where,
            value: found,
            limit: wanted,
            unit,
            says: `By the board side's transform ${where} is ${found.toFixed(4)} ${unit}; the order says ${wanted.toFixed(4)}.`,
            tryThis: "Make the job again from its order.",
          }),
        ],
  );
}

/** The blank's corners, brought back into the neck's frame, agree between the sides. */
function checkBlank(board: ProofSide, carve: ProofSide): Finding[] {
  const [first, second] = [board, carve].map((s) => {
    const t = s.neckToProgram;
    return [0, 1, 2, 3, 4, 5, 6, 7].map((k) => {
      const p = [0, 1, 2].map((a) => ((k >> a) & 1 ? s.stock.max[a] : s.stock.min[a]) - t[4 * a + 3]);
      return [0, 1, 2].map((a) => t[a] * p[0] + t[4 + a] * p[1] + t[8 + a] * p[2]);
    });
  });
  // each corner of one against the nearest of the other, both ways
  const apart = (from: number[][], to: number[][]): number =>
    Math.max(...from.map((p) => Math.min(...to.map((q) => Math.max(...p.map((v, a) => Math.abs(v - q[a])))))));
  const worst = Math.max(apart(first, second), apart(second, first));
  if (worst <= 1e-4) return [];
  return [
    finding(SAME_BLANK, {
      where: "sides board and carve",
      value: worst,
      limit: 1e-4,
      unit: "mm",
      says: `Between the two sides the blank lies ${worst.toFixed(4)} mm elsewhere around the neck.`,
      tryThis: "Make the job again from its order; both sides must come from one placement.",
    }),
  ];
}

function checkSteps(input: ProofInput, name: SideName): Finding[] {
  const out: Finding[] = [];
  const say = (where: string, says: string): void => {
    out.push(
      finding(STEPS, { where, value: null, limit: null, unit: "", says, tryThis: "Make the job again, or mend the list of steps." }),
    );
  };
  const files = new Map<string, number>();
  for (const p of input.programs) {
    if (files.has(p.file)) say(p.file, `Two programs are called ${p.file}.`);
    if (p.side === name) files.set(p.file, 0);
  }
  for (const s of input.steps) {
    if (!("program" in s)) continue;
    const n = files.get(s.program);
    if (n !== undefined) files.set(s.program, n + 1);
    else if (name === "board" && !input.programs.some((p) => p.file === s.program))
      say(s.program, `A step runs ${s.program}, which is not there.`);
  }
  for (const [file, n] of files) {
    if (n === 0) say(file, `No step runs ${file}.`);
    if (n > 1) say(file, `${file} is run ${n} times.`);
  }
  return out;
}

/** Whether the cutters that a side's programs name are there and can exist. */
export function checkCutters(input: Pick<ProofInput, "programs" | "cutters">, name: SideName): Finding[] {
  const out: Finding[] = [];
  for (const p of input.programs) {
    if (p.side !== name) continue;
    const cutter = input.cutters.find((c) => c.number === p.cutter);
    const wrong = cutter === undefined ? null : whatIsWrong(cutter);
    const small = cutter !== undefined && !(cutter.fluteLength > 0 && cutter.reach >= cutter.fluteLength && cutter.shankDiameter > 0);
    if (cutter !== undefined && wrong === null && !small) continue;
    const says =
      cutter === undefined
        ? `The job lists no cutter ${p.cutter}.`
        : small
          ? `Cutter ${p.cutter} has no flutes or shank, or does not stick out as far as its flutes.`
          : `Cutter ${p.cutter} cannot exist: ${wrong?.says}.`;
    out.push(
      finding(NO_CUTTER, { where: p.file, value: p.cutter, limit: null, unit: "", says, tryThis: "Mend the cutter in the shop file." }),
    );
  }
  return out;
}

/** Rotates a direction of the neck's frame into a side's. */
export function rotate(t: Transform, x: number, y: number, z: number): [number, number, number] {
  const [a, b, c] = apply(t, x, y, z);
  return [a - t[3], b - t[7], c - t[11]];
}
