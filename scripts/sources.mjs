// One hash of every source that computes something: tests and the browser's own pages left out. It is built into what is bundled,
// and the cache of results takes a result again only from the sources that made it.
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

function files(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((e) => {
      const path = join(folder, e.name);
      if (e.isDirectory()) return e.name === "web" ? [] : files(path);
      return e.name.endsWith(".ts") && !/\.(test|test-data)\.ts$/.test(e.name) ? [path] : [];
    });
}

export function sourcesHash(root) {
  const src = join(root, "src");
  const hash = createHash("sha256").update(readFileSync(join(root, "package-lock.json")));
  for (const file of files(src))
    hash.update(`${file.slice(src.length)}\n`).update(createHash("sha256").update(readFileSync(file)).digest());
  return hash.digest("hex");
}

/** For esbuild and vitest: the hash as a constant. */
export const sourcesDefine = (root) => ({ NECKWRIGHT_SOURCES: JSON.stringify(sourcesHash(root)) });
