/*
 * What happens at the machine with one piece, as a document that several devices may write at once, with or without a connection: every entry
 * has its own key, and of two entries of one key the later holds. Merging is then the same in whatever order it is done.
 */

export interface RunEntry {
  readonly value: string | number | boolean | null;
  /** ISO 8601, UTC. */
  readonly at: string;
  readonly by: string;
}

export interface RunProgram {
  readonly file: string;
  readonly sha256: string;
  readonly cutter: number;
  /** Length in feed, mm. */
  readonly length: number;
}

export interface RunDoc {
  readonly neckwright: "run/1";
  readonly name: string;
  readonly order: string;
  /** Marks of the order that the programs were made from, and of its shop. */
  readonly orderMark: string;
  readonly shop: string;
  readonly begun: string;
  readonly programs: readonly RunProgram[];
  /**
   * "done/STEP" true or false, "seconds/STEP" measured time, "measured/WHAT" a number (mm), "note/ID" a text, "photo/HASH" its label,
   * "ended" how it came out. Null: taken back.
   */
  readonly entries: { readonly [key: string]: RunEntry };
}

const KEY = /^(?:done|seconds|measured|note|photo)\/[^/]{1,160}$|^ended$/;
const MOST_ENTRIES = 5000;
const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;

/** The later of two entries of one key; when both were said at the same moment, the same one whichever way they are held. */
const later = (a: RunEntry, b: RunEntry): RunEntry => {
  if (a.at !== b.at) return a.at > b.at ? a : b;
  return JSON.stringify([a.by, a.value]) >= JSON.stringify([b.by, b.value]) ? a : b;
};

/** Both devices' entries in one document. The head is that of the run, which never changes. */
export function mergeRuns(a: RunDoc, b: RunDoc): RunDoc {
  const entries: Record<string, RunEntry> = { ...a.entries };
  for (const [key, e] of Object.entries(b.entries)) entries[key] = Object.hasOwn(entries, key) ? later(entries[key], e) : e;
  return { ...a, entries: sorted(entries) };
}

const sorted = (entries: Readonly<Record<string, RunEntry>>): Record<string, RunEntry> =>
  Object.fromEntries(
    Object.keys(entries)
      .sort()
      .map((k) => [k, entries[k]]),
  );

/** The document with one more entry. */
export function withEntry(run: RunDoc, key: string, entry: RunEntry): RunDoc {
  return mergeRuns(run, { ...run, entries: { [key]: entry } });
}

/** The value of a key, or null. */
export const entryOf = (run: RunDoc, key: string): RunEntry["value"] => (Object.hasOwn(run.entries, key) ? run.entries[key].value : null);

/** A run from its text, or what is wrong with it. */
export function readRun(text: string): RunDoc | string {
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    return "This is not JSON.";
  }
  const r = data as RunDoc;
  if (r === null || typeof r !== "object" || r.neckwright !== "run/1") return "This is not a run (run/1).";
  for (const key of ["name", "order", "shop"] as const)
    if (typeof r[key] !== "string" || !NAME.test(r[key]) || r[key].length > 90) return `"${key}" is no name.`;
  if (typeof r.orderMark !== "string" || Number.isNaN(Date.parse(r.begun))) return "The run's head is not whole.";
  if (
    !Array.isArray(r.programs) ||
    r.programs.some((p: RunProgram) => typeof p?.file !== "string" || !Number.isFinite(p.length) || p.length < 0)
  )
    return "The run's programs are not whole.";
  const entries = r.entries;
  if (entries === null || typeof entries !== "object" || Object.keys(entries).length > MOST_ENTRIES)
    return "The run's entries are not whole.";
  for (const [key, e] of Object.entries(entries)) {
    if (!KEY.test(key)) return `There is no entry called "${key.slice(0, 40)}".`;
    if (e === null || typeof e !== "object" || Number.isNaN(Date.parse(e.at)) || typeof e.by !== "string" || e.by.length > 200)
      return `The entry "${key}" is not whole.`;
    if (!["string", "number", "boolean"].includes(typeof e.value) && e.value !== null) return `The entry "${key}" has no value.`;
    if (typeof e.value === "string" && e.value.length > 4000) return `The entry "${key}" is longer than 4000 letters.`;
    if (typeof e.value === "number" && !Number.isFinite(e.value)) return `The entry "${key}" is no number.`;
  }
  return r;
}

export const runText = (run: RunDoc): string => `${JSON.stringify({ ...run, entries: sorted(run.entries) }, null, 2)}\n`;
