import { useEffect, useRef, useState } from "react";
import type { Beside, Thought, ThoughtAsk } from "./worker.ts";

/** Between two answers on the screen, ms: while a value is dragged the drawing is redrawn every frame, what is said of it less often. */
const PACE_MS = 120;

/** Of which state of order, shop and drawing an answer is. */
type State = readonly [file: unknown, shop: string | null, drawing: Uint8Array | null];

/** What the checks say of an order; the screen is drawn without waiting for them. `stale`: of an earlier state. */
export function useThought(
  file: unknown,
  shop: string | null,
  drawing: Uint8Array | null,
): { readonly thought: Thought | null; readonly stale: boolean; readonly failed: boolean } {
  const worker = useRef<Worker | null>(null);
  const turn = useRef(0);
  const busy = useRef(false);
  const next = useRef<ThoughtAsk | null>(null);
  const told = useRef<Beside | null>(null);
  const [failed, setFailed] = useState(false);
  const states = useRef(new Map<number, State>());
  const [shown, setShown] = useState<{ readonly thought: Thought; readonly of: State | undefined } | null>(null);
  useEffect(() => {
    const w = new Worker("/bench/thinker.js", { type: "module" });
    worker.current = w;
    busy.current = false;
    told.current = null;
    let shownAt = Number.NEGATIVE_INFINITY;
    let newest: Thought | null = null;
    const asked = states.current;
    let timer: ReturnType<typeof setTimeout> | null = null;
    const show = (): void => {
      timer = null;
      shownAt = performance.now();
      if (newest === null) return;
      setShown({ thought: newest, of: asked.get(newest.turn) });
      for (const turn of asked.keys()) if (turn <= newest.turn) asked.delete(turn);
    };
    w.onmessage = ({ data }: MessageEvent<Thought>) => {
      const waiting = next.current;
      next.current = null;
      busy.current = waiting !== null;
      if (waiting !== null) w.postMessage(waiting);
      newest = data;
      if (timer === null) timer = setTimeout(show, Math.max(0, shownAt + PACE_MS - performance.now()));
    };
    w.onerror = () => setFailed(true);
    return () => {
      if (timer !== null) clearTimeout(timer);
      w.terminate();
      worker.current = null;
    };
  }, []);
  useEffect(() => {
    const beside: Beside = { shop, drawing };
    const known = told.current?.shop === shop && told.current.drawing === drawing;
    const kept = next.current?.beside;
    const ask: ThoughtAsk = { turn: ++turn.current, file, ...(known ? (kept === undefined ? {} : { beside: kept }) : { beside }) };
    told.current = beside;
    states.current.set(ask.turn, [file, shop, drawing]);
    if (busy.current) next.current = ask;
    else {
      busy.current = true;
      worker.current?.postMessage(ask);
    }
  }, [file, shop, drawing]);
  const of = shown?.of;
  const stale = of === undefined || of[0] !== file || of[1] !== shop || of[2] !== drawing;
  return { thought: shown?.thought ?? null, stale, failed };
}
