import type { OutcomeBudget } from "../holding/budget/types.ts";
import type { Holding } from "../holding/types.ts";
import type { Neck } from "../neck/types.ts";
import type { CutPlan } from "../paths/types.ts";
import type { Proof } from "../proof/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { digest } from "./cache/digest.ts";
import type { JobFile, JobProgram, ProofFile } from "./files.ts";
import type { Paper } from "./papers.ts";
import type { Pool, Progress } from "./pool.ts";
import type { GroupedStep } from "./programs.ts";
import type { Source } from "./source.ts";
import type { OutFile } from "./write.ts";

export interface MakeOptions {
  /** Cell of the proof's stock maps, mm. */
  readonly cell: number;
  readonly paper: Paper;
  readonly pool: Pool;
  readonly progress?: Progress;
  readonly signal?: AbortSignal;
}

export interface Made {
  /** The files of the job folder; null when order or shop could not be read at all. */
  readonly files: readonly OutFile[] | null;
  readonly job: JobFile | null;
  readonly proof: ProofFile | null;
  readonly findings: readonly Finding[];
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
}

/** What the stages gave, as far as they got: a stop in design or planning leaves the later ones out. */
export interface Built {
  readonly order: OrderSpec;
  readonly shop: ShopSpec;
  readonly orderHash: string;
  readonly neck: Neck;
  readonly holding: Holding;
  readonly budget: readonly OutcomeBudget[];
  readonly plan: CutPlan | null;
  readonly steps: readonly GroupedStep[];
  readonly programs: readonly JobProgram[];
  readonly proof: Proof | null;
}

/** From the text of an order and a shop to the files of a job folder. The same bytes for the same bytes; writes nothing. */
export async function makeJob(orderSource: Source, shopSource: Source, options: MakeOptions): Promise<Made> {
  const { pool, progress: _progress, signal: _signal, ...asked } = options;
  const { keeper } = pool;
  // the stages are loaded when there is something to compute
  const makeAnew: typeof import("./anew.ts").makeAnew = async (...args) => (await import("./anew.ts")).makeAnew(...args);
  if (keeper === null) return makeAnew(orderSource, shopSource, options);
  // of the sources all but what they are called by in messages; of the options all that can change a byte
  const { path: _order, ...order } = orderSource;
  const { path: _shop, ...shop } = shopSource;
  const key = digest([order, shop, asked]);
  const found = keeper.get<Made>("job", key);
  if (found !== null) {
    options.progress?.(1, "as made before");
    return found;
  }
  const made = await makeAnew(orderSource, shopSource, options);
  if (made.files !== null) keeper.put("job", key, made);
  return made;
}
