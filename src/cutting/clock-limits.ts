import type { ClockLimits } from "../kernel/clock.ts";
import type { Machine } from "./types.ts";

/** What the clock needs of a machine. */
export function clockLimits(machine: Machine): ClockLimits {
  const { feed, rapid, acceleration, junctionDeviation } = machine;
  return { feed, rapid, acceleration, junctionDeviation };
}
