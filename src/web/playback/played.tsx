import { type ReactElement, useContext, useEffect, useMemo, useRef, useState } from "react";
import { jobFile } from "../api.ts";
import type { Over } from "../long-view.tsx";
import { SettingsContext, useSay } from "../settings.tsx";
import { CellLayer, CutterLayer, lightOf } from "./layers.tsx";
import type { PlayedSide, SideName } from "./protocol.ts";
import { Distribution, Scale } from "./scale.tsx";
import type { Tone } from "./shade.ts";
import type { Player } from "./use-playback.ts";

/** Seconds of work for one second of watching. */
const PACES: readonly number[] = [1, 10, 60, 300];

const PAPER: Tone = { low: [150, 118, 78], high: [238, 214, 172] };
const SLATE: Tone = { low: [144, 113, 75], high: [214, 184, 138] };

export const clock = (seconds: number): string => {
  const s = Math.max(0, Math.round(seconds));
  const two = (v: number): string => String(v).padStart(2, "0");
  return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
};

/** Lines of a program around one of them. */
const AROUND = 4;

export interface Played {
  readonly over: Over | null;
  /** Made only where it is shown. */
  readonly panel: () => ReactElement;
  readonly side: SideName;
  readonly seconds: number;
}

/** The wood at any moment of the work, scrubbed by time on the long view, with the program's lines beside it. */
export function usePlayed(player: Player, order: string, id: string | null): Played {
  const say = useSay();
  const { slate } = useContext(SettingsContext);
  const [name, setName] = useState<SideName>("board");
  const [seconds, setSeconds] = useState(0);
  const [pace, setPace] = useState(60);
  const [playing, setPlaying] = useState(false);
  const [showsLeft, setShowsLeft] = useState(false);
  const side = player.sides?.find((s) => s.side === name) ?? null;
  const strip = name === "board" ? "face" : "back";
  const { seek, frame, left } = player;

  // biome-ignore lint/correctness/useExhaustiveDependencies: another folder begins anew
  useEffect(() => {
    setSeconds(0);
    setPlaying(false);
    setShowsLeft(false);
  }, [player.sides]);
  useEffect(() => {
    if (side !== null) seek(side.side, seconds, slate ? SLATE : PAPER, lightOf(side, strip === "face" ? 1 : -1));
  }, [side, seconds, slate, strip, seek]);
  useEffect(() => {
    if (!playing || side === null) return;
    let last: number | null = null;
    let frameId = 0;
    const step = (now: number): void => {
      const dt = last === null ? 0 : (now - last) / 1000;
      last = now;
      setSeconds((s) => {
        const next = s + dt * pace;
        if (next < side.seconds) return next;
        setPlaying(false);
        return side.seconds;
      });
      frameId = requestAnimationFrame(step);
    };
    frameId = requestAnimationFrame(step);
    return () => cancelAnimationFrame(frameId);
  }, [playing, side, pace]);

  const shown = frame?.side === name ? frame : null;
  const overLeft = showsLeft && left?.side === name ? left.left : null;
  const over = useMemo((): Over | null => {
    if (side === null) return null;
    const pixels = overLeft?.pixels ?? shown?.pixels;
    if (pixels === undefined) return null;
    return {
      strip,
      light: true,
      draw: (plane) => (
        <>
          <CellLayer side={side} pixels={pixels} plane={plane} />
          {overLeft === null && shown !== null && <CutterLayer side={side} moment={shown.moment} plane={plane} />}
        </>
      ),
    };
  }, [side, strip, shown, overLeft]);

  const go = (to: number): void => {
    setShowsLeft(false);
    setSeconds(Math.max(0, Math.min(side?.seconds ?? 0, to)));
  };
  const panel = (): ReactElement =>
    side === null ? (
      <Waiting player={player} />
    ) : (
      <section className="played" aria-label={say("playback")}>
        <h3>{say("playback")}</h3>
        <div className="row">
          <label>
            {say("side")}{" "}
            <select
              value={name}
              onChange={(e) => {
                setName(e.target.value as SideName);
                go(0);
                setPlaying(false);
              }}
            >
              <option value="board">{say("boardSide")}</option>
              <option value="carve">{say("carveSide")}</option>
            </select>
          </label>
          <button type="button" onClick={() => setPlaying((v) => !v)} disabled={showsLeft}>
            {say(playing ? "halt" : "go")}
          </button>
          <label>
            {say("pace")}{" "}
            <select value={pace} onChange={(e) => setPace(Number(e.target.value))}>
              {PACES.map((v) => (
                <option key={v} value={v}>{`${v} ×`}</option>
              ))}
            </select>
          </label>
          <label>
            <input
              type="checkbox"
              checked={showsLeft}
              onChange={(e) => {
                setPlaying(false);
                setShowsLeft(e.target.checked);
                player.showLeft(e.target.checked ? name : null);
              }}
            />{" "}
            {say("leftOver")}
          </label>
        </div>
        {showsLeft ? (
          overLeft === null ? (
            <p className="why">{say("reckoning")}</p>
          ) : (
            <>
              <div className="row">
                <Scale ramp="below" most={overLeft.below} unit="mm" says={say("cutBelow")} />
                <Scale ramp="above" most={overLeft.above} unit="mm" says={say("stillAbove")} />
              </div>
              <Distribution edges={overLeft.edges} cells={overLeft.cells} />
              <p className="why">{say("leftOverCell", overLeft.cell)}</p>
            </>
          )
        ) : (
          <>
            <label className="scrub">
              <span className="unseen">{say("time")}</span>
              <input
                type="range"
                min={0}
                max={side.seconds}
                step={0.1}
                value={seconds}
                aria-valuetext={clock(seconds)}
                onChange={(e) => {
                  setPlaying(false);
                  go(Number(e.target.value));
                }}
              />
              <output>
                {clock(seconds)} / {clock(side.seconds)}
              </output>
            </label>
            <Beginnings side={side} go={go} />
            {shown !== null && shown.moment.file !== "" && (
              <Lines
                order={order}
                id={id}
                file={shown.moment.file}
                line={shown.moment.line}
                jump={(line) => player.secondOfLine(name, shown.moment.file, line).then((t) => t !== null && go(t))}
              />
            )}
          </>
        )}
      </section>
    );
  return { over, panel, side: name, seconds: showsLeft ? Number.POSITIVE_INFINITY : seconds };
}

