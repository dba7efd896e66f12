import { clockLimits } from "../cutting/clock-limits.ts";
import type { ClockLimits } from "../kernel/clock.ts";
import { makeNeck } from "../neck/index.ts";
import { fitRecesses } from "../paths/index.ts";
import type { SimulationInput } from "../proof/simulate.ts";
import type { ProofProgram } from "../proof/types.ts";
import { parseOrder, parseShop, readOutline } from "../spec/index.ts";
import type { JobFile } from "./files.ts";
import { cuttersOf, programOf } from "./job-file.ts";

/* A made folder as it is played back: uses nothing of Node, so that a browser's worker runs it as it runs here. */

export type { Neck } from "../neck/types.ts";
export { compareSide } from "../proof/compare.ts";
export { frameOf } from "../proof/place.ts";
export { Playback } from "../proof/playback/playback.ts";
export { rampTable } from "../sheet/ramp.ts";

export interface FolderTexts {
  readonly job: JobFile;
  readonly order: string;
  readonly shop: string;
  /** Bytes of the drawing that the order names, if it names one. */
  readonly drawing: Uint8Array | null;
  /** By file, as job.json names them. */
  readonly programs: ReadonlyMap<string, Uint8Array>;
}

/** What the simulation needs of a made folder's files; throws Error when order or shop in it cannot be read. */
export function simulationOf(folder: FolderTexts, cell: number): { readonly input: SimulationInput; readonly limits: ClockLimits } {
  const { job } = folder;
  const order = parseOrder(folder.order).value;
  const shop = parseShop(folder.shop).value;
  if (order === undefined || shop === undefined) throw new Error("The folder's order or shop cannot be read; make it again.");
  const request = order.headstock.outline;
  const outline = request && folder.drawing !== null ? readOutline(folder.drawing, request).outline : null;
  const drawn = outline === null ? order : { ...order, headstock: { ...order.headstock, drawing: outline } };
  const cutters = cuttersOf(job, shop);
  const programs = job.programs.flatMap((p): ProofProgram[] => {
    const text = folder.programs.get(p.file);
    return text === undefined ? [] : [programOf(p, text)];
  });
  return {
    input: {
      neck: makeNeck(fitRecesses(drawn, shop).order),
      machine: shop.machine,
      cutters,
      sides: job.sides,
      programs,
      steps: job.steps,
      cusps: job.cusps,
      cell,
    },
    limits: clockLimits(shop.machine),
  };
}
