import { type KeyboardEvent, type ReactElement, useContext, useEffect, useRef, useState } from "react";
import type { Holding, Neck } from "../../job/live.ts";
import { sentence } from "../parts.tsx";
import type { SideName } from "../playback/protocol.ts";
import type { Player } from "../playback/use-playback.ts";
import { SettingsContext, useSay } from "../settings.tsx";
import { blockOfNeck, trianglesOf } from "./block.ts";
import type { Tones, Viewer } from "./viewer.ts";

interface Props {
  readonly neck: Neck;
  readonly holding: Holding | null;
  readonly player: Player;
  /** Side and second whose wood is shown when there is any. */
  readonly side: SideName;
  readonly seconds: number;
  readonly back: () => void;
}

const PAPER: Tones = { paper: "#fbf8f1", ink: "#1f1b16", accent: "#a8321a", wood: "#d9b886" };
const SLATE: Tones = { paper: "#21272b", ink: "#ebe6db", accent: "#f2906e", wood: "#c9a677" };
/** Stations of the drawn neck and cells of the drawn wood, mm. */
const NECK_STEP = 3;
const WOOD_STEP = 2;

const TURN = 0.12;
/** About the upright axis, about the level one, nearer. */
const TURNS: ReadonlyMap<string, readonly [number, number, number]> = new Map([
  ["ArrowLeft", [-TURN, 0, 1]],
  ["ArrowRight", [TURN, 0, 1]],
  ["ArrowUp", [0, TURN, 1]],
  ["ArrowDown", [0, -TURN, 1]],
  ["+", [0, 0, 1.2]],
  ["-", [0, 0, 1 / 1.2]],
]);

/** Neck or wood in space, with the blank and what holds it. */
export function SpaceView(p: Props): ReactElement {
  const say = useSay();
  const { slate } = useContext(SettingsContext);
  const box = useRef<HTMLDivElement>(null);
  const [viewer, setViewer] = useState<Viewer | null>(null);
  const [failure, setFailure] = useState("");
  const [shows, setShows] = useState({ wood: false, blank: false, holding: false });
  const tones = slate ? SLATE : PAPER;
  const first = useRef(tones);
  first.current = tones;

  useEffect(() => {
    let gone = false;
    let made: Viewer | null = null;
    import("./viewer.ts").then(
      (m) => {
        if (gone || box.current === null) return;
        try {
          made = new m.Viewer(box.current, first.current);
          setViewer(made);
        } catch (e) {
          setFailure(sentence(e));
        }
      },
      (e: unknown) => setFailure(String(e)),
    );
    return () => {
      gone = true;
      made?.close();
      setViewer(null);
    };
  }, []);

  const { solid, sides } = p.player;
  const hasWood = sides !== null;
  const woody = shows.wood && hasWood;
  useEffect(() => {
    if (viewer === null || woody) return;
    viewer.body(trianglesOf(blockOfNeck(p.neck, NECK_STEP)));
  }, [viewer, p.neck, woody]);
  const seconds = Math.min(p.seconds, sides?.find((s) => s.side === p.side)?.seconds ?? 0);
  useEffect(() => {
    if (viewer === null || !woody) return;
    let gone = false;
    solid(p.side, seconds, WOOD_STEP).then((block) => {
      if (!gone) viewer.body(trianglesOf(block));
    });
    return () => {
      gone = true;
    };
  }, [viewer, woody, solid, p.side, seconds]);
  useEffect(() => {
    if (viewer === null) return;
    const side = p.holding?.sides[p.side] ?? null;
    viewer.held(side, shows);
    const { frame } = p.player;
    if (woody && frame?.side === p.side) viewer.cutter(side, frame.moment.tip, frame.moment.outline);
    else viewer.cutter(null, [0, 0, 0], []);
  }, [viewer, p.holding, p.side, shows, woody, p.player]);
  const keys = (e: KeyboardEvent): void => {
    const turn = TURNS.get(e.key);
    if (turn !== undefined) viewer?.turn(...turn);
    else if (e.key === "0") viewer?.look();
    else return;
    e.preventDefault();
  };
  return (
    <section className="long-view space" aria-label={say("inSpace")}>
      <div className="long-tools">
        <button type="button" onClick={p.back}>
          {say("asStrips")}
        </button>
        <button type="button" onClick={() => viewer?.look()}>
          {say("whole")}
        </button>
        <button type="button" onClick={() => viewer?.look([0, -0.02, 1])}>
          {say("fromFace")}
        </button>
        <button type="button" onClick={() => viewer?.look([0, -0.02, -1])}>
          {say("fromBack")}
        </button>
        {(["wood", "blank", "holding"] as const).map((part) => (
          <label key={part}>
            <input
              type="checkbox"
              checked={shows[part]}
              disabled={part === "wood" ? !hasWood : p.holding === null}
              onChange={(e) => setShows({ ...shows, [part]: e.target.checked })}
            />{" "}
            {say(part === "wood" ? "cutWood" : part)}
          </label>
        ))}
      </div>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a picture that is turned by keys has no element of its own */}
      <div ref={box} className="space-box" role="application" aria-label={say("spaceHelp")} tabIndex={0} onKeyDown={keys}>
        {failure !== "" && (
          <p className="refusal" role="alert">
            {say("noSpace")} {failure}
          </p>
        )}
      </div>
    </section>
  );
}
