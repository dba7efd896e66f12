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
  lan?: true;
  cert?: string;
  key?: string;
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
  if (o.lan === true && o.shopFolder === undefined)
    throw new InputError("--lan", "only the bench is served on the network", "give --shop-folder");
  if ((o.cert === undefined) !== (o.key === undefined) || (o.cert !== undefined && o.lan !== true))
    throw new InputError("--cert", "a certificate needs its key, and --lan", "give --lan, --cert FILE and --key FILE");
  let serving: Serving;
  let what: string;
  if (o.shopFolder !== undefined) {
    serving = await serveShop(o.shopFolder, {
      port: o.port ?? null,
      pages: pagesFolder(),
      workers: o.workers ?? io.workers,
      cache: io.cache,
      log: (line) => io.err(line),
      ...(o.lan === true
        ? { lan: { certificate: o.cert !== undefined && o.key !== undefined ? { cert: o.cert, key: o.key } : null } }
        : {}),
    });
    what = `Bench over ${o.shopFolder}`;
  } else {
    serving = await serveFolder(dir ?? ".", o.port ?? null);
    what = `Report of ${dir ?? "."}`;
  }
  if (o.json) io.out(`${JSON.stringify({ command: "serve", address: serving.address, ...(serving.lan ?? {}) })}\n`);
  else {
    io.out(
      `${what}: ${serving.address}\n${serving.lan === undefined ? "Only this machine can open it. " : lanText(serving)}Ctrl-C ends it.\n`,
    );
    if (o.open !== false && io.terminal) showInBrowser(serving.address);
  }
  await new Promise<void>((resolve) => {
    if (io.signal.aborted) resolve();
    else io.signal.addEventListener("abort", () => resolve(), { once: true });
  });
  await serving.close();
  return EXIT.sound;
}

function lanText({ address, lan }: Serving): string {
  const { addresses, code } = lan as NonNullable<Serving["lan"]>;
  const where = addresses.length === 0 ? "This machine is on no network." : `Other devices open ${addresses.join(" or ")}`;
  return `${where}\nand pair with the code ${code.slice(0, 4)} ${code.slice(4)} (once, for five minutes). New codes and devices: ${address}devices\n`;
}
