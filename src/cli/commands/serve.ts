import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { InputError } from "../../job/errors.ts";
import { type Serving, serveFolder, serveShop } from "../../server/serve.ts";
import type { Io } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";

export interface ServeOptions {
  shopFolder?: string;
  port?: number;
  open?: boolean;
  workers?: number;
  json?: true;
}

/** The built browser app, beside the command or beside its chunks. */
function pagesFolder(): string {
  const here = dirname(fileURLToPath(import.meta.url));
  const found = [join(here, "pages"), join(here, "..", "pages"), join(here, "..", "..", "..", "dist", "pages")].find((f) =>
    existsSync(join(f, "index.html")),
  );
  if (found === undefined) throw new InputError("dist/pages", "the bench is not built", "run npm run build");
  return found;
}

/** Asks the desktop to show an address; without a desktop nothing happens, the address is printed anyway. */
function showInBrowser(address: string): void {
  const [command, ...args] =
    process.platform === "darwin" ? ["open"] : process.platform === "win32" ? ["cmd", "/c", "start", ""] : ["xdg-open"];
  if (process.platform === "linux" && !process.env.DISPLAY && !process.env.WAYLAND_DISPLAY) return;
  const child = spawn(command, [...args, address], { stdio: "ignore", detached: true });
  child.on("error", () => undefined);
  child.unref();
}

export async function serve(io: Io, dir: string | undefined, o: ServeOptions): Promise<ExitCode> {
  if (dir !== undefined && o.shopFolder !== undefined) {
    throw new InputError(dir, "either a made folder or --shop-folder can be served, not both", "leave one of them out");
  }
  let serving: Serving;
  let what: string;
  if (o.shopFolder !== undefined) {
    serving = await serveShop(o.shopFolder, o.port ?? null, pagesFolder(), o.workers ?? io.workers);
    what = `Bench over ${o.shopFolder}`;
  } else {
    serving = await serveFolder(dir ?? ".", o.port ?? null);
    what = `Report of ${dir ?? "."}`;
  }
  if (o.json) io.out(`${JSON.stringify({ command: "serve", address: serving.address })}\n`);
  else {
    io.out(`${what}: ${serving.address}\nOnly this machine can open it. Ctrl-C ends it.\n`);
    if (o.open !== false && io.terminal) showInBrowser(serving.address);
  }
  await new Promise<void>((resolve) => {
    if (io.signal.aborted) resolve();
    else io.signal.addEventListener("abort", () => resolve(), { once: true });
  });
  await serving.close();
  return EXIT.sound;
}
