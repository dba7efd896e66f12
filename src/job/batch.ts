import { clockLimits } from "../cutting/clock-limits.ts";
import { cutBy } from "../holding/correct/posting.ts";
import { type Box2, type Lying, type Nested, nest } from "../holding/nest.ts";
import type { SideName, Solid } from "../holding/types.ts";
import { bounds } from "../kernel/bounds.ts";
import { secondsOf } from "../kernel/clock.ts";
import { type Affine, inverseAffine, mapPoint } from "../kernel/map-moves.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { schedule, type Turn } from "../program/batch/schedule.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../program/index.ts";
import { movedBy, part } from "../program/resume/rest.ts";
import { type BedPiece, type BedProof, type BedStep, proveBed } from "../proof/batch.ts";
import { woodBefore } from "../proof/resume.ts";
import type { ProofProgram } from "../proof/types.ts";
import { CAUTIONS, DEFERS } from "../sheet/cautions.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { jsonBytes } from "./files.ts";
import { sha256 } from "./hash.ts";
import type { MadeJob } from "./made.ts";
import { openProgram, realMoved, type SetSide } from "./resume.ts";
import { sourceOf } from "./resume-made.ts";
import type { OutFile } from "./write.ts";

/* Several made necks on one bed: where each lies, whose turn it is, programs that cut them together, and the proof of those for each. */

export interface BatchAsk {
  /** Free way between what one piece's cutter comes to and the next piece, mm. */
  readonly gap: Mm;
  /** Pieces (from 1) that dropped out: they stay where they lie, and nothing of them is cut. */
  readonly without: readonly number[];
  /** Of the proof's maps. */
  readonly cell: Mm;
}

export interface BatchProgram {
  readonly file: string;
  readonly sha256: string;
  readonly side: SideName;
  readonly cutter: number;
  readonly cuts: readonly string[];
  readonly seconds: number;
}

export interface BatchSide {
  readonly side: SideName;
  /** Zero of the programs from the bed's corner, and of each piece from there. */
  readonly zeroOnBed: readonly [Mm, Mm];
  readonly pieces: readonly { readonly x: Mm; readonly y: Mm }[];
  readonly clearance: Mm;
  readonly proof: BedProof;
}

export interface BatchMade {
  readonly sides: readonly BatchSide[];
  readonly programs: readonly BatchProgram[];
  /** Cutters put in: here, and when the pieces are cut one after the other. */
  readonly changes: number;
  readonly changesAlone: number;
  /** No order of work has fewer changes. */
  readonly fewest: boolean;
  readonly findings: readonly Finding[];
  /** Empty when a finding stops it. */
  readonly files: readonly OutFile[];
}

const PATH_TOLERANCE: Mm = 0.005;
/** Moves may come out so much beside where they are told, for machines that are corrected. */
const BESIDE: Mm = 0.5;

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

interface Opened {
  readonly made: MadeJob;
  readonly number: number;
  readonly name: string;
  readonly prefix: string;
  readonly out: boolean;
}

const sideOf = (made: MadeJob, name: SideName): SetSide => {
  const side = made.job.sides.find((s) => s.name === name);
  if (side === undefined) throw new InputError(made.folder, `the job has no ${name} side`, "make it again");
  return side;
};

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

/** Stretches of a job's steps on one side. */
function phases(made: MadeJob): { readonly side: SideName; readonly steps: MadeJob["job"]["steps"][number][] }[] {
  const out: { side: SideName; steps: MadeJob["job"]["steps"][number][] }[] = [];
  for (const s of made.job.steps) {
    const side = "program" in s ? made.programs.find((p) => p.file === s.program)!.side : s.side;
    if (out.at(-1)?.side === side) out.at(-1)!.steps.push(s);
    else out.push({ side, steps: [s] });
  }
  return out;
}

/** Rapids at a piece's own safe height are made at the bed's. */
function lifted(m: MoveList, own: Mm, to: Mm): MoveList {
  const z = m.z.slice();
  for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.rapid && z[k] >= own - 1e-6) z[k] = Math.max(z[k], to);
  return { ...m, start: [m.start[0], m.start[1], Math.max(m.start[2], to)], z };
}

