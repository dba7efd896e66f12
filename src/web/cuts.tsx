import { type ReactElement, useContext, useEffect, useMemo, useRef, useState } from "react";
import type { JobCut, JobFile, ProofFile } from "../job/files.ts";
import { rampTable } from "../job/live.ts";
import { jobFile } from "./api.ts";
import type { Over } from "./long-view.tsx";
import { WayLayer } from "./playback/layers.tsx";
import { clock, Waiting } from "./playback/played.tsx";
import type { PathSeries } from "./playback/protocol.ts";
import { Scale } from "./playback/scale.tsx";
import type { Player } from "./playback/use-playback.ts";
import { SettingsContext, useSay } from "./settings.tsx";

/** What the colours and the chart show along a cut. */
const QUANTITIES = ["chip", "load", "engagement", "time"] as const;
type Quantity = (typeof QUANTITIES)[number];
const UNIT: Record<Quantity, string> = { chip: "mm", load: "mm³/s", engagement: "°", time: "s" };

export interface Shown {
  readonly over: Over | null;
  /** Made only where it is shown. */
  readonly panel: () => ReactElement | null;
}

/** The cuts in the order of work; one of them drawn along its way and charted over its time. */
export function useCuts(player: Player, job: JobFile | null, proof: ProofFile | null, order: string): Shown {
  const say = useSay();
  const { slate } = useContext(SettingsContext);
  const [chosen, setChosen] = useState<string | null>(null);
  const [quantity, setQuantity] = useState<Quantity>("chip");
  const [mark, setMark] = useState<number | null>(null);
  const program = job?.programs.find((p) => chosen !== null && p.cuts.includes(chosen)) ?? null;
  const side = player.sides?.find((s) => s.side === program?.side) ?? null;
  const ready = player.sides !== null;
  const { showPath } = player;
  useEffect(() => {
    if (ready) showPath(program?.file ?? null);
    setMark(null);
  }, [ready, program?.file, showPath]);
  const series = player.path?.file === program?.file ? player.path : null;
  // the cut's own part of its program's time
  const played = side?.programs.find((p) => p.file === program?.file);
  const at = played?.cuts.findIndex((c) => c.id === chosen) ?? -1;
  const from = played === undefined || at < 0 ? 0 : played.cuts[at].from - played.from;
  const to = played === undefined ? 0 : at >= 0 && at + 1 < played.cuts.length ? played.cuts[at + 1].from - played.from : played.seconds;
  const trace = proof?.sides.flatMap((s) => s.programs).find((f) => f.file === program?.file)?.engagementTrace;
  const value = useMemo((): Float32Array | null => {
    if (series === null) return null;
    if (quantity === "chip") return series.chip;
    if (quantity === "load") return series.wood;
    if (quantity === "time") return series.t.map((t) => Math.max(0, t - from));
    const all = series.t.at(-1) ?? 0;
    if (trace === undefined || all <= 0) return null;
    return series.t.map((t) => trace[Math.min(trace.length - 1, Math.floor((t / all) * trace.length))]);
  }, [series, quantity, from, trace]);
  const most = useMemo(() => (series === null || value === null ? 1 : mostOf(series, value, from, to)), [series, value, from, to]);
  const table = useMemo(() => {
    const t = rampTable("above");
    if (!slate) return t;
    // on a dark ground the most has to be the lightest
    const turned = new Uint8Array(t.length);
    for (let k = 0; k < 256; k++) turned.set(t.subarray(3 * (255 - k), 3 * (255 - k) + 3), 3 * k);
    return turned;
  }, [slate]);
  const over = useMemo((): Over | null => {
    if (series === null || value === null || side === null) return null;
    return {
      strip: side.side === "board" ? "face" : "back",
      draw: (plane) => (
        <WayLayer side={side} series={series} value={value} most={most} from={from} to={to} table={table} plane={plane} mark={mark} />
      ),
    };
  }, [series, value, side, most, from, to, table, mark]);
  if (job === null) return { over: null, panel: () => null };
  const work: readonly JobCut[] = job.work ?? [];
  const cut = work.find((w) => w.cut === chosen) ?? null;
  const panel = (): ReactElement => (
    <div>
      <h3>{say("orderOfWork")}</h3>
      <ol className="work">
        {work.map((w) => {
          const own = job.programs.find((p) => p.cuts.includes(w.cut));
          return (
            <li key={w.cut}>
              <button type="button" aria-pressed={w.cut === chosen} onClick={() => setChosen(w.cut === chosen ? null : w.cut)}>
                {w.title} <span className="where">{w.cut}</span>
              </button>
              <span className="why">{w.why}</span>
              {w.cut === chosen && (
                <div className="chosen-cut">
                  {w.asks !== undefined && <Asks cut={w} job={job} />}
                  {own !== undefined && (
                    <p>
                      <a href={jobFile(order, own.file)}>{own.file.replace("programs/", "")}</a>
                    </p>
                  )}
                  {!ready ? (
                    <Waiting player={player} />
                  ) : (
                    <>
                      <fieldset className="row">
                        <legend>{say("coloured")}</legend>
                        {QUANTITIES.map((q) => (
                          <label key={q}>
                            <input type="radio" name="quantity" checked={quantity === q} onChange={() => setQuantity(q)} /> {say(`q-${q}`)}
                          </label>
                        ))}
                      </fieldset>
                      {value === null ? (
                        <p className="why">{say(quantity === "engagement" && series !== null ? "notAudited" : "reckoning")}</p>
                      ) : (
                        series !== null && (
                          <>
                            <Scale ramp="above" most={most} unit={UNIT[quantity]} says={say(`q-${quantity}`)} dark={slate} />
                            <Along
                              series={series}
                              value={value}
                              most={most}
                              from={from}
                              to={to}
                              unit={UNIT[quantity]}
                              mark={mark}
                              setMark={setMark}
                            />
                          </>
                        )
                      )}
                    </>
                  )}
                </div>
              )}
            </li>
          );
        })}
      </ol>
    </div>
  );
  return { over: cut === null ? null : over, panel };
}

