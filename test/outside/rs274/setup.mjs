/*
 * Finds or fetches the stand-alone RS274/NGC interpreter that the outside checks compare with: the program `rs274` of Debian's
 * package linuxcnc-uspace, a general open-source machine controller. The package and the libraries it lacks are downloaded with
 * apt-get and unpacked into .cache/rs274; nothing is installed and no root is needed: apt works on lists of its own in there.
 *
 *   node test/outside/rs274/setup.mjs
 */
import { spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

/** The project's folder, also when this file runs out of a bundle. */
function projectFolder(from) {
  if (existsSync(join(from, "package.json"))) return from;
  if (dirname(from) === from) throw new Error("there is no package.json above this file");
  return projectFolder(dirname(from));
}

const cache = join(projectFolder(dirname(fileURLToPath(import.meta.url))), ".cache");
const home = join(cache, "rs274");
const PACKAGE = "linuxcnc-uspace";
/** Libraries whose package is not named after them. */
const NAMED_OTHERWISE = { z: "zlib1g" };

/** A program's output, or an error that says what was run and what it answered. */
function run(command, args, options = {}) {
  const r = spawnSync(command, args, { encoding: "utf8", maxBuffer: 1 << 28, ...options });
  if (r.error) throw new Error(`${command} cannot be run here: ${r.error.message}`);
  if (r.status !== 0) throw new Error(`${command} ${args.join(" ")} failed (${r.status}):\n${r.stdout}${r.stderr}`);
  return r.stdout;
}

function libraryFolders(root) {
  const lib = join(root, "usr", "lib");
  const inner = existsSync(lib) ? readdirSync(lib).filter((f) => f.endsWith("-linux-gnu")) : [];
  return [lib, ...inner.map((f) => join(lib, f))];
}

/** What a program needs to run out of `root`. */
function environment(root) {
  const env = { ...process.env, LD_LIBRARY_PATH: libraryFolders(root).join(":") };
  const python = libraryFolders(root)[0];
  // A Python library fetched with the rest brings its own modules, which it looks for under PYTHONHOME.
  if (existsSync(python) && readdirSync(python).some((f) => /^python3\.\d+$/.test(f))) env.PYTHONHOME = join(root, "usr");
  return env;
}

const program = (root) => join(root, "usr", "bin", "rs274");

/** Names of shared libraries that `root` still lacks. */
function missingLibraries(root) {
  const files = [program(root), ...libraryFolders(root).flatMap((d) => (existsSync(d) ? readdirSync(d).map((f) => join(d, f)) : []))];
  const lacks = new Set();
  for (const file of files) {
    if (!/\brs274$|\.so(\.[\d.]+)?$/.test(file) || !statSync(file).isFile()) continue;
    const r = spawnSync("ldd", [file], { encoding: "utf8", env: environment(root) });
    if (r.error) throw new Error(`ldd cannot be run here: ${r.error.message}`);
    for (const [, name] of r.stdout.matchAll(/^\s*(\S+) => not found/gm)) lacks.add(name);
  }
  return [...lacks];
}

const letters = (s) =>
  s
    .toLowerCase()
    .replace(/^lib/, "")
    .replace(/[^a-z+]/g, "");

/** The package of a library, among everything that PACKAGE depends on: both are named by the same letters. */
function packageOf(library, all) {
  const stem = letters(library.replace(/\.so.*$/, ""));
  const found = NAMED_OTHERWISE[stem] ?? all.find((p) => p.startsWith("lib") && letters(p.replace(/t64$/, "")) === stem);
  if (found === undefined) throw new Error(`no package that ${PACKAGE} depends on seems to hold the library ${library}`);
  return found;
}

function fetchAll(say) {
  mkdirSync(cache, { recursive: true });
  const work = mkdtempSync(join(cache, "rs274-new-"));
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
    const unpack = (names) => {
      say(`downloading ${names.join(" ")}`);
      run("apt-get", [...options, "-q", "download", ...names], { cwd: debs });
      for (const deb of readdirSync(debs)) {
        const open = join(work, "open");
        run("dpkg-deb", ["-x", join(debs, deb), open]);
        if (names[0] === PACKAGE) {
          cpSync(program(open), program(root));
          for (const f of readdirSync(join(open, "usr", "lib")))
            if (/\.so(\.|$)/.test(f)) cpSync(join(open, "usr", "lib", f), join(root, "usr", "lib", f));
        } else {
          for (const top of ["usr/lib", "lib"])
            if (existsSync(join(open, top))) cpSync(join(open, top), join(root, "usr", "lib"), { recursive: true, verbatimSymlinks: true });
        }
        rmSync(open, { recursive: true });
        rmSync(join(debs, deb));
      }
    };
    unpack([PACKAGE]);
    const all = [
      ...new Set(
        run("apt-cache", [...options, "depends", "--recurse", "--no-recommends", "--no-suggests", PACKAGE]).match(/^[a-z][\w.+-]*/gm),
      ),
    ];
    for (let round = 0; round < 8; round++) {
      const lacks = missingLibraries(root);
      if (lacks.length === 0) break;
      const names = [...new Set(lacks.map((l) => packageOf(l, all)))];
      for (const p of names.filter((n) => /^libpython3[.\d]+(t64)?$/.test(n)))
        names.push(...["-minimal", "-stdlib"].map((s) => p.replace(/t64$/, "") + s));
      unpack(names);
    }
    const lacks = missingLibraries(root);
    if (lacks.length > 0) throw new Error(`still lacking: ${lacks.join(", ")}`);
    try {
      renameSync(root, home);
    } catch (error) {
      // Another process may have fetched it meanwhile; then this copy is not needed.
      if (!existsSync(program(home))) throw error;
    }
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** Why it could not be fetched; it is tried once. */
let failure = null;

/**
 * The interpreter's path and the environment to run it in; fetches it first when it is not there. Throws with a reason when
 * that cannot be done.
 */
export function ensureRs274(say = () => {}) {
  if (failure !== null) throw failure;
  if (!existsSync(program(home))) {
    say(`${PACKAGE} is not in ${home}`);
    try {
      fetchAll(say);
    } catch (error) {
      failure = new Error(
        `The independent RS274/NGC interpreter could not be fetched. It needs Linux with apt-get, dpkg-deb, ldd and a package source that has ${PACKAGE} (Debian 12 or later). Set NECKWRIGHT_OFFLINE=1 to leave out the checks that need it. What failed: ${error.message}`,
      );
      throw failure;
    }
  }
  say(`using ${program(home)}`);
  return { program: program(home), env: environment(home) };
}

/** Whether it is there already. */
export const haveRs274 = () => existsSync(program(home));

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  try {
    ensureRs274((s) => console.log(s));
  } catch (error) {
    console.error(error.message);
    process.exitCode = 1;
  }
}