const straight = (real: Affine | undefined): Affine =>
  real === undefined
    ? [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]
    : [real[0], real[1], real[2], 0, real[4], real[5], real[6], 0, real[8], real[9], real[10], 0];

/** Lays the pieces out, writes the programs and proves them. Throws InputError on pieces that cannot lie on one bed. */
export function makeBatch(jobs: readonly MadeJob[], asked: BatchAsk): BatchMade {
  if (jobs.length < 2)
    throw new InputError("batch", "a batch has two pieces or more", "name each piece's folder, twice where two are to be cut from one");
  for (const w of asked.without)
    if (!(w >= 1 && w <= jobs.length)) throw new InputError(`--without ${w}`, "there is no such piece", `pieces are 1 to ${jobs.length}`);
  const pieces = jobs.map(
    (made, k): Opened => ({ made, number: k + 1, name: `piece ${k + 1}`, prefix: `p${k + 1}-`, out: asked.without.includes(k + 1) }),
  );
  if (pieces.every((p) => p.out)) throw new InputError("--without", "no piece is left", "leave one");
  const first = jobs[0];
  for (const { made } of pieces) {
    if (made.job.shop.sha256 !== first.job.shop.sha256)
      throw new InputError(made.folder, "it was made for another shop than the first piece", "make all of a batch with the same shop");
    if (made.job.sides.some((s) => s.sections !== undefined))
      throw new InputError(made.folder, "a neck that is cut in sections fills the bed alone", "cut it by itself");
  }
  const ways = pieces.map((p) => phases(p.made));
  const odd = ways.findIndex((w) => w.map((x) => x.side).join() !== ways[0].map((x) => x.side).join());
  if (odd >= 0)
    throw new InputError(
      jobs[odd].folder,
      "it is turned over at other times than the first piece (a rest between roughing and finishing)",
      "batch pieces of the same plan",
    );
  const { machine } = first.shop;
  const limits = clockLimits(machine);
  const findings: Finding[] = [];
  const programs: BatchProgram[] = [];
  const files: OutFile[] = [];
  const sheet: string[] = [];
  const laid = new Map<
    SideName,
    { readonly nested: Nested; readonly shifts: readonly (readonly [Mm, Mm])[]; readonly texts: ProofProgram[]; readonly steps: BedStep[] }
  >();
  const names = jobs.map((j) => j.job.order.name).join(", ");
  const hash = sha256(new TextEncoder().encode(jobs.map((j) => j.job.order.sha256).join(" ")));
  let [number, changes, fewest] = [0, 0, true];
  for (const [n, { side }] of ways[0].entries()) {
    const sides = pieces.map((p) => sideOf(p.made, side));
    let lay = laid.get(side);
    if (lay === undefined) {
      const { nested, fit } = nest(
        pieces.map((p) => lying(p.made, side)),
        [machine.travel.x, machine.travel.y],
        [machine.bed.x, machine.bed.y],
        machine.along,
        asked.gap,
      );
      if (nested === null)
        throw new InputError(
          `${side} side`,
          `only the first ${fit} of ${jobs.length} pieces lie on the bed with ${asked.gap} mm between them`,
          "batch fewer, or a smaller --gap",
        );
      // told so that it comes out there, whatever the machine makes of a millimetre; in steps of the text
      const shifts = nested.at.map(([x, y], k): [Mm, Mm] => {
        const to = mapPoint(inverseAffine(straight(sides[k].real)), x - nested.at[0][0], y - nested.at[0][1], 0);
        return [Math.round(to[0] * 1e4) / 1e4, Math.round(to[1] * 1e4) / 1e4];
      });
      lay = { nested, shifts, texts: [], steps: [] };
      laid.set(side, lay);
    }
    const { shifts, texts, steps } = lay;
    const told = sides.map((s) => (s.real === undefined ? s.safeZ : mapPoint(inverseAffine(s.real), 0, 0, s.safeZ)[2]));
    const safe = Math.ceil(Math.max(...told) * 1e4) / 1e4;
    const plan = schedule(
      ways.map((w) =>
        w[n].steps.map((s, k) => ({
          id: String(k),
          cutter: "program" in s ? pieces.find((_, i) => ways[i] === w)!.made.programs.find((p) => p.file === s.program)!.cutter : null,
        })),
      ),
    );
    changes += plan.changes;
    fewest &&= plan.exact;
    sheet.push("", `${side.toUpperCase()} SIDE`, ...layoutLines(pieces, lay.nested, side, sides));
    for (const turn of plan.turns) {
      const going = turn.steps.filter((s) => !pieces[s.piece].out);
      if (turn.kind === "hand") {
        for (const s of turn.steps) {
          const step = ways[s.piece][n].steps[Number(s.id)];
          if ("program" in step || pieces[s.piece].out) continue;
          steps.push({ piece: s.piece, fills: step.fills });
        }
        sheet.push(...handLines(turn, (s) => ways[s.piece][n].steps[Number(s.id)], pieces));
        continue;
      }
      number++;
      if (going.length === 0) continue;
      const written = going.map((s) => {
        const step = ways[s.piece][n].steps[Number(s.id)] as { readonly program: string };
        return {
          piece: pieces[s.piece],
          shift: shifts[s.piece],
          own: told[s.piece],
          ...openProgram(sourceOf(pieces[s.piece].made), step.program),
        };
      });
      const cuts = written.flatMap(({ piece, shift, own, written: w }) =>
        w.cuts.map((c) => ({
          id: `${piece.prefix}${c.id}`,
          title: `${piece.name} (${piece.made.job.order.name}): ${c.title}`,
          rpm: c.rpm,
          moves: lifted(movedBy(part(w.moves, c.from, c.to), [shift[0], shift[1], 0]), own, safe),
        })),
      );
      const head = turn.steps[0];
      const bare = (ways[head.piece][n].steps[Number(head.id)] as { readonly program: string }).program.replace(/^.*\/\d+-/, "");
      const file = `programs/${String(number).padStart(2, "0")}-${bare}`;
      const input: ProgramInput = {
        file: file.split("/").at(-1)!,
        orderName: `batch of ${pieces.length}: ${names}`,
        orderHash: hash,
        side,
        cutter: written[0].cutter,
        cuts,
        safeZ: safe,
        zeroSays: `of piece 1: ${sides[0].zeroSays}`,
        decimals: machine.controller.decimals,
        arcs: machine.controller.arcs,
        pathTolerance: PATH_TOLERANCE,
        seconds: cuts.reduce((sum, c) => sum + secondsOf(c.moves, limits), 0),
      };
      const text = new Uint8Array(dialectFor(machine.controller.dialect).writeBytes(input));
      findings.push(...checkProgram(new TextDecoder("latin1").decode(text), input, machine.controller.dialect));
      const ids = cuts.map((c) => c.id);
      texts.push({ file, side, cutter: turn.cutter, cuts: ids, text });
      steps.push({ program: file });
      programs.push({ file, sha256: sha256(text), side, cutter: turn.cutter, cuts: ids, seconds: input.seconds });
      files.push({ path: file, bytes: text });
      sheet.push(
        `[ ] ${file}  cutter ${turn.cutter}, ${input.cutter.name}, about ${Math.ceil(input.seconds / 60)} min: ${[...new Set(written.map((w) => w.piece.name))].join(", ")}`,
      );
    }
  }
  const sides: BatchSide[] = [];
  for (const [side, { nested, shifts, texts, steps }] of laid) {
    const bed = pieces.map((p, k): BedPiece => {
      const own = sideOf(p.made, side);
      return {
        name: p.name,
        input: { ...sourceOf(p.made).input, cell: asked.cell },
        side: own,
        real: realMoved(own.real, [shifts[k][0], shifts[k][1], 0]),
        at: [nested.at[k][0] - nested.at[0][0], nested.at[k][1] - nested.at[0][1]],
        prefix: p.prefix,
        ...(p.out ? { out: true } : {}),
      };
    });
    const own = pieces.map((p, k) => (p.out ? null : (woodBefore(bed[k].input, bed[k].side, null)?.map ?? null)));
    const proof = proveBed(
      { machine, cutters: first.cutters, pieces: bed, programs: texts, steps, zeroOnBed: nested.at[0], cell: asked.cell },
      own,
    );
    findings.push(...proof.findings);
    sides.push({
      side,
      zeroOnBed: nested.at[0],
      pieces: shifts.map(([x, y]) => ({ x, y })),
      clearance: nested.clearance,
      proof,
    });
  }
  const alone = pieces.reduce((sum, _, k) => sum + ways[k].reduce((m, w) => m + changesOf(w.steps, jobs[k]), 0), 0);
  const result = { sides, programs, changes, changesAlone: alone, fewest, findings };
  if (findings.some(isStop)) return { ...result, files: [] };
  const lines = [
    `BATCH OF ${pieces.length}: ${names}`,
    ...(asked.without.length === 0
      ? []
      : [
          `Dropped out: ${asked.without.map((w) => `piece ${w}`).join(", ")}. Leave it where it lies. Programs keep their numbers; one that was stopped is run again whole, cutting air where it has cut.`,
        ]),
    "Day: ....................  Name: ....................",
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    `Cutters are changed ${changes} times (${alone} when the pieces are cut one after the other)${fewest ? "; no order of work needs fewer" : ""}.`,
    "One zero for all: that of piece 1. Every piece has its own pins and stop where the table says. A resumed program is written from a piece's own job, not from a batch.",
    ...sheet,
  ];
  files.push({ path: "run-sheet.txt", bytes: new TextEncoder().encode(`${lines.join("\n")}\n`) });
  files.push({
    path: "batch.json",
    bytes: jsonBytes({
      format: "neckwright-batch/1",
      units: "mm",
      shop: first.job.shop,
      pieces: pieces.map((p) => ({ number: p.number, order: p.made.job.order, out: p.out })),
      gap: asked.gap,
      cell: asked.cell,
      changes,
      fewest,
      sides: sides.map(({ proof, ...s }) => ({ ...s, wood: proof.pieces })),
      programs,
      findings,
      files: files.map((f) => ({ file: f.path, sha256: sha256(f.bytes) })),
    }),
  });
  return { ...result, files };
}

