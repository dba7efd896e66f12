import { sectionY } from "../../neck/carve.ts";
import { girth } from "../../neck/figures/section.ts";
import type { Neck } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, type View } from "../draw/view.ts";
import { dim, extentOf, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";
import { drawFace } from "./plan.ts";
import { hasBoard, onCentreline, sideStations, silhouetteAt } from "./profile.ts";
import { drawSection, type SectionPlace } from "./sections.ts";
import { drawAlong, drawElevation, type Silhouette } from "./side.ts";

/*
 * The long view: a neck is ten times longer than wide, so the plan of its face, its side and the plan of its back lie as three strips
 * that share one x scale. Units are millimetres of paper, as in every drawing; a screen chooses how many of its dots one of them has.
 */

/** What part of the neck the strips show. */
export interface Window {
  /** Paper width of the strips, mm. */
  readonly width: number;
  /** Paper heights of face, side and back, mm. */
  readonly heights: readonly [number, number, number];
  /** Station at the left edge and paper millimetres per millimetre of the neck. */
  readonly xFrom: number;
  readonly scale: number;
  /** Heights of the side strip are drawn this many times as tall, or as many as its strip has room for. */
  readonly tall: number;
  /** Curves are drawn through half as many places: for a screen that follows a pointer. Figures are as they are. */
  readonly quick?: boolean;
}

export interface Strips {
  readonly face: Drawing;
  readonly side: Drawing;
  readonly back: Drawing;
}

/** Room at both ends, mm of paper: what the plans are called stands upright in it. */
const ENDS = 4.6;

/** Room beside a plan in its strip, mm of paper. */
const BESIDE = 0.9;

/** Heights of the three strips in a height of paper: the plans of a short and wide neck get more of it, as far as the side can spare. */
export function heightsFor(neck: Neck, width: number, height: number): Window["heights"] {
  const e = extentOf(neck);
  const tall = ((width - 2 * ENDS) / (e.xMax - e.xMin)) * (e.yMax - e.yMin) + 2 * BESIDE;
  const plan = Math.min(0.36 * height, Math.max(0.28 * height, tall));
  return [plan, height - 2 * plan, plan];
}

/** The window that shows the whole neck in strips of this paper size, with some room around it. */
export function wholeNeck(neck: Neck, width: number, heights: Window["heights"], tall: number): Window {
  const e = extentOf(neck);
  const scale = Math.min((width - 2 * ENDS) / (e.xMax - e.xMin), (Math.min(heights[0], heights[2]) - 2 * BESIDE) / (e.yMax - e.yMin));
  return { width, heights, xFrom: (e.xMin + e.xMax - width / scale) / 2, scale, tall };
}

/** Silhouettes at these stations, in a quick drawing less finely, and in full wherever else one is asked for; reckoned once. */
function silhouettes(neck: Neck, w: Window, xs: readonly number[]): Silhouette {
  const known = new Map(xs.map((x) => [x, silhouetteAt(neck, x, w.quick === true)]));
  return (x) => {
    let found = known.get(x);
    if (found === undefined) {
      found = silhouetteAt(neck, x);
      known.set(x, found);
    }
    return found;
  };
}

/** Stations of the strips: every 1.2 mm of paper (quick: 2.4) but no finer than every millimetre of wood, and where the kinds of surface meet. */
const stationsOf = (neck: Neck, w: Window): number[] => sideStations(neck, Math.max(1, (w.quick === true ? 2.4 : 1.2) / w.scale));

/** Where places of the neck fall in the face strip, and in the back strip, which is the face turned about the neck's length. */
export function planView(neck: Neck, w: Window, strip: "face" | "back"): View {
  const e = extentOf(neck);
  const up = strip === "face" ? 1 : -1;
  const height = w.heights[strip === "face" ? 0 : 2];
  return {
    origin: [-w.xFrom * w.scale, height / 2 + (up * (e.yMin + e.yMax) * w.scale) / 2],
    scale: w.scale,
    ex: [1, 0],
    ey: [0, -up],
  };
}

/** The three strips of a neck, aligned: the same paper x is the same station in all. `along`: the side is shown cut along the centreline. */
export function stripDrawings(neck: Neck, w: Window, along = false): Strips {
  const treble = upperSide(neck) === "treble" ? "treble" : "bass";
  const other = treble === "treble" ? "bass" : "treble";

  const face = new Pen();
  drawFace(face, neck, planView(neck, w, "face"));

  const side = new Pen();
  const xs = stationsOf(neck, w);
  const silhouette = silhouettes(neck, w, xs);
  const { view, times } = sideView(w, xs.map(silhouette), along ? ROOM_ALONG : ROOM);
  if (along) drawAlong(side, neck, view, xs);
  else drawElevation(side, neck, view, xs, silhouette);

  const back = new Pen();
  drawBack(back, neck, planView(neck, w, "back"), xs);

  const strip = (id: string, title: string, says: string, height: number, pen: Pen): Drawing => ({
    id,
    title,
    says,
    width: w.width,
    height,
    group: 0.35,
    items: pen.items,
    scale: w.scale,
  });
  const tall = times === 1 ? "" : `, heights ${dim(times)} times as tall`;
  return {
    face: strip("face", "Face", `The face from above: nut left, bridge right, ${treble} side up.`, w.heights[0], face),
    side: strip("side", `${along ? "Cut along the centreline" : "Side"}${tall}`, `Seen from the ${other} side${tall}.`, w.heights[1], side),
    back: strip(
      "back",
      "Back",
      `The back after the turn about the neck's length: ${other} side up; lines of equal height.`,
      w.heights[2],
      back,
    ),
  };
}

/** The view of the side strip: all heights in it, drawn as many times as tall as asked or as there is room for beside `room`, mm of paper. */
function sideView(w: Window, all: readonly ReturnType<Silhouette>[], room: number): { readonly view: View; readonly times: number } {
  const [low, high] = [Math.min(...all.map((s) => s.low)), Math.max(...all.map((s) => s.high))];
  const times = Math.max(1, Math.min(w.tall, (w.heights[1] - room) / ((high - low) * w.scale)));
  const origin: XY = [-w.xFrom * w.scale, w.heights[1] / 2 + ((low + high) / 2) * w.scale * times];
  return { view: { origin, scale: w.scale, ex: [1, 0], ey: [0, -times] }, times };
}

/** Outlines of another neck to be laid over the strips of `neck`, in their views: what differs shows as two lines. */
export function besideStrips(neck: Neck, other: Neck, w: Window, along = false): Strips {
  const xs = stationsOf(neck, w);
  const { view } = sideView(w, xs.map(silhouettes(neck, w, xs)), along ? ROOM_ALONG : ROOM);
  const [face, side, back] = [new Pen(), new Pen(), new Pen()];
  const ink = { ink: "accent" } as const;
  for (const [pen, strip] of [
    [face, "face"],
    [back, "back"],
  ] as const) {
    const plan = planView(neck, w, strip);
    pen.contour("hidden", plan, other.outline, ink);
    for (const f of strip === "face" ? other.features.frets : [])
      pen.line("narrow", at(plan, f.bass.x, f.bass.y), at(plan, f.treble.x, f.treble.y), ink);
  }
  const stretch = stationsOf(other, w);
  const own = silhouettes(other, w, stretch);
  for (const edge of ["low", "high"] as const)
    side.polyline(
      "hidden",
      stretch.map((x) => at(view, x, own(x)[edge])),
      ink,
    );
  const strip = (id: string, height: number, pen: Pen): Drawing => ({
    id,
    title: "",
    says: "",
    width: w.width,
    height,
    group: 0.35,
    items: pen.items,
    scale: w.scale,
  });
  return { face: strip("face", w.heights[0], face), side: strip("side", w.heights[1], side), back: strip("back", w.heights[2], back) };
}

/** Room for figures above and below the side, mm of paper. */
const ROOM = 15;
/** The same where labels of the cut along the centreline stand. */
const ROOM_ALONG = 27;

/** Height between two lines of the back, mm. */
const LEVEL = 3;

/** The plan of the back: outline, where its kinds of surface meet, lines of equal height, and what is cut from it. */
function drawBack(pen: Pen, neck: Neck, view: View, xs: readonly number[]): void {
  const p = neck.places;
  pen.contour("wide", view, neck.outline, { layer: "outline" });
  for (const x of [p.carveStart, p.carveEnd, p.heelFront, p.shaftEnd]) {
    const [lo, hi] = neck.edges(Math.min(x, p.shaftEnd - 1e-6));
    const inset = x === p.shaftEnd ? 0 : 0.08 * (hi - lo);
    pen.line(x === p.shaftEnd ? "wide" : "narrow", at(view, x, lo + inset), at(view, x, hi - inset), { ink: "soft" });
  }
  drawLevels(pen, neck, view, xs);
  for (const r of neck.features.rod) {
    const h = r.width / 2;
    const m = r.y ?? 0;
    pen.rect(r.from === "carve" ? "narrow" : "hidden", at(view, r.xMin, m + h), at(view, r.xMax, m - h), { ink: "soft", layer: r.id });
  }
  for (const s of neck.features.screws) {
    const c = at(view, s.x, s.y);
    pen.circle("wide", c, (s.diameter / 2) * view.scale, { layer: "screws" });
    pen.cross(c, (s.diameter / 2) * view.scale, 1);
  }
  for (const t of neck.features.tuners) {
    const last = t.steps[t.steps.length - 1];
    pen.circle("wide", at(view, t.x, t.y), (last.diameter / 2) * view.scale, { layer: "tuners" });
  }
}

/** Where on a half of a section, from 0 to `edge`, the back lies at `level`: below it at 0, above it at the edge; to 0.001 mm. Illinois' rule. */
function heightAt(back: (y: number) => number, level: number, edge: number, deep: number, out: number): number {
  let [a, b, fa, fb] = [0, edge, deep - level, out - level];
  for (let n = 0; n < 20; n++) {
    const y = (a * fb - b * fa) / (fb - fa);
    const f = back(y) - level;
    if (Math.abs(f) < 1e-4 || Math.abs(b - a) < 1e-3) return y;
    if (f < 0) {
      [a, fa] = [y, f];
      fb /= 2;
    } else {
      [b, fb] = [y, f];
      fa /= 2;
    }
  }
  return (a + b) / 2;
}

/** Where the back lies LEVEL, 2 LEVEL, ... below the glue plane, on each half of each section. */
function drawLevels(pen: Pen, neck: Neck, view: View, xs: readonly number[]): void {
  const p = neck.places;
  const within = onCentreline(neck, xs).filter((x) => x > p.headBack && x < p.shaftEnd - 1e-6);
  const halves = ([0, 1] as const).map((half) =>
    within.map((x) => {
      const edge = neck.edges(x)[half] * (1 - 1e-9);
      return { x, edge, deep: neck.back(x, 0), out: neck.back(x, edge), section: neck.section(x) };
    }),
  );
  for (let k = 1; k <= 12; k++) {
    const level = -LEVEL * k;
    for (const half of halves) {
      let run: XY[] = [];
      const end = (): void => {
        if (run.length > 1) pen.polyline("hair", run, { ink: "soft" });
        run = [];
      };
      for (const { x, edge, deep, out, section } of half) {
        if (!(deep < level && out > level)) {
          end();
          continue;
        }
        // an oval can be asked for the place of a height; one that passes into a leaning flat has to be searched
        const y =
          section.flatSlope === 0 && section.blend < 1
            ? Math.sign(edge) * sectionY(section, level, edge)
            : heightAt((v) => neck.back(x, v), level, edge, deep, out);
        run.push(at(view, x, y));
      }
      end();
    }
  }
}

/** The section at a station, as large as the paper allows. `quick`: its curves through fewer places. */
export function stationDrawing(neck: Neck, x: number, width: number, height: number, quick = false): Drawing {
  const p = neck.places;
  const here = Math.max(p.tip + 0.5, Math.min(p.end - 0.5, x));
  const [lo, hi] = neck.edges(here);
  const zTop = Math.max(neck.top(here, 0), 0);
  const zLow = Math.min(
    ...[0, 0.25, 0.5, 0.75, 1].map((t) => neck.back(Math.min(here, p.shaftEnd - 1e-6), lo + (hi - lo) * (1e-6 + t * (1 - 2e-6))) || 0),
    0,
  );
  const scale = Math.max(0.2, Math.min((width - 40) / Math.max(1, hi - lo), (height - 42) / Math.max(1, zTop - zLow)));
  const pen = new Pen();
  const view: View = { origin: [width / 2 - 3 - ((lo + hi) / 2) * scale, 15 + zTop * scale], scale, ex: [1, 0], ey: [0, -1] };
  const fret = Array.from({ length: neck.order.frets.count }, (_, k) => k + 1).find((n) => Math.abs(neck.fretAt(n) - here) < 0.5);
  const place: SectionPlace = {
    name: fret === undefined ? "section" : `at fret ${fret}`,
    x: here,
    fret: fret ?? null,
    ...(hasBoard(neck, here) ? { around: girth(neck, here, 120) } : {}),
  };
  if (here < p.shaftEnd) drawSection(pen, neck, view, place, quick ? 40 : 120);
  else pen.text([width / 2, height / 2], "Past the shaft's end there is only the board.", SIZE.note, { anchor: "middle", ink: "soft" });
  return {
    id: "station",
    title: `Section at x = ${here.toFixed(1)} mm`,
    says: `Square to the centreline, seen from the bridge toward the headstock: ${upperSide(neck)} side right.`,
    width,
    height,
    group: 0.35,
    items: pen.items,
    scale,
  };
}
