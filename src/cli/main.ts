import { run } from "./app.ts";
import { processIo } from "./io.ts";
import { EXIT } from "./outcome.ts";

/** The process: signals in, exit code out. */
const control = new AbortController();
for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) {
  process.on(signal, () => {
    // the first asks for a clean stop; whoever asks again does not want to wait for it
    if (control.signal.aborted) process.exit(EXIT.interrupted);
    control.abort();
  });
}
process.exitCode = await run(process.argv.slice(2), processIo(control.signal));
