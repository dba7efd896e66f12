import { type KeyboardEvent, type PointerEvent, type ReactElement, useContext, useEffect, useMemo, useRef, useState } from "react";
import { blankOutline, marginAt, type PlacementProblem, placementProblem, toPlacement } from "../../job/blank.ts";
import type { Holding, Neck } from "../../job/live.ts";
import { type Json, type Path, valueAt } from "../document.ts";
import { SettingsContext, useNames, useSay } from "../settings.tsx";
import type { XY } from "./photo.ts";
import { PhotoPanel } from "./photo-panel.tsx";
import { keepPicture, pictureOf } from "./picture-store.ts";
import type { PlaceAnswer, PlaceAsk } from "./worker.ts";

const KINDS = ["knot", "pith", "sapwood", "check", "figure"] as const;
type Kind = (typeof KINDS)[number];
type Drawing = Kind | "outline";

interface Props {
  readonly order: string;
  readonly file: Json;
  readonly drawing: Uint8Array | null;
  readonly neck: Neck;
  readonly holding: Holding | null;
  readonly set: (path: Path, value: Json | undefined, drag?: boolean) => void;
}

const round = (v: number, to = 100): number => Math.round(v * to) / to;
/** Places of a drawn line nearer than this to the one before are left out, mm. */
const SPARSE = 2.5;
/** The order takes no more corners than this. */
const MOST_CORNERS = 200;
const MOST_TURN = 10;

