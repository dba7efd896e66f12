import type { Neck } from "../../job/live.ts";
import { type SvgParts, svgParts } from "../../sheet/draw/svg.ts";
import type { Drawing } from "../../sheet/draw/types.ts";
import { heightsFor, stationDrawing, stripDrawings, type Window, wholeNeck } from "../../sheet/drawings/strips.ts";
import { type Language, nameIn } from "../words.ts";

/* What the long view shows of a neck, as text for the screen: made on the screen's own thread at rest, on the drawer's while a value is dragged. */

/** Dots of the screen for one millimetre of drawing: its smallest letters come out at eleven dots. */
export const DOTS = 5;

/** How the strips are looked at. Sizes in dots of the screen. */
export interface Look {
  readonly width: number;
  readonly height: number;
  readonly tall: number;
  readonly zoom: number;
  /** Station at the left edge when not all of the neck is shown. */
  readonly from: number | null;
  readonly along: boolean;
  readonly station: number;
  readonly language: Language;
}

export interface Picture {
  readonly id: string;
  readonly title: string;
  readonly says: string;
  /** Millimetres of drawing. */
  readonly height: number;
  readonly parts: SvgParts;
}

/** The part of the neck that shows, and all of it. */
export function windowOf(
  neck: Neck,
  look: Pick<Look, "width" | "height" | "tall" | "zoom" | "from">,
  quick: boolean,
): { readonly whole: Window; readonly shown: Window } {
  const [w, h] = [look.width / DOTS, look.height / DOTS];
  const whole = wholeNeck(neck, w, heightsFor(neck, w, h), look.tall);
  const scale = whole.scale * look.zoom;
  const span = whole.width / scale;
  const all = whole.width / whole.scale;
  const from = Math.min(whole.xFrom + all - span, Math.max(whole.xFrom, look.from ?? whole.xFrom));
  return { whole, shown: { ...whole, scale, xFrom: from, quick } };
}

const pictureOf = (d: Drawing, language: Language, idPrefix: string): Picture => {
  const name = (text: string): string => nameIn(language, text);
  const items = language === "en" ? d.items : d.items.map((i) => (i.kind === "text" ? { ...i, text: name(i.text) } : i));
  const [title, says] = [name(d.title), name(d.says)];
  return { id: d.id, title, says, height: d.height, parts: svgParts({ ...d, title, says, items }, { flow: true, joined: true, idPrefix }) };
};

/** Face, side and back. */
export function stripPictures(neck: Neck, window: Window, along: boolean, language: Language): Picture[] {
  const s = stripDrawings(neck, window, along);
  return [s.face, s.side, s.back].map((d) => pictureOf(d, language, "strip-"));
}

export const sectionPicture = (neck: Neck, station: number, quick: boolean, language: Language): Picture =>
  pictureOf(stationDrawing(neck, station, 66, 70, quick), language, "station-");
