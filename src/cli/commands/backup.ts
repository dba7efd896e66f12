import { InputError } from "../../job/errors.ts";
import { backUp, restore } from "../../store/backup.ts";
import { StoreError } from "../../store/types.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";

const megabytes = (n: number): string => `${(n / 1e6).toFixed(1)} MB`;

/** A store's complaint is one that a person can do something about. */
async function plainly<T>(where: string, act: () => Promise<T> | T): Promise<T> {
  try {
    return await act();
  } catch (e) {
    if (e instanceof StoreError) throw new InputError(where, e.message, e.tryThis);
    throw e;
  }
}

export async function backup(io: Io, folder: string, o: { out: string; json?: true }): Promise<ExitCode> {
  const made = await plainly(folder, () => backUp(folder, o.out, new Date().toISOString()));
  if (o.json) io.out(`${JSON.stringify({ command: "backup", exitCode: EXIT.sound, file: o.out, ...made }, null, 2)}\n`);
  else
    io.out(
      `${paint(io, ["bold", "green"], "backed up")}  ${o.out}: ${made.files} files, ${megabytes(made.bytes)}; restored once beside it and found equal\n`,
    );
  return EXIT.sound;
}

export async function restoreFolder(io: Io, archive: string, o: { out: string; json?: true }): Promise<ExitCode> {
  const made = await plainly(archive, () => restore(archive, o.out));
  if (o.json) io.out(`${JSON.stringify({ command: "restore", exitCode: EXIT.sound, folder: o.out, ...made }, null, 2)}\n`);
  else
    io.out(
      `${paint(io, ["bold", "green"], "restored")}  ${o.out}: ${made.files} files, ${megabytes(made.bytes)}; every one is what was backed up\n`,
    );
  return EXIT.sound;
}
