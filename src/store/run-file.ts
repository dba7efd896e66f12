import * as z from "zod";
import { InputError } from "../job/errors.ts";
import { checkFormat } from "../job/files.ts";
import { addEvents, type RunEvent, type RunFile, runEvent, type SaidEvent } from "./runs.ts";
import type { Said, Store } from "./types.ts";

/*
 * A run as a plain file beside its order, NAME-rN.run.json: the same list of what was said as the shop's memory keeps, which takes it over
 * as it is. Every entry has an id of its own, so that taking it over twice, or after the bench has added to it, changes nothing.
 */

export const RUN_FILE: RegExp = /^([a-z0-9]+(?:-[a-z0-9]+)*)-r([1-9]\d{0,4})\.run\.json$/;
export const MAX_RUN_BYTES: number = 4 * 1024 * 1024;

const hash = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().min(1).max(400);
const schema = z.object({
  format: z.literal("neckwright-run/1"),
  order: text,
  orderSha256: hash,
  shop: text,
  programs: z.array(z.object({ file: text, sha256: hash, cutter: z.number(), feedLength: z.number() })).max(500),
  events: z.array(z.intersection(runEvent, z.object({ by: z.string().max(200) }))).max(5000),
  corrections: z.array(z.object({ of: z.enum(["order", "shop"]), date: text, says: text, reason: z.string().max(400) })).optional(),
});

/** Reads a run's file; throws InputError with the first place that is wrong. */
export function parseRun(source: string, path: string): RunFile {
  let data: unknown;
  try {
    data = JSON.parse(source);
  } catch (error) {
    throw new InputError(
      path,
      `this is not JSON, or only part of it: ${error instanceof Error ? error.message : String(error)}`,
      "take its backup, or begin another run",
    );
  }
  checkFormat(data, "neckwright-run/1", path, "take its backup, or begin another run");
  const read = schema.safeParse(data);
  if (!read.success) {
    const first = read.error.issues[0];
    throw new InputError(path, `${first.path.join(".") || "the file"}: ${first.message}`, "mend it, or begin another run");
  }
  return read.data as RunFile;
}

export const runText = (run: RunFile): string => `${JSON.stringify(run, null, 2)}\n`;

/** With more said; what is there already (by id) is not added again. */
export function withEvents(run: RunFile, events: readonly RunEvent[], by: string): RunFile {
  const known = new Set(run.events.map((e) => e.id));
  const fresh: SaidEvent[] = events.filter((e) => !known.has(e.id)).map((e) => ({ ...e, by }));
  return { ...run, events: [...run.events, ...fresh] };
}

/**
 * Takes a run's file into a shop's memory, under its own name. Where the memory has that run already only what it does not know is added;
 * another run of the same name is not touched: the next free name is taken. Returns the name.
 */
export function takeRun(store: Store, name: string, run: RunFile, said: Said): string {
  return store.together(() => {
    const base = name.replace(/-r\d+$/, "");
    const { events, ...head } = run;
    const mine = JSON.stringify({ ...head, programs: run.programs });
    for (let n = Number(/-r(\d+)$/.exec(name)?.[1] ?? 1); ; n++) {
      const as = `${base}-r${n}`;
      const doc = store.get("run", as);
      if (doc !== null) {
        const { events: theirs, ...rest } = JSON.parse(doc.text) as RunFile;
        const shared = theirs.length === 0 || events.length === 0 || theirs.some((e) => events.some((f) => f.id === e.id));
        if (JSON.stringify({ ...rest, programs: rest.programs }) !== mine || !shared) continue;
      } else if (store.versions("run", as, 1).length > 0) continue;
      else store.put("run", as, JSON.stringify({ ...head, events: [] } satisfies RunFile), null, said);
      // each entry stays with who said it
      for (const by of new Set(events.map((e) => e.by)))
        addEvents(
          store,
          as,
          events.filter((e) => e.by === by).map(({ by: _by, ...e }) => e as RunEvent),
          { ...said, by },
        );
      return as;
    }
  });
}
