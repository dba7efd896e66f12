/** Exit codes, the same for every command. */
export const EXIT = {
  sound: 0,
  /** Stop findings that the order does not override: no program is to be run. */
  stopped: 1,
  /** The order, the shop, a path or the command line cannot be used. */
  badInput: 2,
  /** A defect of this program, or a disk that failed. */
  internal: 3,
  /** Ended by Ctrl-C (128 + 2, as shells have it); nothing half written. */
  interrupted: 130,
} as const;

export type ExitCode = (typeof EXIT)[keyof typeof EXIT];
