import {
  type KeyboardEvent,
  memo,
  type PointerEvent,
  type ReactElement,
  type ReactNode,
  type RefObject,
  useContext,
  useEffect,
  useImperativeHandle,
  useLayoutEffect,
  useMemo,
  useRef,
  useState,
} from "react";
import type { Neck } from "../job/live.ts";
import { svgParts } from "../sheet/draw/svg.ts";
import { besideStrips, planView, type Window } from "../sheet/drawings/strips.ts";
import type { Finding } from "../units/index.ts";
import { MM_PER_INCH } from "../units/index.ts";
import { DOTS, type Look, sectionPicture, stripPictures, windowOf } from "./drawer/pictures.ts";
import type { DrawAnswer } from "./drawer/protocol.ts";
import { Drawn, type DrawnHand } from "./drawn.tsx";
import { SettingsContext, useNames, useSay } from "./settings.tsx";

/** Where places of the neck fall in a strip, in dots of the screen from its upper left: x' = ox + sx x, y' = oy + sy y. */
export interface Plane {
  readonly ox: number;
  readonly sx: number;
  readonly oy: number;
  readonly sy: number;
  readonly width: number;
  readonly height: number;
}

/** Something laid over one of the two plans. */
export interface Over {
  readonly strip: "face" | "back";
  /** It covers the strip with something light, whatever the theme: lines over it are dark. */
  readonly light?: boolean;
  readonly draw: (plane: Plane) => ReactNode;
}

interface Props {
  readonly neck: Neck;
  /** A value is being dragged: drawn quickly, and in full when it rests. */
  readonly moving: boolean;
  /** It is drawn by a thread beside this one, which is given this hand; `neck` is that of before. */
  readonly following: boolean;
  readonly hand: RefObject<LongHand | null>;
  readonly over?: Over | null;
  readonly toSpace: () => void;
  /** Another state of the order, its outlines laid over this one's. */
  readonly beside?: Neck | null;
  readonly findings: readonly Finding[];
  readonly station: number;
  readonly setStation: (x: number) => void;
  readonly chosen: Finding | null;
  readonly choose: (f: Finding | null) => void;
}

/** How a thread beside this one draws into the long view. */
export interface LongHand {
  readonly look: () => Look;
  readonly put: (answer: DrawAnswer) => void;
}

/** What a thread beside this one has drawn: where it lies, and how it is called. */
interface Followed {
  readonly window: Window;
  readonly titles: readonly string[];
}

