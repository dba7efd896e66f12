import { type KeyboardEvent, type PointerEvent, type ReactElement, useEffect, useMemo, useRef, useState } from "react";
import type { JobFile } from "../../job/files.ts";
import { baseName, freeOf, type Holding, middleOf, type Neck, type Side, type Solid } from "../../job/live.ts";
import { type Json, type Path, valueAt } from "../document.ts";
import { useSay } from "../settings.tsx";
import { inBlank, onPage, type XY } from "./lay.ts";

type SideName = "board" | "carve";

interface Props {
  readonly file: Json;
  readonly neck: Neck;
  readonly holding: Holding;
  readonly job: JobFile | null;
  readonly set: (path: Path, value: Json | undefined, drag?: boolean) => void;
}

/** Parts snap to these, mm. */
const SNAP = 5;
const round = (v: number): number => Math.round(v * 10) / 10;

interface Placed {
  readonly name: string;
  readonly side?: SideName;
  readonly x?: number | string;
  readonly y?: number | string;
}

/** What holds the piece on both sides, where it may be dragged, what the cutters sweep over, and the turn between the two. */
export function HoldingPage(p: Props): ReactElement {
  const say = useSay();
  const [chosen, setChosen] = useState<string | null>(null);
  const [sweeps, setSweeps] = useState(false);
  const [turn, setTurn] = useState<number | null>(null);
  const placed = placedIn(p.file);
  const put = (name: string, x: number | undefined, y: number | undefined, drag: boolean): void => {
    const next: Placed = { name, ...(x === undefined ? {} : { x }), ...(y === undefined ? {} : { y }) };
    p.set(["holding", "placed"], [...placed.filter((q) => q.name !== name), next] as unknown as Json, drag);
  };
  const free = (name: string): void => {
    const rest = placed.filter((q) => q.name !== name);
    p.set(["holding", "placed"], rest.length === 0 ? undefined : (rest as unknown as Json));
  };
  // half a second each way; with motion reduced there is only the one picture and the other
  useEffect(() => {
    if (turn === null) return;
    if (turn >= 1) {
      const rest = setTimeout(() => setTurn(null), 900);
      return () => clearTimeout(rest);
    }
    const still = globalThis.matchMedia?.("(prefers-reduced-motion: reduce)").matches === true;
    const id = requestAnimationFrame(() => setTurn(still ? 1 : Math.min(1, turn + 0.012)));
    return () => cancelAnimationFrame(id);
  }, [turn]);
  const names = [...new Set([...p.holding.sides.board.holding, ...p.holding.sides.carve.holding].map(baseName))];
  return (
    <div className="holding-page">
      <div className="row">
        <label>
          <input type="checkbox" checked={sweeps} disabled={p.job === null} onChange={(e) => setSweeps(e.target.checked)} /> {say("sweeps")}
        </label>
        <button type="button" disabled={turn !== null} onClick={() => setTurn(0)}>
          {say("showTurn")}
        </button>
        <label>
          {say("part")}{" "}
          <select value={chosen ?? ""} onChange={(e) => setChosen(e.target.value === "" ? null : e.target.value)}>
            <option value="">–</option>
            {names.map((n) => (
              <option key={n}>{n}</option>
            ))}
          </select>
        </label>
        {chosen !== null && placed.some((q) => q.name === chosen) && (
          <button type="button" onClick={() => free(chosen)}>
            {say("asPlanned")}
          </button>
        )}
      </div>
      {turn !== null && <Turning neck={p.neck} holding={p.holding} at={turn} />}
      {(["board", "carve"] as const).map((name) => (
        <figure key={name}>
          <figcaption>{say(name === "board" ? "boardSide" : "carveSide")}</figcaption>
          <Lay {...p} side={p.holding.sides[name]} sweeps={sweeps} chosen={chosen} choose={setChosen} put={put} />
        </figure>
      ))}
      <p className="why">{say("holdingHelp")}</p>
    </div>
  );
}

const placedIn = (file: Json): readonly Placed[] => {
  const v = valueAt(file, ["holding", "placed"]);
  return Array.isArray(v) ? (v as unknown as readonly Placed[]) : [];
};

