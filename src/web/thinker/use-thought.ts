import { useEffect, useRef, useState } from "react";
import type { Beside, Thought, ThoughtAnswer, ThoughtAsk } from "./worker.ts";

/** Between two states that are checked, ms: while a value is dragged the drawing is redrawn every frame, what is said of it less often. */
const PACE_MS = 120;

/** Of which state of order, shop and drawing an answer is. */
type State = readonly [file: unknown, shop: string | null, drawing: Uint8Array | null];

/** What the checks say of an order; the screen is drawn without waiting for them. `stale`: of an earlier state. */
export function useThought(
  file: unknown,
  shop: string | null,
  drawing: Uint8Array | null,
): { readonly thought: Thought | null; readonly stale: boolean; readonly failed: boolean } {
  const turn = useRef(0);
  const told = useRef<Beside | null>(null);
  /** The state that waits to be checked; of those that wait only the last is. */
  const next = useRef<ThoughtAsk | null>(null);
  const go = useRef<() => void>(() => undefined);
  const [failed, setFailed] = useState(false);
  const states = useRef(new Map<number, State>());
  const [shown, setShown] = useState<{ readonly thought: Thought; readonly of: State | undefined } | null>(null);
  useEffect(() => {
    const w = new Worker("/bench/thinker.js", { type: "module" });
    told.current = null;
    let busy = false;
    let askedAt = Number.NEGATIVE_INFINITY;
    let timer: ReturnType<typeof setTimeout> | null = null;
    const asked = states.current;
    const send = (): void => {
      timer = null;
      if (busy || next.current === null) return;
      busy = true;
      askedAt = performance.now();
      w.postMessage(next.current);
      next.current = null;
    };
    go.current = () => {
      const wait = askedAt + PACE_MS - performance.now();
      if (wait <= 0) send();
      else timer ??= setTimeout(send, wait);
    };
    w.onmessage = ({ data: { turn: of, ...rest } }: MessageEvent<ThoughtAnswer>) => {
      busy = false;
      const state = asked.get(of);
      for (const old of asked.keys()) if (old <= of) asked.delete(old);
      setShown((before) => ({
        thought: { findings: before?.thought.findings ?? [], holding: before?.thought.holding ?? null, ...rest },
        of: state,
      }));
      if (next.current !== null) go.current();
    };
    w.onerror = () => setFailed(true);
    return () => {
      if (timer !== null) clearTimeout(timer);
      w.terminate();
      go.current = () => undefined;
    };
  }, []);
  useEffect(() => {
    const beside: Beside = { shop, drawing };
    const known = told.current?.shop === shop && told.current.drawing === drawing;
    const kept = next.current?.beside;
    next.current = { turn: ++turn.current, file, ...(known ? (kept === undefined ? {} : { beside: kept }) : { beside }) };
    told.current = beside;
    states.current.set(turn.current, [file, shop, drawing]);
    go.current();
  }, [file, shop, drawing]);
  const of = shown?.of;
  const stale = of === undefined || of[0] !== file || of[1] !== shop || of[2] !== drawing;
  return { thought: shown?.thought ?? null, stale, failed };
}
