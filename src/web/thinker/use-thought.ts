import { useEffect, useRef, useState } from "react";
import type { Thought, ThoughtAsk } from "./worker.ts";

/** What the checks say of an order; `turn` says of which state. The screen is drawn without waiting for them. */
export function useThought(
  file: unknown,
  shop: string | null,
  drawing: Uint8Array | null,
): { readonly thought: Thought | null; readonly stale: boolean; readonly failed: boolean } {
  const worker = useRef<Worker | null>(null);
  const turn = useRef(0);
  const busy = useRef(false);
  const next = useRef<ThoughtAsk | null>(null);
  const [failed, setFailed] = useState(false);
  const [thought, setThought] = useState<Thought | null>(null);
  useEffect(() => {
    const w = new Worker("/bench/thinker.js", { type: "module" });
    worker.current = w;
    busy.current = false;
    w.onmessage = ({ data }: MessageEvent<Thought>) => {
      setThought(data);
      const waiting = next.current;
      next.current = null;
      busy.current = waiting !== null;
      if (waiting !== null) w.postMessage(waiting);
    };
    w.onerror = () => setFailed(true);
    return () => {
      w.terminate();
      worker.current = null;
    };
  }, []);
  useEffect(() => {
    const ask: ThoughtAsk = { turn: ++turn.current, file, shop, drawing };
    if (busy.current) next.current = ask;
    else {
      busy.current = true;
      worker.current?.postMessage(ask);
    }
  }, [file, shop, drawing]);
  return { thought, stale: thought === null || thought.turn !== turn.current, failed };
}
