import { useCallback, useEffect, useMemo, useRef, useState } from "react";
import { type RunEvent, type RunFile, type StepState, stateOf } from "../../store/runs.ts";
import { readRun, sendEvents } from "../api.ts";

/*
 * A run as this device has it: what the server said last, and what this device has said since, both kept by the browser. What was said is sent
 * until it is acknowledged; sent twice it counts once.
 */

const KEY = (name: string): string => `neckwright-run-${name}`;
/** Time between two looks at what others have said, ms. */
const LOOK_MS = 4000;
/** The server takes no more at once. */
const MOST_AT_ONCE = 200;

export type Sync = "saved" | "sending" | "away";

interface Kept {
  readonly run: RunFile | null;
  readonly unsent: readonly RunEvent[];
}

const readHere = (name: string): Kept => {
  try {
    return JSON.parse(localStorage.getItem(KEY(name)) ?? "null") ?? { run: null, unsent: [] };
  } catch {
    return { run: null, unsent: [] };
  }
};

/** An event without what every event has. */
export type Saying = RunEvent extends infer E ? (E extends RunEvent ? Omit<E, "id" | "at"> : never) : never;

export interface Running {
  readonly run: RunFile;
  readonly steps: ReadonlyMap<string, StepState>;
  readonly sync: Sync;
  readonly say: (what: Saying) => void;
}

export const NOTHING: StepState = { done: false, doneAt: null, by: null, measured: {}, notes: [], photos: [], seconds: 0 };

/** The run of a name, or null while nobody has it. */
export function useRun(name: string | null): Running | null {
  const [kept, setKept] = useState<Kept>({ run: null, unsent: [] });
  const [sync, setSync] = useState<Sync>("sending");
  const latest = useRef(kept);
  const working = useRef(false);

  const take = useCallback((of: string, next: Kept): void => {
    latest.current = next;
    try {
      localStorage.setItem(KEY(of), JSON.stringify(next));
    } catch {
      // still on the screen, and sent as soon as the server answers
    }
    setKept(next);
  }, []);

  const meet = useCallback(
    async (of: string): Promise<void> => {
      if (working.current) return;
      working.current = true;
      try {
        const sent = latest.current.unsent.slice(0, MOST_AT_ONCE);
        const run = sent.length > 0 ? await sendEvents(of, sent) : await readRun(of);
        const ids = new Set(sent.map((e) => e.id));
        const unsent = latest.current.unsent.filter((e) => !ids.has(e.id));
        take(of, { run: run ?? latest.current.run, unsent });
        setSync(unsent.length === 0 ? "saved" : "sending");
      } catch {
        setSync("away");
      } finally {
        working.current = false;
      }
    },
    [take],
  );

  useEffect(() => {
    const here: Kept = name === null ? { run: null, unsent: [] } : readHere(name);
    latest.current = here;
    setKept(here);
    if (name === null) return;
    void meet(name);
    const look = setInterval(() => void meet(name), LOOK_MS);
    return () => clearInterval(look);
  }, [name, meet]);

  const say = useCallback(
    (what: Saying): void => {
      if (name === null) return;
      const event = { ...what, id: newId(), at: new Date().toISOString() } as RunEvent;
      setSync("sending");
      take(name, { ...latest.current, unsent: [...latest.current.unsent, event] });
      void meet(name);
    },
    [name, meet, take],
  );
  const steps = useMemo(() => stateOf([...(kept.run?.events ?? []), ...kept.unsent.map((e) => ({ ...e, by: "" }))]), [kept]);
  return kept.run === null ? null : { run: kept.run, steps, sync, say };
}

/** crypto.randomUUID is missing on plain http, over which a tablet may come. */
const newId = (): string => Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");
