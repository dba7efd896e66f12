import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { here } from "./cli.ts";
import { root } from "./sources.ts";

/** The order and the shop of the folder that tests of what comes after a job begin with. */
export const ORDER: string = join(root, "examples/loan-ukulele.order.json");
export const SHOP: string = join(root, "examples/light-router.shop.json");

export interface MadeFolder {
  /** For whatever a test writes; `job` lies in it. */
  readonly dir: string;
  readonly job: string;
}

/** The folder of that job in one of its own, to be removed by who asked. Made once in a run of the tests (kept.ts): whoever comes later has it as it was made. */
export async function madeFolder(name: string): Promise<MadeFolder> {
  const dir = mkdtempSync(join(tmpdir(), `neckwright-${name}-`));
  const job = join(dir, "job");
  const ran = await here(["make", ORDER, "--shop", SHOP, "--out", job, "--cell", "0.4"]);
  if (ran.code !== 0) throw new Error(`the folder was not made: ${ran.err}${ran.out}`);
  return { dir, job };
}
