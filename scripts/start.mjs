// npm start: sets up what is missing, builds, makes and proves the demo order, then opens the bench over the demo workshop's folder.
// `npm start -- --no-serve` ends after making; `-- --port 8080` chooses the port.
import { spawn } from "node:child_process";
import { cpSync, existsSync, mkdirSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { build } from "./build.mjs";
import { ensure, root } from "./ensure.mjs";

const args = process.argv.slice(2);
const serve = !args.includes("--no-serve");
const rest = args.filter((a) => a !== "--no-serve");

ensure();
await build();

let child = null;
let interrupted = false;
// The child gets Ctrl-C from the terminal itself; a signal sent to this process alone is handed on.
for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"]) {
  process.on(signal, () => {
    interrupted = true;
    if (signal !== "SIGINT" || !process.stdin.isTTY) child?.kill(signal);
  });
}

function run(...command) {
  return new Promise((resolve) => {
    child = spawn(process.execPath, [join(root, "dist", "cli.mjs"), ...command], { cwd: root, stdio: "inherit" });
    child.on("exit", (code, signal) => resolve(code ?? (signal === "SIGINT" ? 130 : 143)));
  });
}

// The demo workshop's folder: copies of the examples, made once and then the person's own.
const shop = join("out", "workshop");
mkdirSync(join(root, shop), { recursive: true });
for (const entry of readdirSync(join(root, "examples"))) {
  const to = join(root, shop, entry);
  if (!existsSync(to)) cpSync(join(root, "examples", entry), to, { recursive: true });
}
const code = await run(
  "make",
  join(shop, "loan-guitar.order.json"),
  "--shop",
  join(shop, "stiff-router.shop.json"),
  "--out",
  join(shop, "jobs", "loan-guitar"),
);
// findings that stop the demo are shown in the bench; bad input and defects end here
if (interrupted || !serve || code > 1) process.exit(code);
process.exit(await run("serve", "--shop-folder", shop, ...rest));
