/*
 * Finds or fetches ezdxf, a general open-source library that reads and audits DXF: Debian's packages python3-ezdxf and what it needs are
 * downloaded with apt-get and unpacked into .cache/ezdxf. Nothing is installed and no root is needed: apt works on lists of its own in
 * there. The Python is the one that is here.
 *
 *   node test/outside/ezdxf/setup.mjs
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

/** The project's folder, also when this file runs out of a bundle. */
function projectFolder(from) {
  if (existsSync(join(from, "package.json"))) return from;
  if (dirname(from) === from) throw new Error("there is no package.json above this file");
  return projectFolder(dirname(from));
}

const cache = join(projectFolder(dirname(fileURLToPath(import.meta.url))), ".cache");
const home = join(cache, "ezdxf");
const PACKAGES = ["python3-ezdxf", "python3-pyparsing", "python3-typing-extensions"];
const modules = (root) => join(root, "usr", "lib", "python3", "dist-packages");

function run(command, args, options = {}) {
  const r = spawnSync(command, args, { encoding: "utf8", maxBuffer: 1 << 28, ...options });
  if (r.error) throw new Error(`${command} cannot be run here: ${r.error.message}`);
  if (r.status !== 0) throw new Error(`${command} ${args.join(" ")} failed (${r.status}):\n${r.stdout}${r.stderr}`);
  return r.stdout;
}

function fetchAll(say) {
  mkdirSync(cache, { recursive: true });
  const work = mkdtempSync(join(cache, "ezdxf-new-"));
  try {
    const root = join(work, "root");
    const debs = join(work, "debs");
    for (const d of [root, debs, join(work, "state", "lists", "partial"), join(work, "apt", "archives", "partial")])
      mkdirSync(d, { recursive: true });
    const settings = {
      "Dir::State": join(work, "state"),
      "Dir::State::status": "/var/lib/dpkg/status",
      "Dir::Cache": join(work, "apt"),
      "APT::Sandbox::User": "",
    };
    const options = Object.entries(settings).flatMap(([k, v]) => ["-o", `${k}=${v}`]);
    say("reading the package lists (apt-get update, into the cache folder)");
    run("apt-get", [...options, "-q", "update"]);
    say(`downloading ${PACKAGES.join(" ")}`);
    run("apt-get", [...options, "-q", "download", ...PACKAGES], { cwd: debs });
    for (const deb of readdirSync(debs)) run("dpkg-deb", ["-x", join(debs, deb), root]);
    try {
      renameSync(root, home);
    } catch (error) {
      // Another process may have fetched it meanwhile; then this copy is not needed.
      if (!existsSync(modules(home))) throw error;
    }
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

export const haveEzdxf = () => existsSync(modules(home));

/** Why it could not be fetched; it is tried once. */
let failure = null;

/** The environment in which `python3` finds ezdxf; fetches it first when it is not there. Throws with a reason when that cannot be done. */
export function ensureEzdxf(say = () => {}) {
  if (failure !== null) throw failure;
  if (!haveEzdxf()) {
    try {
      fetchAll(say);
    } catch (error) {
      failure = new Error(
        `The independent DXF library could not be fetched. It needs python3, apt-get, dpkg-deb and a package source that has ${PACKAGES[0]} (Debian 12 or later). Set NECKWRIGHT_OFFLINE=1 to leave out the checks that need it. What failed: ${error.message}`,
      );
      throw failure;
    }
  }
  return { ...process.env, PYTHONPATH: modules(home), PYTHONDONTWRITEBYTECODE: "1" };
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href) ensureEzdxf((line) => console.log(line));
