// npm start: sets up what is missing, builds, makes and proves the demo order, then serves its report.
// `npm start -- --no-serve` ends after making; `-- --port 8080` chooses the port.
import { spawn } from "node:child_process";
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

const out = join("out", "loan-guitar");
const code = await run("make", "examples/loan-guitar.order.json", "--shop", "examples/stiff-router.shop.json", "--out", out);
if (code !== 0 || interrupted || !serve) process.exit(code);
process.exit(await run("serve", out, ...rest));
