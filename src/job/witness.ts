import { clockLimits } from "../cutting/clock-limits.ts";
import { posted, postedHeight } from "../holding/correct/posting.ts";
import { planHolding } from "../holding/index.ts";
import type { Side } from "../holding/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import { woodByName } from "../materials/woods.ts";
import { planWitness, type Witness, type WitnessCut } from "../paths/witness.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../program/index.ts";
import { blankOf, proveResume, woodBefore } from "../proof/resume.ts";
import { CAUTIONS, DEFERS } from "../sheet/cautions.ts";
import type { CutterSpec } from "../spec/types.ts";
import { type Finding, isStop } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";
import type { MadeJob } from "./made.ts";
import { sourceOf } from "./resume-made.ts";
import { cutterNamed } from "./source.ts";
import type { OutFile } from "./write.ts";

/* Witness marks of both sides, in the waste of a made job's blank, and the form that their readings are written on. */

export interface WitnessMade {
  readonly witness: Witness;
  readonly findings: readonly Finding[];
  /** Both programs and the form; empty when a finding stops them. */
  readonly files: readonly OutFile[];
  readonly seconds: number;
}

/** Cell of the proof's maps, mm. */
const CELL = 0.25;

/** Plans, writes (posted as the job's own programs are) and proves both programs. */
export function makeWitness(made: MadeJob, asked: { readonly cutter: number; readonly scribe: number | null }): WitnessMade {
  const { shop, neck, job } = made;
  const { machine } = shop;
  if (job.sides.some((s) => s.sections !== undefined))
    throw new InputError("witness", "a neck that is cut in sections is turned by its index pins", "measure at those");
  const bore = cutterNamed(shop, asked.cutter);
  const scribe = asked.scribe === null ? (shop.cutters.find((c) => c.shape === "vee") ?? bore) : cutterNamed(shop, asked.scribe);
  const holding = planHolding(neck, machine, shop.cutters);
  const density = Math.max(...[made.order.wood.shaft, made.order.wood.board].map((w) => woodByName(w)?.density ?? 800));
  let witness: Witness;
  try {
    witness = planWitness({
      neck,
      machine,
      sides: holding.sides,
      bore,
      scribe,
      density,
      ...(shop.coefficients ? { coefficients: shop.coefficients } : {}),
    });
  } catch (e) {
    if (e instanceof RangeError) throw new InputError("witness", e.message, "take another cutter, or measure the step at the outline");
    throw e;
  }
  const findings: Finding[] = [];
  const written = (
    [
      ["board", witness.bores, bore],
      ["carve", witness.rings, scribe],
    ] as const
  ).map(([name, cut, cutter]) => write(made, holding.sides[name], cut, cutter, findings));
  const seconds = written.reduce((s, w) => s + w.seconds, 0);
  findings.push(...witness.bores.findings, ...witness.rings.findings);
  if (findings.some(isStop)) return { witness, findings, files: [], seconds };
  const form = new TextEncoder().encode(`${formOf(made, witness, written, bore, scribe).join("\n")}\n`);
  return {
    witness,
    findings,
    seconds,
    files: [...written.map((w) => ({ path: w.file, bytes: w.text })), { path: "witness-form.txt", bytes: form }],
  };
}

interface Written {
  readonly file: string;
  readonly text: Uint8Array<ArrayBuffer>;
  readonly seconds: number;
}

function write(made: MadeJob, side: Side, cut: WitnessCut, cutter: CutterSpec, findings: Finding[]): Written {
  const { machine } = made.shop;
  const file = `witness-${side.name}.ngc`;
  const seconds = secondsOf(cut.moves, clockLimits(machine));
  const input: ProgramInput = {
    file,
    orderName: made.job.order.name,
    orderHash: made.job.order.sha256,
    side: side.name,
    cutter,
    cuts: [{ id: cut.id, title: cut.title, rpm: cut.conditions.rpm, moves: posted(cut.moves, side.real) }],
    safeZ: postedHeight(side.safeZ, side.real),
    zeroSays: side.zeroSays,
    decimals: machine.controller.decimals,
    arcs: machine.controller.arcs,
    pathTolerance: 0.005,
    seconds,
  };
  const text = new Uint8Array(dialectFor(machine.controller.dialect).writeBytes(input));
  findings.push(...checkProgram(new TextDecoder("latin1").decode(text), input, machine.controller.dialect));
  // the holes are bored when all else of the board side is done, the rings before anything else of the carve side
  const source = { ...sourceOf(made).input, cell: CELL };
  const wood = side.name === "board" ? woodBefore(source, side, null) : blankOf(side, CELL);
  if (wood === null) throw new InputError(made.folder, "its programs cannot be read", "run prove on the folder");
  const proof = proveResume({
    input: source,
    side,
    cutter,
    program: { file, side: side.name, cutter: cutter.number, cuts: [cut.id], text },
    wood,
    whole: null,
  });
  findings.push(...proof.findings);
  return { file, text, seconds };
}

/** What to do, what to measure, and the command that takes the readings. */
function formOf(made: MadeJob, w: Witness, written: readonly Written[], bore: CutterSpec, scribe: CutterSpec): string[] {
  const n = (v: number): string => v.toFixed(2);
  const line = (what: string): string => `  ${what.padEnd(58)} ............... mm`;
  return [
    `WITNESS MARKS: the step between the sides of ${made.job.order.name} after turning`,
    ...written.map((p) => `Program ${p.file}, SHA-256 ${sha256(p.text)}`),
    "Day: ....................  Name: ....................",
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    `[ ] When all programs of the board side are done, before the piece is loosened: witness-board.ngc, cutter ${bore.number}, ${bore.name}. It bores two holes of ${n(w.hole)} mm through the waste, down to a skin; the zero as it is.`,
    "[ ] Turn the piece, set it against its pins and its stop, clamp it. Break the skin of both holes out from above, and trim it.",
    `[ ] Before any other program of the carve side: witness-carve.ngc, cutter ${scribe.number}, ${scribe.name}. It scribes a ring about each hole; the zero as the run sheet says.`,
    "",
    "Measure from the hole's edge to the ring's middle line, on both sides, along X and along Y. The step is half the difference, positive when",
    "the way on the plus side is the longer one: the ring stands further along + than the hole.",
    "",
    ...w.places.flatMap((p, k) => [
      `Mark ${k + 1}, at X ${n(p.carve[0])} Y ${n(p.carve[1])} of the carve program (all four ways should be ${n((w.ring - w.hole) / 2)})`,
      line("from the hole to the ring toward +X"),
      line("from the hole to the ring toward -X"),
      line("half the difference: step along X"),
      line("from the hole to the ring toward +Y"),
      line("from the hole to the ring toward -Y"),
      line("half the difference: step along Y"),
    ]),
    "",
    `neckwright correct ORDER turn ${w.places.map((p) => `--mark=${n(p.carve[0])}:${n(p.carve[1])}:STEP-X:STEP-Y`).join(" ")} --store`,
    "Then make the order again: the carve side's programs are posted with it.",
  ];
}
