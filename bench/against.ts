import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const TURNS = 3;

interface Side {
  readonly name: string;
  readonly root: string;
  readonly seconds: number[];
  checksum: string;
}

function must(command: string, args: readonly string[], cwd: string): void {
  const r = spawnSync(command, args, { cwd, encoding: "utf8" });
  if (r.status !== 0) throw new Error(`${command} ${args.join(" ")}: ${r.error?.message ?? r.stderr}`);
}

/**
 * The command of this tree beside that of another commit, both built here and run in turn on the same order: what `make` writes, and seconds
 * on the clock as a ratio. The other commit is checked out in a folder of its own that is removed afterwards.
 */
export function runAgainst(ref: string, order: string, shop: string, cell: string): void {
  const dir = mkdtempSync(join(tmpdir(), "neckwright-against-"));
  const other = join(dir, "tree");
  try {
    must("git", ["worktree", "add", "--detach", other, ref], ".");
    // the packages of this tree; a commit with another lock file gets its own
    if (readFileSync(join(other, "package-lock.json"), "utf8") === readFileSync("package-lock.json", "utf8"))
      symlinkSync(resolve("node_modules"), join(other, "node_modules"));
    const sides: Side[] = [
      { name: ref, root: other, seconds: [], checksum: "" },
      { name: "this tree", root: resolve("."), seconds: [], checksum: "" },
    ];
    for (const s of sides) must(process.execPath, ["scripts/build.mjs"], s.root);
    for (let turn = 0; turn < TURNS; turn++) {
      for (const s of sides) {
        const out = join(dir, "out");
        rmSync(out, { recursive: true, force: true });
        const args = [join(s.root, "dist", "cli.mjs"), "make", resolve(order), "--shop", resolve(shop), "--out", out, "--cell", cell];
        const t = performance.now();
        const { status } = spawnSync(process.execPath, args, { stdio: "ignore", env: { ...process.env, NECKWRIGHT_CACHE: "off" } });
        const ms = performance.now() - t;
        if (status === null || status > 1 || !existsSync(join(out, "job.json"))) throw new Error(`make of ${s.name} ended with ${status}`);
        s.seconds.push(ms / 1000);
        s.checksum = createHash("sha256")
          .update(readFileSync(join(out, "job.json")))
          .digest("hex");
      }
    }
    const median = (v: readonly number[]): number => [...v].sort((a, b) => a - b)[Math.floor(v.length / 2)];
    for (const s of sides) console.log(`${s.name.padEnd(20)} ${median(s.seconds).toFixed(2)} s  job.json ${s.checksum.slice(0, 16)}`);
    console.log(
      sides[0].checksum === sides[1].checksum ? "both write the same bytes" : "they write different bytes: the times are of different work",
    );
    console.log(`this tree takes ${(median(sides[1].seconds) / median(sides[0].seconds)).toFixed(2)} x the time of ${ref}`);
  } finally {
    spawnSync("git", ["worktree", "remove", "--force", other]);
    rmSync(dir, { recursive: true, force: true });
  }
}
