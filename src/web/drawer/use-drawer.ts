import { useCallback, useEffect, useRef, useState } from "react";
import type { Look } from "./pictures.ts";
import type { DrawAnswer, DrawAsk } from "./protocol.ts";

/**
 * The thread is begun when somebody does something, or when the first screen has been shown for this long, ms; until it is there the
 * screen's own thread draws.
 */
const LATER_MS = 1200;

export interface Drawer {
  readonly ready: boolean;
  /** Asks for a state to be drawn; of those that wait only the last is. `put` takes the answer. */
  readonly ask: (file: unknown, look: Look, afresh: boolean, put: (answer: DrawAnswer) => void) => void;
}

/** Draws on a thread of its own. `file` is what it first draws, unseen, so that it is warm when a value is dragged. */
export function useDrawer(drawing: Uint8Array | null, file: unknown): Drawer {
  const worker = useRef<Worker | null>(null);
  const [ready, setReady] = useState(false);
  const turn = useRef(0);
  const busy = useRef(false);
  const next = useRef<{ readonly ask: DrawAsk; readonly put: (answer: DrawAnswer) => void } | null>(null);
  const under = useRef<((answer: DrawAnswer) => void) | null>(null);
  const known = useRef<Uint8Array | null>(null);
  const first = useRef(file);
  first.current = file;

  const send = useCallback((ask: DrawAsk, put: (answer: DrawAnswer) => void): void => {
    busy.current = true;
    under.current = put;
    worker.current?.postMessage(ask);
  }, []);
  const ask = useCallback<Drawer["ask"]>(
    (what, look, afresh, put) => {
      const waits = next.current?.ask;
      const one: DrawAsk = {
        turn: ++turn.current,
        file: what,
        look,
        // what the one that is passed over would have said still has to be said
        afresh: afresh || waits?.afresh === true,
        ...(known.current !== drawing || waits?.drawing !== undefined ? { drawing } : {}),
      };
      known.current = drawing;
      if (busy.current) next.current = { ask: one, put };
      else send(one, put);
    },
    [drawing, send],
  );

  useEffect(() => {
    const begin = (): void => {
      unlisten();
      const w = new Worker("/bench/drawer.js", { type: "module" });
      worker.current = w;
      w.onmessage = ({ data }: MessageEvent<DrawAnswer>) => {
        const waits = next.current;
        next.current = null;
        busy.current = false;
        const put = under.current;
        if (waits !== null) send(waits.ask, waits.put);
        put?.(data);
        setReady(true);
      };
      // then the screen's own thread goes on drawing
      w.onerror = () => setReady(false);
      const look: Look = { width: 1000, height: 420, tall: 2, zoom: 1, from: null, along: false, station: 0, language: "en" };
      known.current = null;
      busy.current = false;
      send({ turn: ++turn.current, file: first.current, look, afresh: true, drawing: null }, () => undefined);
    };
    const timer = setTimeout(begin, LATER_MS);
    const unlisten = (): void => {
      clearTimeout(timer);
      for (const kind of ["pointerdown", "keydown"]) globalThis.removeEventListener(kind, begin);
    };
    for (const kind of ["pointerdown", "keydown"]) globalThis.addEventListener(kind, begin);
    return () => {
      unlisten();
      worker.current?.terminate();
      worker.current = null;
      setReady(false);
    };
  }, [send]);
  return { ready, ask };
}