/** The blank to scale with its photograph, defects and figure, and the neck dragged over it; what is left around it shows as it moves. */
export function BlankPage(p: Props): ReactElement {
  const say = useSay();
  const name = useNames();
  const { inches } = useContext(SettingsContext);
  const { neck } = p;
  const { blank } = neck.order;
  const problem = useMemo(() => placementProblem(neck), [neck]);
  const at = useMemo(() => {
    const here = p.holding?.placement;
    const box = boundsOf(problem);
    return {
      tipFromEnd: blank.tipFromEnd ?? here?.tipFromEnd ?? (blank.length - (box.xMax - box.xMin)) / 2,
      centreFromDatum: blank.centreFromDatum ?? here?.centreFromDatum ?? blank.width / 2 - (box.yMin + box.yMax) / 2,
      rotation: blank.rotation ?? 0,
    };
  }, [p.holding, blank, problem]);
  const placement = toPlacement(neck, at);
  const { margin, contacts } = useMemo(() => marginAt(problem, toPlacement(neck, at)), [problem, neck, at]);
  const outline = useMemo(() => pairs(blankOutline(neck)), [neck]);
  const regions = blank.regions ?? [];

  const [picture, setPicture] = useState<string | null>(null);
  const [kept, setKept] = useState(0);
  // another device may have laid another picture under it meanwhile
  useEffect(() => {
    const look = (): void => setKept((k) => k + 1);
    globalThis.addEventListener("focus", look);
    return () => globalThis.removeEventListener("focus", look);
  }, []);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when another picture was kept
  useEffect(() => {
    let url: string | null = null;
    let gone = false;
    pictureOf(p.order).then(
      (b) => {
        if (gone || b === null) return setPicture(null);
        url = URL.createObjectURL(b);
        setPicture(url);
      },
      () => setPicture(null),
    );
    return () => {
      gone = true;
      if (url !== null) URL.revokeObjectURL(url);
    };
  }, [p.order, kept]);

  const [away, setAway] = useState(false);
  const keep = (b: Blob | null): void =>
    void keepPicture(p.order, b).then((there) => {
      setAway(!there);
      setKept((k) => k + 1);
    });

  // the blank's part of the order as it is written, with places put in
  const write = (part: { readonly [key: string]: Json | undefined }, drag = false): void => {
    const now = valueAt(p.file, ["blank"]);
    const next: Record<string, Json> = {
      ...(now !== null && typeof now === "object" && !Array.isArray(now) ? (now as Record<string, Json>) : {}),
    };
    for (const [k, v] of Object.entries(part)) {
      if (v === undefined) delete next[k];
      else next[k] = v;
    }
    p.set(["blank"], next, drag);
  };
  const moveTo = (tip: number, centre: number, turn: number, drag: boolean): void =>
    write(
      {
        tipFromEnd: round(Math.max(0, tip)),
        centreFromDatum: round(Math.max(0, centre)),
        rotation: Math.abs(turn) < 5e-4 ? undefined : round(Math.max(-MOST_TURN, Math.min(MOST_TURN, (turn * 180) / Math.PI)), 1000),
      },
      drag,
    );

  const svg = useRef<SVGSVGElement>(null);
  const placeOf = (e: PointerEvent): XY => {
    const m = svg.current?.getScreenCTM()?.inverse();
    if (m === undefined) return [0, 0];
    const q = new DOMPoint(e.clientX, e.clientY).matrixTransform(m);
    return [q.x, -q.y];
  };
  const [kind, setKind] = useState<Drawing>("knot");
  const [line, setLine] = useState<readonly XY[] | null>(null);
  const [drawing, setDrawing] = useState(false);
  const grip = useRef<{
    readonly what: "neck" | "turn" | readonly [number, number];
    readonly from: XY;
    readonly at: typeof at;
    moved: boolean;
  } | null>(null);
  const finish = (points: readonly XY[]): void => {
    setLine(null);
    setDrawing(false);
    if (points.length < 3) return;
    const every = Math.ceil(points.length / MOST_CORNERS);
    const corners = points.filter((_, k) => k % every === 0).map(([x, y]) => ({ x: round(x, 10), y: round(y, 10) }));
    if (kind === "outline") write({ outline: corners });
    else write({ regions: [...(regionsOf(p.file) as unknown as readonly Json[]), { kind, points: corners }] });
  };
  const down = (e: PointerEvent): void => {
    const q = placeOf(e);
    if (drawing) {
      e.currentTarget.setPointerCapture(e.pointerId);
      setLine([...(line ?? []), q]);
      return;
    }
    const what = (e.target as Element).getAttribute("data-grip");
    if (what === null) return;
    e.currentTarget.setPointerCapture(e.pointerId);
    const corner = /^(\d+)\/(\d+)$/.exec(what);
    grip.current = {
      what: corner === null ? (what as "neck" | "turn") : [Number(corner[1]), Number(corner[2])],
      from: q,
      at,
      moved: false,
    };
  };
  const move = (e: PointerEvent): void => {
    const q = placeOf(e);
    if (drawing && line !== null && e.buttons > 0) {
      const last = line.at(-1)!;
      if (Math.hypot(q[0] - last[0], q[1] - last[1]) > SPARSE) setLine([...line, q]);
      return;
    }
    const g = grip.current;
    if (g === null) return;
    const drag = g.moved;
    g.moved = true;
    if (g.what === "neck") moveTo(g.at.tipFromEnd + q[0] - g.from[0], g.at.centreFromDatum + q[1] - g.from[1], g.at.rotation, drag);
    else if (g.what === "turn") {
      const { shift } = toPlacement(neck, g.at);
      const angle = (v: XY): number => Math.atan2(v[1] - shift.y, v[0] - shift.x);
      moveTo(g.at.tipFromEnd, g.at.centreFromDatum, g.at.rotation + angle(q) - angle(g.from), drag);
    } else {
      const [r, c] = g.what;
      const list = regionsOf(p.file).map((one, k) =>
        k === r ? { ...one, points: one.points.map((v, n) => (n === c ? { x: round(q[0], 10), y: round(q[1], 10) } : v)) } : one,
      );
      write({ regions: list as unknown as Json }, drag);
    }
  };
  const up = (): void => {
    grip.current = null;
    // a line drawn in one go closes itself; corners set one by one are closed by Enter or the button
    if (drawing && line !== null && line.length > 12) finish(line);
  };
  const keys = (e: KeyboardEvent): void => {
    const step = e.shiftKey ? 5 : 0.5;
    const turn = ((e.shiftKey ? 0.5 : 0.05) * Math.PI) / 180;
    const by = new Map<string, readonly [number, number, number]>([
      ["ArrowLeft", [-step, 0, 0]],
      ["ArrowRight", [step, 0, 0]],
      ["ArrowUp", [0, step, 0]],
      ["ArrowDown", [0, -step, 0]],
      ["[", [0, 0, turn]],
      ["]", [0, 0, -turn]],
      ["{", [0, 0, turn]],
      ["}", [0, 0, -turn]],
    ]).get(e.key);
    if (by === undefined) return;
    e.preventDefault();
    moveTo(at.tipFromEnd + by[0], at.centreFromDatum + by[1], at.rotation + by[2], true);
  };

  const [search, setSearch] = useState<"" | "working" | string>("");
  const seek = (along: boolean): void => {
    setSearch("working");
    const w = new Worker("/bench/place.js", { type: "module" });
    w.onerror = (e) => {
      setSearch(e.message);
      w.terminate();
    };
    w.onmessage = ({ data }: MessageEvent<PlaceAnswer>) => {
      w.terminate();
      if ("says" in data) return setSearch(data.says);
      const { inBlank, margin: found, bound } = data.best;
      moveTo(inBlank.tipFromEnd, inBlank.centreFromDatum, inBlank.rotation, false);
      setSearch(say("bestFound", found.toFixed(2), Math.max(found, bound).toFixed(2)));
    };
    w.postMessage({ file: p.file, drawing: p.drawing, along } satisfies PlaceAsk);
  };

  const room = 12;
  const xs = outline.map((q) => q[0]);
  const ys = outline.map((q) => q[1]);
  const [x0, x1, y0, y1] = [Math.min(0, ...xs) - room, Math.max(...xs) + room, Math.min(0, ...ys) - room, Math.max(...ys) + room];
  const tip = toPoint(placement, [neck.places.end, 0]);
  const enough = margin >= blank.margin;
  return (
    <div className="blank-page">
      <p className={enough ? "" : "refusal"} role="status">
        {say(enough ? "marginIs" : "marginShort", margin.toFixed(2), blank.margin.toFixed(2))}{" "}
        {contacts[0] !== undefined &&
          say("marginAt", name(contacts[0].piece), name(contacts[0].region), contacts[0].x.toFixed(0), contacts[0].y.toFixed(0))}
      </p>
      <svg
        ref={svg}
        className={drawing ? "blank-drawing drawing" : "blank-drawing"}
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: the neck in it is moved by keys, and a drawing has no element of its own for that
        tabIndex={0}
        aria-label={say("blankHelp")}
        viewBox={`${x0} ${-y1} ${x1 - x0} ${y1 - y0}`}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onKeyDown={(e) => {
          if (drawing && e.key === "Enter") finish(line ?? []);
          else if (drawing && e.key === "Escape") {
            setLine(null);
            setDrawing(false);
          } else keys(e);
        }}
      >
        {picture !== null && (
          <image href={picture} x={0} y={-blank.width} width={blank.length} height={blank.width} preserveAspectRatio="none" />
        )}
        <g transform="scale(1,-1)">
          <polygon className="board" points={text(outline)} />
          <line className="datum" x1={0} y1={0} x2={blank.length} y2={0} />
          {regions.map((r, k) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: regions have no name but their place
            <g key={k}>
              <polygon
                className={r.kind === "figure" ? "region keep" : "region avoid"}
                points={text(r.points.map((q) => [q.x, q.y] as const))}
              />
              {r.points.map((q, n) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: corners have no name but their place
                <circle key={n} className="corner" data-grip={`${k}/${n}`} cx={q.x} cy={q.y} r={1.6} />
              ))}
            </g>
          ))}
          {problem.pieces.map((piece) => (
            <polygon
              key={piece.name}
              className="neck-in"
              data-grip="neck"
              points={text(pairs(piece.polygon).map((q) => toPoint(placement, q)))}
            />
          ))}
          <circle className="turn-grip" data-grip="turn" cx={tip[0]} cy={tip[1]} r={4} />
          {contacts.map((c) => (
            <line
              key={`${c.piece} ${c.region} ${c.x}`}
              className={c.margin < blank.margin ? "contact short" : "contact"}
              x1={c.x}
              y1={c.y}
              x2={c.onRegion[0]}
              y2={c.onRegion[1]}
            />
          ))}
          {line !== null && <polyline className="drawn-line" points={text(line)} />}
        </g>
        {regions.map((r, k) => {
          const [cx, cy] = [mean(r.points.map((q) => q.x)), mean(r.points.map((q) => q.y))];
          return (
            // biome-ignore lint/suspicious/noArrayIndexKey: regions have no name but their place
            <text key={k} x={cx} y={-cy} className="region-name">
              {say(`region-${r.kind}`)}
            </text>
          );
        })}
      </svg>
      <div className="row">
        <button type="button" disabled={search === "working"} onClick={() => seek(true)}>
          {say("bestAlong")}
        </button>
        <button type="button" disabled={search === "working"} onClick={() => seek(false)}>
          {say("bestTurned")}
        </button>
        <span role="status">{search === "working" ? say("reckoning") : search}</span>
      </div>
      <div className="row">
        <label>
          {say("draw")}{" "}
          <select value={kind} onChange={(e) => setKind(e.target.value as Drawing)}>
            {KINDS.map((k) => (
              <option key={k} value={k}>
                {say(`region-${k}`)}
              </option>
            ))}
            <option value="outline">{say("blankOutline")}</option>
          </select>
        </label>
        <button type="button" aria-pressed={drawing} onClick={() => (drawing ? finish(line ?? []) : setDrawing(true))}>
          {say(drawing ? "closeLine" : "startLine")}
        </button>
        {blank.outline !== undefined && (
          <button type="button" onClick={() => write({ outline: undefined })}>
            {say("squareAgain")}
          </button>
        )}
        {regions.map((r, k) => (
          <button
            // biome-ignore lint/suspicious/noArrayIndexKey: regions have no name but their place
            key={k}
            type="button"
            className="small"
            onClick={() => {
              const rest = regionsOf(p.file).filter((_, n) => n !== k);
              write({ regions: rest.length === 0 ? undefined : (rest as unknown as Json) });
            }}
          >
            {say("remove")}: {say(`region-${r.kind}`)} {k + 1}
          </button>
        ))}
      </div>
      {drawing && <p className="why">{say("drawHelp")}</p>}
      <PhotoPanel length={blank.length} width={blank.width} inches={inches} take={(b) => keep(b)} />
      {away && <p role="status">{say("photoAway")}</p>}
      {picture !== null && (
        <button type="button" className="small" onClick={() => keep(null)}>
          {say("dropPhoto")}
        </button>
      )}
    </div>
  );
}