function mostOf(s: PathSeries, value: Float32Array, from: number, to: number): number {
  let most = 0;
  for (let k = 0; k < value.length; k++) if (s.feed[k] === 1 && s.t[k] >= from && s.t[k] <= to && value[k] > most) most = value[k];
  return most > 0 ? most : 1;
}

function Asks(p: { readonly cut: JobCut; readonly job: JobFile }): ReactElement {
  const say = useSay();
  const a = p.cut.asks!;
  const cutter = p.job.cutters.find((c) => c.number === p.cut.cutter);
  const rows: readonly (readonly [string, string])[] = [
    [say("cutter"), cutter === undefined ? `T${p.cut.cutter}` : `T${cutter.number} ${cutter.name}`],
    [say("depth"), `${a.depth.toFixed(2)} mm`],
    [say("step"), `${a.step.toFixed(2)} mm`],
    [say("spindle"), `${a.rpm.toFixed(0)} /min`],
    [say("feed"), `${a.feed.toFixed(0)} mm/min`],
    [say("q-chip"), `${a.chip.toFixed(4)} mm`],
    [say("force"), `${a.force.toFixed(1)} N`],
    [say("bend"), `${a.bend.toFixed(3)} mm`],
    [say("power"), `${a.power.toFixed(0)} W`],
    [say("limitedBy"), a.limitedBy],
  ];
  return (
    <dl className="asks">
      {rows.map(([name, v]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{v}</dd>
        </div>
      ))}
    </dl>
  );
}

/** Columns of the chart: each shows the least and the most of what falls into it. */
const COLUMNS = 640;
const HEIGHT = 90;

/** A quantity over a cut's time. Pointer or arrow keys move a mark that also stands on the way. */
function Along(p: {
  readonly series: PathSeries;
  readonly value: Float32Array;
  readonly most: number;
  readonly from: number;
  readonly to: number;
  readonly unit: string;
  readonly mark: number | null;
  readonly setMark: (t: number | null) => void;
}): ReactElement {
  const say = useSay();
  const { series: s, value, from, to } = p;
  const span = Math.max(1e-9, to - from);
  const path = useMemo(() => {
    const least = new Float32Array(COLUMNS).fill(Number.POSITIVE_INFINITY);
    const most = new Float32Array(COLUMNS);
    for (let k = 1; k < value.length; k++) {
      if (s.t[k] < from || s.t[k - 1] > to) continue;
      const v = s.feed[k] === 1 ? value[k] : 0;
      const a = Math.max(0, Math.floor(((s.t[k - 1] - from) / span) * COLUMNS));
      const b = Math.min(COLUMNS - 1, Math.floor(((s.t[k] - from) / span) * COLUMNS));
      for (let c = a; c <= b; c++) {
        if (v < least[c]) least[c] = v;
        if (v > most[c]) most[c] = v;
      }
    }
    let d = "";
    for (let c = 0; c < COLUMNS; c++) {
      const lo = Number.isFinite(least[c]) ? least[c] : 0;
      d += `M${c + 0.5} ${(HEIGHT - (lo / p.most) * HEIGHT + 0.5).toFixed(1)}V${(HEIGHT - (Math.min(most[c], p.most) / p.most) * HEIGHT - 0.5).toFixed(1)}`;
    }
    return d;
  }, [s, value, from, to, span, p.most]);
  const box = useRef<HTMLDivElement>(null);
  const now = p.mark ?? from;
  let k = s.t.findIndex((t) => t >= now);
  if (k < 0) k = s.t.length - 1;
  const shown = s.feed[k] === 1 ? value[k] : 0;
  return (
    <div
      ref={box}
      className="along-chart"
      role="slider"
      tabIndex={0}
      aria-label={say("alongTime")}
      aria-valuemin={0}
      aria-valuemax={Math.round(span)}
      aria-valuenow={Math.round(now - from)}
      aria-valuetext={`${clock(now - from)}: ${shown.toPrecision(3)} ${p.unit}`}
      onKeyDown={(e) => {
        const by = { ArrowLeft: -span / 200, ArrowRight: span / 200, Home: from - now, End: to - now }[e.key];
        if (by === undefined) return;
        e.preventDefault();
        p.setMark(Math.max(from, Math.min(to, now + by)));
      }}
      onPointerMove={(e) => {
        const r = e.currentTarget.getBoundingClientRect();
        p.setMark(from + Math.max(0, Math.min(1, (e.clientX - r.left) / r.width)) * span);
      }}
    >
      <svg viewBox={`0 0 ${COLUMNS} ${HEIGHT}`} preserveAspectRatio="none" aria-hidden>
        <path d={path} />
        {p.mark !== null && <line x1={((now - from) / span) * COLUMNS} x2={((now - from) / span) * COLUMNS} y1={0} y2={HEIGHT} />}
      </svg>
      <output>
        {clock(now - from)} {shown.toPrecision(3)} {p.unit} · {say("line")} {s.line[k]}
      </output>
    </div>
  );
}