/** Until the made folder has been read and cut once. */
export function Waiting(p: { readonly player: Player }): ReactElement {
  const say = useSay();
  if (p.player.failure !== null)
    return (
      <p className="refusal" role="alert">
        {p.player.failure}
      </p>
    );
  return (
    <p className="why">
      {say("readingPrograms")} <progress value={p.player.share} max={1} aria-label={say("readingPrograms")} />
    </p>
  );
}

/** A button for every cut of the side, to go to where it begins. */
function Beginnings(p: { readonly side: PlayedSide; readonly go: (seconds: number) => void }): ReactElement {
  const say = useSay();
  return (
    <p className="row">
      {say("beginOf")}:{" "}
      {p.side.programs
        .flatMap((q) => q.cuts)
        .map((c) => (
          <button key={c.id} type="button" className="small" onClick={() => p.go(c.from)}>
            {c.id}
          </button>
        ))}
    </p>
  );
}

/** The program's text around the line under way; a line is a way back to its moment. */
function Lines(p: {
  readonly order: string;
  readonly id: string | null;
  readonly file: string;
  readonly line: number;
  readonly jump: (line: number) => void;
}): ReactElement {
  const say = useSay();
  const [text, setText] = useState<{ readonly file: string; readonly lines: readonly string[] } | null>(null);
  const wanted = useRef("");
  wanted.current = p.file;
  useEffect(() => {
    fetch(`${jobFile(p.order, p.file)}?${p.id ?? ""}`)
      .then((r) => (r.ok ? r.text() : ""))
      .then(
        (t) => wanted.current === p.file && setText({ file: p.file, lines: t.split("\n") }),
        () => undefined,
      );
  }, [p.order, p.id, p.file]);
  const [typed, setTyped] = useState("");
  const lines = text?.file === p.file ? text.lines : [];
  const from = Math.max(1, p.line - AROUND);
  return (
    <div className="lines">
      <form
        className="row"
        onSubmit={(e) => {
          e.preventDefault();
          const n = Number(typed);
          if (Number.isInteger(n) && n >= 1 && n <= lines.length) p.jump(n);
        }}
      >
        <strong>{p.file.replace("programs/", "")}</strong>
        <label>
          {say("line")} <input value={typed} inputMode="numeric" size={6} onChange={(e) => setTyped(e.target.value)} />
        </label>
        <button type="submit" className="small">
          {say("toLine")}
        </button>
      </form>
      <ol start={from}>
        {lines.slice(from - 1, p.line + AROUND).map((l, k) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: a line's number is its name
          <li key={from + k} aria-current={from + k === p.line ? "true" : undefined} value={from + k}>
            <button type="button" onClick={() => p.jump(from + k)}>
              {l === "" ? "\u00a0" : l}
            </button>
          </li>
        ))}
      </ol>
    </div>
  );
}
