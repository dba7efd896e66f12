// Makes sure that node_modules is what package-lock.json says: runs `npm ci` when it is missing or differs, and not again
// until the lock file changes. Uses nothing but Node itself, because it runs before anything is installed.
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = fileURLToPath(new URL("..", import.meta.url));

/** Fails early, in words, on a Node that the packages would crash on. */
export function checkNode() {
  const [major, minor] = process.versions.node.split(".").map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  console.error(`Neckwright needs Node 20.19 or newer; this is ${process.versions.node}.`);
  process.exit(3);
}

/** Is every package of the lock file, as far as it is meant for this machine, in npm's own record of what it installed? */
function installed(lock, record) {
  if (!existsSync(record)) return false;
  const wanted = lock.packages;
  const have = JSON.parse(readFileSync(record, "utf8")).packages;
  return Object.entries(wanted).every(([path, one]) => {
    if (path === "" || one.optional || one.devOptional) return true;
    const got = have[path];
    return got?.version === one.version && got.integrity === one.integrity && existsSync(join(root, path));
  });
}

/** Returns true when it had to install. */
export function ensure() {
  checkNode();
  const lockFile = join(root, "package-lock.json");
  const stamp = join(root, "node_modules", ".neckwright-lock");
  const lockText = readFileSync(lockFile);
  const hash = createHash("sha256").update(lockText).digest("hex");
  if (existsSync(stamp) && readFileSync(stamp, "utf8") === hash) return false;
  const lock = JSON.parse(lockText.toString("utf8"));
  let ran = false;
  if (!installed(lock, join(root, "node_modules", ".package-lock.json"))) {
    console.error("Installing packages (npm ci) ...");
    const npm = process.platform === "win32" ? "npm.cmd" : "npm";
    const run = spawnSync(npm, ["ci", "--no-fund", "--no-audit"], {
      cwd: root,
      stdio: ["ignore", 2, 2],
      shell: process.platform === "win32",
    });
    if (run.status !== 0) {
      console.error(`npm ci failed (${run.error?.message ?? `exit code ${run.status}`}). Is there a network to the package registry?`);
      process.exit(3);
    }
    ran = true;
  }
  writeFileSync(stamp, hash);
  return ran;
}

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1]) ensure();
