/**
 * Errors that a person can do something about. Everything else that is thrown is a defect of the program and ends with
 * exit code 3.
 */

/** What was given cannot be used: a file that is missing, unreadable or too large, a folder that is not ours. Exit code 2. */
export class InputError extends Error {
  /** The place: a path, or file:line:column. */
  readonly where: string;
  readonly tryThis: string;
  override readonly name = "InputError";
  constructor(where: string, says: string, tryThis: string) {
    super(says);
    this.where = where;
    this.tryThis = tryThis;
  }
}

/** The disk refused. Exit code 3, but said in words; what stood there before still stands. */
export class DiskError extends Error {
  readonly where: string;
  readonly tryThis: string;
  override readonly name = "DiskError";
  constructor(where: string, says: string, tryThis: string, cause: unknown) {
    super(says, { cause });
    this.where = where;
    this.tryThis = tryThis;
  }
}

/** The person stopped it. */
export class Cancelled extends Error {
  override readonly name = "Cancelled";
  constructor() {
    super("stopped before it was finished; nothing was written");
  }
}

export function throwIfCancelled(signal: AbortSignal | undefined): void {
  if (signal?.aborted) throw new Cancelled();
}

/** Code of a system error ("ENOENT", ...), or "" for anything else. */
export const codeOfError = (error: unknown): string =>
  error instanceof Error && "code" in error && typeof error.code === "string" ? error.code : "";