function corners(s: Solid): XY[] {
  if (s.kind === "box")
    return [
      [s.min[0], s.min[1]],
      [s.max[0], s.min[1]],
      [s.max[0], s.max[1]],
      [s.min[0], s.max[1]],
    ];
  if (s.kind === "prism") return s.points.map(([x, y]) => [x, y] as const);
  return Array.from({ length: 24 }, (_, k) => {
    const a = (2 * Math.PI * k) / 24;
    return [s.x + (s.diameter / 2) * Math.cos(a), s.y + (s.diameter / 2) * Math.sin(a)] as const;
  });
}

const text = (points: readonly XY[]): string => points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

/** The neck's outline in a side's program frame. */
function outlineIn(neck: Neck, s: Side): XY[] {
  const m = s.neckToProgram;
  const { tip, end } = neck.places;
  // closer together at the tip, which is round
  const n = 200;
  const xs = Array.from({ length: n + 1 }, (_, k) => Math.min(end - 0.01, Math.max(tip + 1e-4, tip + (end - tip) * (k / n) ** 1.8)));
  const to = (x: number, y: number): XY => [m[0] * x + m[1] * y + m[3], m[4] * x + m[5] * y + m[7]];
  return [...xs.map((x) => to(x, neck.edges(x)[0])), ...xs.toReversed().map((x) => to(x, neck.edges(x)[1]))];
}

function Lay(
  p: Props & {
    readonly side: Side;
    readonly sweeps: boolean;
    readonly chosen: string | null;
    readonly choose: (name: string | null) => void;
    readonly put: (name: string, x: number | undefined, y: number | undefined, drag: boolean) => void;
  },
): ReactElement {
  const say = useSay();
  const { side } = p;
  const svg = useRef<SVGSVGElement>(null);
  const outline = useMemo(() => outlineIn(p.neck, side).map((q) => onPage(side, q)), [p.neck, side]);
  const blank: XY[] = [
    [side.stock.min[0], side.stock.min[1]],
    [side.stock.max[0], side.stock.min[1]],
    [side.stock.max[0], side.stock.max[1]],
    [side.stock.min[0], side.stock.max[1]],
  ];
  const all = [...blank, ...side.holding.flatMap(corners)].map((q) => onPage(side, q));
  const [x0, x1] = [Math.min(...all.map((q) => q[0])) - 8, Math.max(...all.map((q) => q[0])) + 8];
  const [y0, y1] = [Math.min(...all.map((q) => q[1])) - 8, Math.max(...all.map((q) => q[1])) + 8];
  const placeOf = (s: Solid): XY => inBlank(side, onPage(side, middleOf(s, { along: 1, up: 1 })));
  const grip = useRef<{ readonly name: string; readonly role: Solid["role"]; readonly from: XY; readonly at: XY; moved: boolean } | null>(
    null,
  );
  const at = (e: PointerEvent): XY => {
    const m = svg.current?.getScreenCTM()?.inverse();
    if (m === undefined) return [0, 0];
    const q = new DOMPoint(e.clientX, e.clientY).matrixTransform(m);
    return inBlank(side, [q.x, q.y]);
  };
  const move = (s: Solid, to: XY, drag: boolean): void => {
    const f = freeOf(s.role, s.name);
    p.put(baseName(s), f.x ? round(to[0]) : undefined, f.y ? round(to[1]) : undefined, drag);
  };
  const main = (name: string): Solid | undefined => side.holding.find((s) => s.name === name);
  const snap = (v: number, fine: boolean): number => (fine ? v : Math.round(v / SNAP) * SNAP);
  const keys = (e: KeyboardEvent): void => {
    const s = p.chosen === null ? undefined : main(p.chosen);
    const step = e.shiftKey ? 10 : 1;
    const by = new Map<string, XY>([
      ["ArrowLeft", [-step, 0]],
      ["ArrowRight", [step, 0]],
      ["ArrowUp", [0, step]],
      ["ArrowDown", [0, -step]],
    ]).get(e.key);
    if (s === undefined || by === undefined) return;
    e.preventDefault();
    const [x, y] = placeOf(s);
    move(s, [x + by[0], y + by[1]], true);
  };
  const cut = p.job?.programs.filter((q) => q.side === side.name) ?? [];
  return (
    <svg
      ref={svg}
      className="lay-drawing"
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: parts in it are moved by keys, and a drawing has no element of its own for that
      tabIndex={0}
      aria-label={say("holdingHelp")}
      viewBox={`${x0} ${y0} ${x1 - x0} ${y1 - y0}`}
      onKeyDown={keys}
      onPointerDown={(e) => {
        const name = (e.target as Element).getAttribute("data-part");
        const s = name === null ? undefined : main(name);
        p.choose(name);
        if (s === undefined) return;
        e.currentTarget.setPointerCapture(e.pointerId);
        grip.current = { name: s.name, role: s.role, from: at(e), at: placeOf(s), moved: false };
      }}
      onPointerMove={(e) => {
        const g = grip.current;
        const s = g === null ? undefined : main(g.name);
        if (g === null || s === undefined) return;
        const q = at(e);
        const drag = g.moved;
        g.moved = true;
        move(s, [snap(g.at[0] + q[0] - g.from[0], e.altKey), snap(g.at[1] + q[1] - g.from[1], e.altKey)], drag);
      }}
      onPointerUp={() => {
        grip.current = null;
      }}
    >
      <polygon className="board" points={text(blank.map((q) => onPage(side, q)))} />
      {p.sweeps &&
        cut.map((q) => {
          const cutter = p.job?.cutters.find((c) => c.number === q.cutter);
          const r = Math.max(cutter?.diameter ?? 0, cutter?.shankDiameter ?? 0, ...(cutter?.holder.map((h) => h.diameter) ?? [])) / 2;
          const { min, max } = q.bounds;
          const swept: XY[] = [
            [min[0] - r, min[1] - r],
            [max[0] + r, min[1] - r],
            [max[0] + r, max[1] + r],
            [min[0] - r, max[1] + r],
          ];
          return (
            <polygon key={q.file} className="sweep" points={text(swept.map((c) => onPage(side, c)))}>
              <title>{`${q.file.replace("programs/", "")}, z ${min[2].toFixed(1)} – ${max[2].toFixed(1)}`}</title>
            </polygon>
          );
        })}
      <polygon className="neck-in still" points={text(outline)} />
      {side.holding.map((s) => {
        const name = baseName(s);
        const shape = text(corners(s).map((q) => onPage(side, q)));
        return (
          <polygon
            key={s.name}
            className={`part ${s.role.replace(" ", "-")}${name === p.chosen ? " chosen" : ""}`}
            data-part={name}
            points={shape}
          >
            <title>{`${s.name}: ${placeOf(s)
              .map((v) => v.toFixed(1))
              .join(", ")} mm`}</title>
          </polygon>
        );
      })}
      <Cross at={onPage(side, [0, 0])} />
    </svg>
  );
}

