import { type ChildProcess, spawn } from "node:child_process";
import { copyFileSync, existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { type Browser, chromium } from "playwright-core";
import { root } from "../sources.ts";

/* The bench over a shop's folder of its own, from the built command, as a browser meets it. */

export async function openBrowser(): Promise<Browser> {
  const executablePath = (process.env.PATH ?? "")
    .split(delimiter)
    .map((d) => join(d, "chromium"))
    .find((f) => existsSync(f));
  if (executablePath === undefined) throw new Error("chromium is missing: npm test installs it where it may");
  return chromium.launch({ executablePath, args: ["--no-sandbox", "--enable-unsafe-swiftshader"] });
}

/** A folder with some of the examples, served; killed and started again it keeps its address. */
export class Served {
  readonly dir: string = mkdtempSync(join(tmpdir(), "neckwright-served-"));
  private server: ChildProcess | null = null;
  private port = 0;

  constructor(examples: readonly string[]) {
    for (const f of examples) copyFileSync(join(root, "examples", f), join(this.dir, f));
  }

  get address(): string {
    return `http://127.0.0.1:${this.port}/`;
  }

  async start(): Promise<void> {
    const child = spawn(process.execPath, [
      join(root, "dist", "cli.mjs"),
      "serve",
      "--shop-folder",
      this.dir,
      "--port",
      String(this.port),
      "--no-open",
      "--json",
    ]);
    this.server = child;
    const address = await new Promise<string>((resolve, reject) => {
      let out = "";
      child.stdout?.on("data", (d: Buffer) => {
        out += d.toString();
        if (out.includes("\n")) resolve((JSON.parse(out) as { address: string }).address);
      });
      child.stderr?.on("data", (d: Buffer) => reject(new Error(d.toString())));
    });
    this.port = Number(new URL(address).port);
  }

  kill(): void {
    this.server?.kill("SIGKILL");
    this.server = null;
  }

  end(): void {
    this.kill();
    rmSync(this.dir, { recursive: true, force: true });
  }
}
