// Programs of the operating system that some outside checks run. Installed where that is possible (Debian, as root);
// elsewhere the list says what is missing, and the checks that need it fail with the same words.
import { spawnSync } from "node:child_process";
import { accessSync, constants } from "node:fs";
import { delimiter, join } from "node:path";

const WANTED = [
  { command: "pdftotext", debian: "poppler-utils", why: "the printed sheets are read back" },
  { command: "chromium", debian: "chromium", why: "the bench is worked through in a browser" },
  { command: "openssl", debian: "openssl", why: "a certificate is made to try the bench's TLS with" },
];

export function onPath(command) {
  for (const dir of (process.env.PATH ?? "").split(delimiter)) {
    try {
      accessSync(join(dir, command), constants.X_OK);
      return true;
    } catch {
      // not in this folder
    }
  }
  return false;
}

/** Installs what is missing if it may; returns what is still missing, as sentences. */
export function ensureSystem() {
  let missing = WANTED.filter((w) => !onPath(w.command));
  if (missing.length > 0 && process.getuid?.() === 0 && onPath("apt-get")) {
    const packages = [...new Set(missing.map((w) => w.debian))];
    console.error(`Installing ${packages.join(", ")} (apt-get) ...`);
    const apt = (args) =>
      spawnSync("apt-get", args, {
        stdio: ["ignore", "ignore", 2],
        env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" },
      }).status;
    const install = () => apt(["install", "-y", "-q", "--no-install-recommends", ...packages]);
    if (install() !== 0) {
      apt(["update", "-q"]);
      install();
    }
    missing = WANTED.filter((w) => !onPath(w.command));
  }
  return missing.map((w) => `"${w.command}" is missing (Debian package ${w.debian}): ${w.why}`);
}