/** Cutters put in when a piece is cut alone. */
function changesOf(steps: readonly MadeJob["job"]["steps"][number][], made: MadeJob): number {
  let [changes, cutter] = [0, -1];
  for (const s of steps) {
    if (!("program" in s)) continue;
    const next = made.programs.find((p) => p.file === s.program)!.cutter;
    if (next !== cutter) changes++;
    cutter = next;
  }
  return changes;
}

function layoutLines(pieces: readonly Opened[], nested: Nested, side: SideName, sides: readonly SetSide[]): string[] {
  const n = (v: number): string => v.toFixed(1).padStart(8);
  return [
    `Zero of the programs: ${sides[0].zeroSays} (piece 1), ${nested.at[0][0].toFixed(1)} mm along X and ${nested.at[0][1].toFixed(1)} mm along Y from the bed's corner.`,
    `Free way between a piece's cutters and the next piece: ${nested.clearance.toFixed(1)} mm at least. All rapids between pieces are above everything.`,
    ...pieces.map((p, k) => {
      const { min, max } = sides[k].stock;
      return `[ ] ${p.name}, ${p.made.job.order.name}: its own zero (pins and stop) at X${n(nested.at[k][0] - nested.at[0][0])}  Y${n(nested.at[k][1] - nested.at[0][1])}; blank ${(max[0] - min[0]).toFixed(1)} x ${(max[1] - min[1]).toFixed(1)} x ${(max[2] - min[2]).toFixed(1)}${p.out ? "  DROPPED OUT" : ""}; holding as its run sheet (${side} side)`;
    }),
  ];
}

/** What is done by hand, each thing once with the pieces that it is for. */
function handLines(turn: Turn, stepOf: (s: Turn["steps"][number]) => MadeJob["job"]["steps"][number], pieces: readonly Opened[]): string[] {
  const by = new Map<string, string[]>();
  for (const s of turn.steps) {
    const step = stepOf(s);
    if ("program" in step || pieces[s.piece].out) continue;
    by.set(step.hand, [...(by.get(step.hand) ?? []), pieces[s.piece].name]);
  }
  return [...by].map(([hand, who]) => `[ ] ${who.join(", ")}: ${hand}`);
}