interface WrittenRegion {
  readonly kind: Kind;
  readonly points: readonly { readonly x: number | string; readonly y: number | string }[];
}
const regionsOf = (file: Json): readonly WrittenRegion[] => {
  const r = valueAt(file, ["blank", "regions"]);
  return Array.isArray(r) ? (r as unknown as readonly WrittenRegion[]) : [];
};

const pairs = (p: Float64Array): XY[] => Array.from({ length: p.length / 2 }, (_, k) => [p[2 * k], p[2 * k + 1]] as const);
const text = (p: readonly XY[]): string => p.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(" ");
const mean = (v: readonly number[]): number => v.reduce((a, b) => a + b, 0) / Math.max(1, v.length);
const toPoint = (p: ReturnType<typeof toPlacement>, [x, y]: XY): XY => [
  Math.cos(p.rotation) * x - Math.sin(p.rotation) * y + p.shift.x,
  Math.sin(p.rotation) * x + Math.cos(p.rotation) * y + p.shift.y,
];

function boundsOf(problem: PlacementProblem): { xMin: number; xMax: number; yMin: number; yMax: number } {
  const all = problem.pieces.flatMap((q) => pairs(q.polygon));
  const [xs, ys] = [all.map((q) => q[0]), all.map((q) => q[1])];
  return { xMin: Math.min(...xs), xMax: Math.max(...xs), yMin: Math.min(...ys), yMax: Math.max(...ys) };
}
