import { existsSync, lstatSync, readdirSync, renameSync, rmSync } from "node:fs";
import { join } from "node:path";
import { codeOfError } from "../job/errors.ts";
import type { FolderMemory } from "./folder.ts";

/* What programs that were killed in the middle left lying in a shop's folder. */

const LEFT = /^\.([a-z0-9]+(?:-[a-z0-9]+)*)\.neckwright-(new|old)-(\d+)-[0-9a-f]+$/;
const TEMPORARY = /^[a-z0-9-]+\.(?:order|shop)\.json\.[0-9a-f]{8}\.tmp$/;

function runs(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (e) {
    return codeOfError(e) !== "ESRCH";
  }
}

/** Puts back made folders that were killed between their two renames, and takes away what was never finished. Nothing of a living program is touched. */
export async function tidy(memory: FolderMemory): Promise<void> {
  // who writes a paper holds this lock, so that nobody is writing these now
  memory.store.together(() => {
    for (const f of readdirSync(memory.folder)) if (TEMPORARY.test(f)) rmSync(join(memory.folder, f), { force: true });
  });
  const jobs = join(memory.folder, "jobs");
  if (lstatSync(jobs, { throwIfNoEntry: false })?.isDirectory() !== true) return;
  for (const name of readdirSync(jobs)) {
    const m = LEFT.exec(name);
    if (m === null || runs(Number(m[3]))) continue;
    const [, order, state] = m;
    await memory.alone(order, () => {
      const left = join(jobs, name);
      if (state === "old" && existsSync(left) && !existsSync(join(jobs, order))) renameSync(left, join(jobs, order));
      else rmSync(left, { recursive: true, force: true });
      return Promise.resolve();
    });
  }
}