/** Face, side and back as three aligned strips with one station line through all of them, and the section there. */
export const LongView: React.MemoExoticComponent<(p: Props) => ReactElement> = memo(function LongView(p: Props): ReactElement {
  const { neck, station, following } = p;
  const moving = p.moving && !following;
  const name = useNames();
  const say = useSay();
  const { inches, language } = useContext(SettingsContext);
  const box = useRef<HTMLDivElement>(null);
  // nothing is drawn before the room for it is known
  const [size, setSize] = useState({ width: 900, height: 420, known: false });
  const [view, setView] = useState<{ zoom: number; from: number | null }>({ zoom: 1, from: null });
  const [tall, setTall] = useState(2);
  const [along, setAlong] = useState(false);

  useLayoutEffect(() => {
    const element = box.current;
    if (element === null) return;
    const measure = (): void => {
      const [width, height] = [Math.max(320, element.clientWidth), Math.max(240, element.clientHeight)];
      setSize((s) => (s.known && s.width === width && s.height === height ? s : { width, height, known: true }));
    };
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(element);
    return () => watch.disconnect();
  }, []);

  const { whole, shown: window } = useMemo(
    () => windowOf(neck, { width: size.width, height: size.height, tall, zoom: view.zoom, from: view.from }, moving),
    [neck, size.width, size.height, tall, view, moving],
  );
  const strips = useMemo(
    () => (size.known ? stripPictures(neck, window, along, language) : []),
    [neck, window, along, size.known, language],
  );

  // what another thread draws comes past React: only where it lies and how it is called is of this state, and seldom changes
  const hands = useRef<(DrawnHand | null)[]>([]);
  const [followed, setFollowed] = useState<Followed | null>(null);
  const follows = useRef(following);
  follows.current = following;
  useLayoutEffect(() => {
    if (!following) setFollowed(null);
  }, [following]);
  useImperativeHandle(
    p.hand,
    () => ({
      look: () => ({
        width: size.width,
        height: size.height,
        tall,
        zoom: view.zoom,
        from: view.from,
        along,
        station,
        language,
      }),
      put: ({ drawn }) => {
        if (drawn === null || !follows.current) return;
        const all = [...drawn.strips, drawn.section];
        for (const [k, one] of all.entries()) hands.current[k]?.put(one.open, one.groups);
        const titles = all.map((one) => one.title);
        setFollowed((f) =>
          f !== null &&
          f.window.scale === drawn.window.scale &&
          f.window.xFrom === drawn.window.xFrom &&
          f.window.heights.every((h, k) => h === drawn.window.heights[k]) &&
          titles.every((t, k) => t === f.titles[k])
            ? f
            : { window: drawn.window, titles },
        );
      },
    }),
    [size.width, size.height, tall, view, along, station, language],
  );
  const shownWindow = following ? (followed?.window ?? window) : window;
  const titleAt = (k: number, own: string): string => (following ? (followed?.titles[k] ?? own) : own);

  const { beside } = p;
  const others = useMemo(() => {
    if (beside == null) return null;
    const s = besideStrips(neck, beside, window, along);
    return new Map([s.face, s.side, s.back].map((d) => [d.id, svgParts(d, { flow: true, joined: true, idPrefix: "beside-" })]));
  }, [neck, beside, window, along]);
  const plane = useMemo((): Plane | null => {
    if (p.over == null) return null;
    const v = planView(neck, window, p.over.strip);
    const height = window.heights[p.over.strip === "face" ? 0 : 2];
    return {
      ox: v.origin[0] * DOTS,
      sx: v.scale * DOTS,
      oy: v.origin[1] * DOTS,
      sy: v.scale * v.ey[1] * DOTS,
      width: size.width,
      height: height * DOTS,
    };
  }, [neck, window, p.over, size.width]);

  const dotsOf = (x: number): number => (x - shownWindow.xFrom) * shownWindow.scale * DOTS;
  const xOf = (dots: number): number => window.xFrom + dots / (window.scale * DOTS);
  const limits = [neck.places.tip, neck.places.end] as const;
  const go = (x: number): void => p.setStation(Math.max(limits[0], Math.min(limits[1], x)));

  // a station outside what is shown brings the view along
  useEffect(() => {
    const at = (station - window.xFrom) * window.scale;
    if (at < 0 || at > window.width) setView((v) => ({ ...v, from: station - window.width / window.scale / 2 }));
  }, [station, window]);

  const zoom = (by: number, at = station): void =>
    setView((v) => {
      const next = Math.min(24, Math.max(1, v.zoom * by));
      const share = (at - window.xFrom) * window.scale;
      return { zoom: next, from: next === 1 ? null : at - share / (whole.scale * next) };
    });
  const pan = (dots: number): void => setView((v) => ({ ...v, from: window.xFrom + dots / (window.scale * DOTS) }));

  const keys = (e: KeyboardEvent): void => {
    const step = e.shiftKey ? 10 : 1;
    const fret = (by: 1 | -1): void => {
      const all = [0, ...Array.from({ length: neck.order.frets.count }, (_, k) => neck.fretAt(k + 1))];
      const next = by > 0 ? all.find((x) => x > station + 0.01) : all.findLast((x) => x < station - 0.01);
      if (next !== undefined) go(next);
    };
    const what = new Map<string, () => void>([
      ["ArrowLeft", () => go(station - step)],
      ["ArrowRight", () => go(station + step)],
      ["Home", () => go(limits[0])],
      ["End", () => go(limits[1])],
      ["n", () => fret(1)],
      ["p", () => fret(-1)],
      ["+", () => zoom(1.5)],
      ["-", () => zoom(1 / 1.5)],
      ["0", () => setView({ zoom: 1, from: null })],
    ]);
    const act = what.get(e.key);
    if (act === undefined) return;
    e.preventDefault();
    act();
  };

  const dragging = useRef<"station" | "pan" | null>(null);
  const last = useRef(0);
  const pointer = (e: PointerEvent<HTMLDivElement>, kind: "down" | "move" | "up"): void => {
    const dots = e.clientX - e.currentTarget.getBoundingClientRect().left;
    if (kind === "down") {
      dragging.current = e.shiftKey || e.button === 1 ? "pan" : "station";
      last.current = dots;
      e.currentTarget.setPointerCapture(e.pointerId);
      if (dragging.current === "station") go(xOf(dots));
    } else if (kind === "move" && dragging.current !== null) {
      if (dragging.current === "station") go(xOf(dots));
      else {
        pan(last.current - dots);
        last.current = dots;
      }
    } else if (kind === "up") dragging.current = null;
  };

  const shown = inches ? `${(station / MM_PER_INCH).toFixed(3)} in` : `${station.toFixed(1)} mm`;
  const nearest = neck.order.frets.count > 0 ? Math.round(12 * Math.log2(1 / Math.max(1e-6, 1 - station / neck.order.scale))) : 0;
  const section = useMemo(() => sectionPicture(neck, station, moving, language), [neck, station, moving, language]);
  const pins = p.findings.filter((f) => f.at !== undefined && f.at.side === undefined);

  return (
    <section className="long-view" aria-label={say("longView")}>
      <div className="long-tools">
        <button type="button" onClick={() => zoom(1.5)} aria-label={say("closer")}>
          +
        </button>
        <button type="button" onClick={() => zoom(1 / 1.5)} aria-label={say("farther")}>
          −
        </button>
        <button type="button" onClick={() => setView({ zoom: 1, from: null })}>
          {say("whole")}
        </button>
        <label>
          {say("tall")}{" "}
          <select value={tall} onChange={(e) => setTall(Number(e.target.value))}>
            {[1, 2, 3, 5].map((k) => (
              <option key={k} value={k}>{`${k} ×`}</option>
            ))}
          </select>
        </label>
        <label>
          <input type="checkbox" checked={along} onChange={(e) => setAlong(e.target.checked)} /> {say("along")}
        </label>
        <button type="button" onClick={p.toSpace}>
          {say("inSpace")}
        </button>
        <output>
          {say("station")} x = {shown}
          {nearest >= 1 && nearest <= neck.order.frets.count && Math.abs(neck.fretAt(nearest) - station) < 0.05
            ? `, ${name(`fret ${nearest}`)}`
            : ""}
        </output>
      </div>
      <div ref={box} className="strips">
        <div
          className="slide"
          role="slider"
          tabIndex={0}
          aria-label={say("stationHelp")}
          aria-valuemin={Math.round(limits[0])}
          aria-valuemax={Math.round(limits[1])}
          aria-valuenow={Math.round(station * 10) / 10}
          aria-valuetext={`x = ${shown}`}
          onKeyDown={keys}
          onPointerDown={(e) => pointer(e, "down")}
          onPointerMove={(e) => pointer(e, "move")}
          onPointerUp={(e) => pointer(e, "up")}
          onPointerCancel={(e) => pointer(e, "up")}
          onWheel={(e) => {
            if (Math.abs(e.deltaX) > Math.abs(e.deltaY)) pan(e.deltaX);
            else zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, xOf(e.clientX - e.currentTarget.getBoundingClientRect().left));
          }}
        >
          {strips.map((s, k) => (
            <figure key={s.id} className={s.id === "side" ? "strip" : "strip plan"} style={{ height: shownWindow.heights[k] * DOTS }}>
              <figcaption title={s.says}>{titleAt(k, s.title)}</figcaption>
              {p.over?.strip === s.id && plane !== null && (
                <div className={p.over.light === true ? "over light" : "over"}>{p.over.draw(plane)}</div>
              )}
              {others?.get(s.id) !== undefined && (
                <div aria-hidden>
                  <Drawn className="beside" picture={others.get(s.id)!} />
                </div>
              )}
              <Drawn
                picture={s.parts}
                lent={following}
                ref={(hand) => {
                  hands.current[k] = hand;
                }}
              />
            </figure>
          ))}
          <div className="station-line" style={{ left: dotsOf(station) }} />
        </div>
        {pins.map((f, k) => (
          <button
            // biome-ignore lint/suspicious/noArrayIndexKey: findings have no name of their own
            key={k}
            type="button"
            className={`pin ${f.severity}${f === p.chosen ? " chosen" : ""}`}
            style={{ left: dotsOf(f.at!.x) }}
            aria-label={`${f.rule}: ${f.says}`}
            title={f.says}
            onClick={() => {
              p.choose(f);
              go(f.at!.x);
            }}
          >
            {k + 1}
          </button>
        ))}
      </div>
      <figure className="at-station">
        <figcaption>{titleAt(strips.length, section.title)}</figcaption>
        <Drawn
          title={section.says}
          picture={section.parts}
          lent={following}
          ref={(hand) => {
            hands.current[strips.length] = hand;
          }}
        />
      </figure>
    </section>
  );
});
