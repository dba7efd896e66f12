import { useCallback, useEffect, useRef, useState } from "react";
import type { Block } from "../space/block.ts";
import type { Answer, Ask, AtMoment, LeftOver, PathSeries, PlayedSide, SideName } from "./protocol.ts";
import type { Light, Tone } from "./shade.ts";

/** Cell of the wood that is played back, mm: fine enough for a screen. */
export const PLAYED_CELL = 0.4;

export interface Frame {
  readonly side: SideName;
  readonly moment: AtMoment;
  readonly pixels: ArrayBuffer;
}

export interface Player {
  /** Null until the made folder has been read and cut once. */
  readonly sides: readonly PlayedSide[] | null;
  readonly share: number;
  readonly failure: string | null;
  readonly frame: Frame | null;
  readonly path: PathSeries | null;
  readonly left: { readonly side: SideName; readonly left: LeftOver } | null;
  /** Moments asked for while one is under way are forgotten but for the last. */
  readonly seek: (side: SideName, seconds: number, tone: Tone, light: Light) => void;
  readonly showPath: (file: string | null) => void;
  readonly showLeft: (side: SideName | null) => void;
  /** Second of the side at which a program's line is begun; null when it has no moves there. */
  readonly secondOfLine: (side: SideName, file: string, line: number) => Promise<number | null>;
  readonly solid: (side: SideName, seconds: number, step: number) => Promise<Block>;
}

/** Plays back what was made of an order: a thread of its own reads the folder at `base`. `id` null: nothing to play. */
export function usePlayback(base: string, id: string | null): Player {
  const worker = useRef<Worker | null>(null);
  const [sides, setSides] = useState<readonly PlayedSide[] | null>(null);
  const [share, setShare] = useState(0);
  const [failure, setFailure] = useState<string | null>(null);
  const [frame, setFrame] = useState<Frame | null>(null);
  const [path, setPath] = useState<PathSeries | null>(null);
  const [left, setLeft] = useState<Player["left"]>(null);
  const busy = useRef(false);
  const next = useRef<Ask | null>(null);
  const wantedPath = useRef<string | null>(null);
  const solids = useRef(new Map<SideName, (s: Block) => void>());
  const lines = useRef<((seconds: number | null) => void)[]>([]);
  const ask = useCallback((a: Ask): void => worker.current?.postMessage(a), []);

  useEffect(() => {
    setSides(null);
    setShare(0);
    setFailure(null);
    setFrame(null);
    setPath(null);
    setLeft(null);
    busy.current = false;
    next.current = null;
    if (id === null) return;
    const w = new Worker("/bench/playback.js", { type: "module" });
    worker.current = w;
    w.onerror = (e) => setFailure(e.message);
    w.onmessage = ({ data }: MessageEvent<Answer>) => {
      switch (data.kind) {
        case "progress":
          setShare(data.share);
          break;
        case "opened":
          setSides(data.sides);
          break;
        case "at": {
          setFrame(data);
          const waiting = next.current;
          next.current = null;
          busy.current = waiting !== null;
          if (waiting !== null) w.postMessage(waiting);
          break;
        }
        case "path":
          if (data.series.file === wantedPath.current) setPath(data.series);
          break;
        case "left":
          setLeft(data);
          break;
        case "solid":
          solids.current.get(data.side)?.(data.block);
          solids.current.delete(data.side);
          break;
        case "line":
          lines.current.shift()?.(data.seconds);
          break;
        case "failed":
          busy.current = false;
          setFailure(data.says);
      }
    };
    w.postMessage({ kind: "open", base, id, cell: PLAYED_CELL } satisfies Ask);
    return () => {
      w.terminate();
      if (worker.current === w) worker.current = null;
    };
  }, [base, id]);

  const seek = useCallback(
    (side: SideName, seconds: number, tone: Tone, light: Light): void => {
      const a: Ask = { kind: "seek", side, seconds, tone, light };
      if (busy.current) next.current = a;
      else {
        busy.current = true;
        ask(a);
      }
    },
    [ask],
  );
  const showPath = useCallback(
    (file: string | null): void => {
      wantedPath.current = file;
      setPath((p) => (p?.file === file ? p : null));
      if (file !== null) ask({ kind: "path", file });
    },
    [ask],
  );
  const showLeft = useCallback(
    (side: SideName | null): void => {
      setLeft((l) => (l?.side === side ? l : null));
      if (side !== null) ask({ kind: "left", side });
    },
    [ask],
  );
  const secondOfLine = useCallback(
    (side: SideName, file: string, line: number): Promise<number | null> =>
      new Promise((done) => {
        lines.current.push(done);
        ask({ kind: "line", side, file, line });
      }),
    [ask],
  );
  const solid = useCallback(
    (side: SideName, seconds: number, step: number): Promise<Block> =>
      new Promise((done) => {
        solids.current.set(side, done);
        ask({ kind: "solid", side, seconds, step });
      }),
    [ask],
  );
  return { sides, share, failure, frame, path, left, seek, showPath, showLeft, secondOfLine, solid };
}
