import * as z from "zod";
import { type Said, type Store, StoreError } from "./types.ts";

/*
 * The record of a run: one piece at the machine. It is a list of what was said, each with an id of its own, that only grows. So a tablet that
 * lost its connection sends what it has when it is back, twice if it likes; two devices at once do not get in each other's way; and what the
 * record shows does not depend on which of them came first.
 */

const text = (most: number): z.ZodString => z.string().min(1).max(most);
const id = z.string().regex(/^[A-Za-z0-9-]{8,64}$/);
const time = z
  .string()
  .regex(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,3})?Z$/)
  .refine((t) => !Number.isNaN(Date.parse(t)), "this is no time");
const hash = z.string().regex(/^[0-9a-f]{64}$/);

const head = { id, at: time, step: text(120) };
/** What a device says of a step: its program's file, or "hand-N" for the N-th thing done by hand. `at` is the device's own time. */
export type RunEvent = { readonly id: string; readonly at: string; readonly step: string } & (
  | { readonly kind: "done" | "undone" }
  | { readonly kind: "measured"; readonly name: string; readonly value: number; readonly unit: string }
  | { readonly kind: "note"; readonly text: string }
  | { readonly kind: "photo"; readonly hash: string; readonly label: string }
  | { readonly kind: "time"; readonly seconds: number }
);
export const runEvent: z.ZodType<RunEvent> = z.discriminatedUnion("kind", [
  z.strictObject({ ...head, kind: z.literal("done") }),
  z.strictObject({ ...head, kind: z.literal("undone") }),
  z.strictObject({ ...head, kind: z.literal("measured"), name: text(120), value: z.number(), unit: text(12) }),
  z.strictObject({ ...head, kind: z.literal("note"), text: text(4000) }),
  z.strictObject({ ...head, kind: z.literal("photo"), hash, label: z.string().max(200) }),
  z.strictObject({ ...head, kind: z.literal("time"), seconds: z.number().min(0).max(1e6) }),
]);
export type SaidEvent = RunEvent & { readonly by: string };

/** A program as it stood when the run began. */
export interface RunProgram {
  readonly file: string;
  readonly sha256: string;
  readonly cutter: number;
  /** Way of the cutter at feed, mm. */
  readonly feedLength: number;
}

export interface RunFile {
  readonly format: "neckwright-run/1";
  readonly order: string;
  /** SHA-256 of the order as job.json has it. */
  readonly orderSha256: string;
  readonly shop: string;
  readonly programs: readonly RunProgram[];
  readonly events: readonly SaidEvent[];
  /** Corrections that were in force when the programs were made. */
  readonly corrections?: readonly {
    readonly of: "order" | "shop";
    readonly date: string;
    readonly says: string;
    readonly reason: string;
  }[];
}

export interface StepState {
  readonly done: boolean;
  readonly doneAt: string | null;
  readonly by: string | null;
  /** By name; what was measured last. */
  readonly measured: Readonly<Record<string, { readonly value: number; readonly unit: string; readonly at: string; readonly by: string }>>;
  readonly notes: readonly { readonly text: string; readonly at: string; readonly by: string }[];
  readonly photos: readonly { readonly hash: string; readonly label: string; readonly at: string; readonly by: string }[];
  readonly seconds: number;
}

/** Of one run. */
const MOST_EVENTS = 5000;

const inOrder = (events: readonly SaidEvent[]): SaidEvent[] =>
  [...events].sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.id < b.id ? -1 : 1));

/** What the events come to, by step, whatever order they came in. */
export function stateOf(events: readonly SaidEvent[]): Map<string, StepState> {
  const out = new Map<string, StepState>();
  for (const e of inOrder(events)) {
    const s = out.get(e.step) ?? { done: false, doneAt: null, by: null, measured: {}, notes: [], photos: [], seconds: 0 };
    const who = { at: e.at, by: e.by };
    if (e.kind === "measured") {
      const measured = Object.fromEntries([...Object.entries(s.measured), [e.name, { value: e.value, unit: e.unit, ...who }]]);
      out.set(e.step, { ...s, measured });
    } else if (e.kind === "done") out.set(e.step, { ...s, done: true, doneAt: e.at, by: e.by });
    else if (e.kind === "undone") out.set(e.step, { ...s, done: false, doneAt: null, by: e.by });
    else if (e.kind === "note") out.set(e.step, { ...s, notes: [...s.notes, { text: e.text, ...who }] });
    else if (e.kind === "photo") out.set(e.step, { ...s, photos: [...s.photos, { hash: e.hash, label: e.label, ...who }] });
    else if (e.kind === "time") out.set(e.step, { ...s, seconds: s.seconds + e.seconds });
  }
  return out;
}

/** Begins a run; returns its name, ORDER-rN. */
export function beginRun(store: Store, run: Omit<RunFile, "format" | "events">, said: Said): string {
  return store.together(() => {
    for (let n = 1; ; n++) {
      const name = `${run.order}-r${n}`;
      if (store.versions("run", name, 1).length > 0) continue;
      store.put("run", name, JSON.stringify({ format: "neckwright-run/1", ...run, events: [] } satisfies RunFile), null, said);
      return name;
    }
  });
}

export function readRun(store: Store, name: string): RunFile | null {
  const doc = store.get("run", name);
  return doc === null ? null : (JSON.parse(doc.text) as RunFile);
}

/** Adds what a device says; what is there already (by id) is not added again. Cutters wear by what programs are done. */
export function addEvents(store: Store, name: string, events: readonly RunEvent[], said: Said): RunFile | null {
  return store.together(() => {
    const doc = store.get("run", name);
    if (doc === null) return null;
    const run = JSON.parse(doc.text) as RunFile;
    const known = new Set(run.events.map((e) => e.id));
    const fresh: SaidEvent[] = [];
    for (const e of events) {
      if (known.has(e.id)) continue;
      known.add(e.id);
      if (e.kind === "photo" && store.bytes(e.hash) === null)
        throw new StoreError("The photograph of this note is not kept here.", "Send it first.");
      fresh.push({ ...e, by: said.by });
    }
    if (fresh.length === 0) return run;
    if (run.events.length + fresh.length > MOST_EVENTS)
      throw new StoreError(`A run has at most ${MOST_EVENTS} entries.`, "Begin another run.");
    const next: RunFile = { ...run, events: [...run.events, ...fresh] };
    const put = store.put("run", name, JSON.stringify(next), doc.mark, said);
    if (!("head" in put)) throw new Error("the lock did not hold");
    for (const e of fresh) if (e.kind === "photo") store.attach("run", name, e.hash, e.label, said);
    const state = stateOf(next.events);
    for (const p of run.programs)
      if (fresh.some((e) => e.step === p.file && (e.kind === "done" || e.kind === "undone")))
        store.wear(`${run.shop}-t${p.cutter}`, `${name} ${p.file}`, state.get(p.file)?.done === true ? p.feedLength : 0, said);
    return next;
  });
}
