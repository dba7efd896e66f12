import { type Push, stiffnessOf } from "../cutting/stiffness.ts";
import { parseShop } from "../spec/index.ts";
import { setInJson } from "../spec/set-json.ts";
import { isStop, type Mm, type Newton, type NewtonPerMm, parseLength } from "../units/index.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { type Rewrite, rewriteBy } from "./rewrite.ts";
import type { Source } from "./source.ts";

export type Axis = "x" | "y" | "z";

/** How to measure, in order. Common practice, no source. */
export const STIFFNESS_STEPS: readonly string[] = [
  "Spindle OFF and unplugged, cutter out. Nothing in this test runs by itself; your machine's manual and your workshop's rules go first.",
  "Power the motors and do not move: the machine must hold its place by its motors, as it does in a cut. Z about where it cuts a neck.",
  "Clamp a smooth rod (10 mm or so) in the collet, standing out as far as your cutters do.",
  "Fix a dial indicator to the bed (a heavy base, not the gantry), its tip on the rod near its end, along the axis you measure. Set it to zero.",
  "Hook a spring scale to the rod at the same height. Pull slowly and level along the axis, away from the indicator: 10, 20, 30, 40 N. Read scale and indicator together; let go; see that the needle comes back to zero.",
  "Never pull so hard that a motor loses its place or a belt jumps. Keep hands out of the way of the moving parts.",
  "For z, pull upward. Do each axis in both directions if you can, and give all the readings.",
];

/** "20 N", "2 kg" (as on a spring scale), "5 lbf", or a plain number of newtons. */
export function parseForce(text: string): Newton | null {
  const m = /^\s*([0-9]*[.,]?[0-9]+)\s*(n|kgf?|lbf?)?\s*$/i.exec(text);
  if (m === null) return null;
  const per: Readonly<Record<string, number>> = { n: 1, kg: 9.80665, kgf: 9.80665, lb: 4.4482216152605, lbf: 4.4482216152605 };
  return Number(m[1]!.replace(",", ".")) * per[(m[2] ?? "n").toLowerCase()]!;
}

/** Pairs of readings from words; throws InputError that names the reading. */
export function readPushes(forces: readonly string[], moved: readonly string[]): Push[] {
  if (forces.length !== moved.length)
    throw new InputError(
      "--force, --moved",
      `there are ${forces.length} forces and ${moved.length} movements`,
      'give them in pairs: --force "20 N" --moved "0.08 mm"',
    );
  return forces.map((text, k) => {
    const force = parseForce(text);
    if (force === null) throw new InputError(`--force ${text}`, "this is not a force", 'write it like "20 N" or "2 kg"');
    const length = parseLength(moved[k]);
    if (!length.ok) throw new InputError(`--moved ${moved[k]}`, length.says, 'write it like "0.08 mm"');
    return { force, moved: length.value as Mm };
  });
}

export interface Stored {
  readonly axis: Axis;
  readonly was: NewtonPerMm;
  readonly is: NewtonPerMm;
  readonly slack: Mm;
  readonly off: Mm;
  /** What no one axis should have: much softer or stiffer than was said. */
  readonly doubt: string | null;
}

/**
 * Computes an axis' stiffness and stores it, with date and note, in the shop file; nothing else in the file changes. Throws
 * InputError when the shop or the readings cannot be used; the file then stays as it was.
 */
export async function storeStiffness(
  source: Source,
  axis: Axis,
  pushes: readonly Push[],
  said: { readonly date: string; readonly note?: string },
  disk: Disk | Rewrite,
): Promise<Stored> {
  const shop = parseShop(source.bytes);
  if (shop.value === undefined)
    throw new InputError(source.path, "the shop cannot be read", "run check with this shop and mend what it finds");
  const measured = stiffnessOf(pushes);
  if (!measured.ok) throw new InputError(`--axis ${axis}`, measured.says.replace(/\.$/, ""), measured.tryThis);
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(source.bytes);
  const was = shop.value.machine.stiffness;
  const is = Number(measured.stiffness.toPrecision(3));
  const given = (JSON.parse(text.replace(/^\uFEFF/, "")) as { machine: { stiffness: unknown } }).machine.stiffness;
  const one = typeof given === "number";
  const note =
    said.note ??
    `${pushes.length} reading${pushes.length === 1 ? "" : "s"}: ${pushes.map((p) => `${num(p.force)} N ${num(p.moved)} mm`).join(", ")}`;
  let changed = one
    ? setInJson(text, ["machine", "stiffness"], { ...was, [axis]: is })
    : setInJson(text, ["machine", "stiffness", axis], is);
  changed = setInJson(changed, ["machine", "measured", axis], { date: said.date, note: note.slice(0, 500) });
  const bytes = new TextEncoder().encode(changed);
  const again = parseShop(bytes);
  if (again.value?.machine.stiffness[axis] !== is || again.findings.filter(isStop).length > shop.findings.filter(isStop).length)
    throw new Error("the shop file with the new value does not read as it should");
  await rewriteBy(disk)(source, bytes);
  const ratio = is / was[axis];
  const doubt = ratio > 3 || ratio < 1 / 3 ? `It was ${was[axis]} N/mm: a change by more than three times. Measure once more.` : null;
  return { axis, was: was[axis], is, slack: measured.slack, off: measured.off, doubt };
}

const num = (v: number): string => String(Number(v.toPrecision(4)));
