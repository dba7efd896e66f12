import type { Progress } from "../job/pool.ts";
import { type Io, paint } from "./io.ts";

export interface ProgressLine {
  readonly show: Progress;
  /** Takes the bar off the screen, so that what is printed next stands on a clean line. */
  clear(): void;
}

/** Progress on stderr: one bar that is redrawn on a terminal, elsewhere a line for every tenth; none when `quiet`. */
export function progressLine(io: Io, quiet: boolean): ProgressLine {
  if (quiet) return { show: () => undefined, clear: () => undefined };
  let tenth = -1;
  let drawn = "";
  let highest = 0;
  return {
    show(share, says) {
      // stages on several threads report in any order; a bar that runs backwards tells nothing
      highest = Math.max(highest, Math.min(1, share));
      const percent = Math.floor(highest * 100);
      if (!io.terminal) {
        if (Math.floor(percent / 10) <= tenth) return;
        tenth = Math.floor(percent / 10);
        io.err(`${String(tenth * 10).padStart(3)} %  ${says}\n`);
        return;
      }
      const width = Math.max(10, Math.min(30, io.columns - 50));
      const full = Math.round(highest * width);
      const bar = `${"█".repeat(full)}${"░".repeat(width - full)}`;
      const room = Math.max(0, io.columns - width - 10);
      const line = `${bar} ${String(percent).padStart(3)} %  ${says.slice(0, room)}`;
      if (line === drawn) return;
      drawn = line;
      io.err(`\r\u001b[2K${paint(io, "cyan", bar)}${line.slice(bar.length)}`);
    },
    clear() {
      if (io.terminal && drawn !== "") io.err("\r\u001b[2K");
      drawn = "";
    },
  };
}