function Cross(p: { readonly at: XY }): ReactElement {
  const [x, y] = p.at;
  return (
    <g className="zero">
      <line x1={x - 7} x2={x + 7} y1={y} y2={y} />
      <line x1={x} x2={x} y1={y - 7} y2={y + 7} />
    </g>
  );
}

/** The blank with its neck turned over from one side to the other, seen from above: what is turned about shrinks to a line and grows again. */
function Turning(p: { readonly neck: Neck; readonly holding: Holding; readonly at: number }): ReactElement {
  const say = useSay();
  const { board, carve } = p.holding.sides;
  const half = p.at < 0.5;
  const side = half ? board : carve;
  const squeeze = Math.max(0.02, Math.abs(Math.cos(Math.PI * p.at)));
  const about = p.neck.order.holding.turn;
  const outline = outlineIn(p.neck, side).map((q) => onPage(side, q));
  const blank: XY[] = [
    [side.stock.min[0], side.stock.min[1]],
    [side.stock.max[0], side.stock.min[1]],
    [side.stock.max[0], side.stock.max[1]],
    [side.stock.min[0], side.stock.max[1]],
  ].map((q) => onPage(side, q as unknown as XY));
  const [cx, cy] = [0, 1].map((k) => (Math.min(...blank.map((q) => q[k])) + Math.max(...blank.map((q) => q[k]))) / 2) as [number, number];
  const lie = ([x, y]: XY): XY => (about === "x" ? [x - cx, (y - cy) * squeeze] : [(x - cx) * squeeze, y - cy]);
  const w = Math.max(...blank.map((q) => Math.abs(q[0] - cx))) + 10;
  const h = Math.max(...blank.map((q) => Math.abs(q[1] - cy))) + 10;
  return (
    <figure className="turning">
      <figcaption>{say(about === "x" ? "turnX" : "turnY")}</figcaption>
      <svg className="lay-drawing" viewBox={`${-w} ${-h} ${2 * w} ${2 * h}`} aria-hidden>
        <polygon className="board" points={text(blank.map(lie))} />
        <polygon className="neck-in still" points={text(outline.map(lie))} />
      </svg>
    </figure>
  );
}
