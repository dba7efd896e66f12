import { serveFolder } from "../../server/serve.ts";
import type { Io } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";

export async function serve(io: Io, dir: string, o: { port?: number; json?: true }): Promise<ExitCode> {
  const serving = await serveFolder(dir, o.port ?? null);
  if (o.json) io.out(`${JSON.stringify({ command: "serve", address: serving.address })}\n`);
  else io.out(`Report of ${dir}: ${serving.address}\nOnly this machine can open it. Ctrl-C ends it.\n`);
  await new Promise<void>((resolve) => {
    if (io.signal.aborted) resolve();
    else io.signal.addEventListener("abort", () => resolve(), { once: true });
  });
  await serving.close();
  return EXIT.sound;
}
