import type { Holding } from "../../holding/types.ts";
import type { Neck } from "../../neck/types.ts";
import type { HardwareSpec } from "../../spec/types.ts";
import type { Finding } from "../../units/index.ts";
import type { Drawing } from "../draw/types.ts";
import { shortHash } from "../drawings/common.ts";
import { Flow, type Paper } from "../page/flow.ts";

/** What every exported file is made from. */
export interface ExportInput {
  readonly orderName: string;
  readonly orderTitle: string;
  /** SHA-256 of the order file, hexadecimal. */
  readonly orderHash: string;
  readonly neck: Neck;
  /** Stops that the order does not override: the files then say that this design is not to be built. */
  readonly blocking: readonly Finding[];
  /** Where the neck lies in its blank. */
  readonly blank: Pick<Holding, "blank" | "placement">;
  /** The shop's shelf, when a shop was given. */
  readonly hardware: HardwareSpec | null;
  readonly version: string;
}

/** What a file says of the design it shows, in one line each: name, hash, and stops. */
export function provenance(input: ExportInput): string[] {
  const out = [`order ${input.orderName}, SHA-256 ${input.orderHash}`, `neckwright ${input.version}`];
  const s = stoppedSays(input);
  return [...out, ...(s === null ? [] : [s]), ...overridesSay(input)];
}

const overridesSay = (input: ExportInput): string[] => input.neck.order.overrides.map((o) => `the order overrides ${o.rule}: ${o.reason}`);

export const stoppedSays = (input: ExportInput): string | null => {
  if (input.blocking.length === 0) return null;
  const ids = [...new Set(input.blocking.map((f) => f.rule))].join(", ");
  return `STOPPED by ${ids}: this design is not sound as it stands. For looking at, not for cutting.`;
};

/** The rule "common practice, no source", as sheets state it. */
export const COMMON = "common practice, no source";

/** Pages with the order's name and hash at head and foot. */
export const sheetFlow = (input: ExportInput, title: string, paper: Paper): Flow =>
  new Flow({
    paper,
    headLeft: `${title}: ${input.orderTitle}`,
    headRight: `order ${input.orderName}, ${shortHash(input.orderHash)}`,
    footLeft: `Neckwright ${input.version}. Lengths in mm. Order hash ${input.orderHash}`,
  });

/** The first thing under a sheet's heading: what the order overrides, and a design that is stopped. */
export function stoppedNote(flow: Flow, input: ExportInput): void {
  const over = overridesSay(input);
  if (over.length > 0) flow.note("Overridden", over);
  const says = stoppedSays(input);
  if (says === null) return;
  flow.note("This design is stopped", [says, ...input.blocking.slice(0, 6).map((f) => `${f.rule}, ${f.where}: ${f.says}`)], "accent");
}

/** What stands on every sheet that sends hands to a saw, a drill or a knife. */
export function handCautions(flow: Flow, more: readonly string[] = []): void {
  flow.note("Before you cut, saw or drill", [
    "Eyes: safety glasses. Ears: protection at a running saw, planer or drill. Dust: extraction on, a mask suited to the wood; bone dust too.",
    "Hold the work in a vice or clamped to a table, never in the hand; fingers behind the edge, push sticks at saw and planer, no gloves or loose sleeves near anything that turns.",
    ...more,
    "The manual of your machine, the rules of your workshop and of your country and the people trained on the machine come before this sheet. If two of them disagree, or a figure looks wrong, stop and ask.",
  ]);
}

/** A finished file of an export: its name and what is in it. */
export interface Sheet {
  /** Without the order's name and the ending: "plan", "nut". */
  readonly name: string;
  readonly title: string;
  readonly pages: readonly Drawing[];
}

/** A length in hundredths, as tables show it. */
export const hundredths = (v: number): string => (Number.isFinite(v) ? (Math.abs(v) < 0.005 ? 0 : v).toFixed(2).replace("-", "−") : "–");
