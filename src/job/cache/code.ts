import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import pkg from "../../../package.json" with { type: "json" };

/*
 * What stands for the code in every key of the cache: a result is taken again only from the very code that made it. The build puts
 * the hash of all sources and the lock file in (scripts/sources.mjs); a bundle without it is hashed itself. With it stands what the
 * code runs on, since another engine may round another way.
 */

declare const NECKWRIGHT_SOURCES: string | undefined;

let known: string | null = null;

/** Hash of the running code, its packages and its engine. */
export function codeVersion(): string {
  known ??= createHash("sha256")
    .update(JSON.stringify([sources(), pkg.version, pkg.dependencies, process.versions.node, process.versions.v8, process.arch]))
    .digest("hex");
  return known;
}

function sources(): string {
  if (typeof NECKWRIGHT_SOURCES === "string") return NECKWRIGHT_SOURCES;
  const hash = createHash("sha256");
  for (const file of bundlesBeside(fileURLToPath(import.meta.url))) hash.update(`${basename(file)}\n`).update(readFileSync(file));
  return hash.digest("hex");
}

/** The command's bundle, its worker's and the parts both share. */
function bundlesBeside(self: string): string[] {
  if (!self.endsWith(".mjs")) throw new Error("sources that are run as they are must be told their hash");
  const folder = dirname(self);
  const top = basename(folder) === "chunks" ? dirname(folder) : folder;
  return [top, join(top, "chunks")].filter(existsSync).flatMap((f) =>
    readdirSync(f)
      .filter((name) => name.endsWith(".mjs"))
      .sort()
      .map((name) => join(f, name)),
  );
}
