import { neckOf } from "../../job/live.ts";
import type { SvgGroup, SvgParts } from "../../sheet/draw/svg.ts";
import { type Picture, sectionPicture, stripPictures, windowOf } from "./pictures.ts";
import type { DrawAnswer, DrawAsk, Redrawn } from "./protocol.ts";

/* The thread that draws the long view while a value is dragged: the screen's own thread only puts in what differs. */

const scope = globalThis as unknown as {
  onmessage: ((e: { readonly data: DrawAsk }) => void) | null;
  postMessage: (answer: DrawAnswer) => void;
};

let drawing: Uint8Array | null = null;
const sent = new Map<string, SvgParts>();

const same = (a: SvgGroup | undefined, b: SvgGroup): boolean =>
  a !== undefined && a.open === b.open && a.within.length === b.within.length && a.within.every((text, k) => text === b.within[k]);

function redrawn({ parts, ...rest }: Picture): Redrawn {
  const before = sent.get(rest.id);
  sent.set(rest.id, parts);
  return { ...rest, open: parts.open, groups: parts.groups.map((g, k) => (same(before?.groups[k], g) ? null : g)) };
}

scope.onmessage = ({ data }) => {
  if (data.drawing !== undefined) ({ drawing } = data);
  if (data.afresh) sent.clear();
  const neck = neckOf(data.file, drawing);
  if (neck === null) return scope.postMessage({ turn: data.turn, drawn: null });
  const { look } = data;
  const window = windowOf(neck, look, true).shown;
  scope.postMessage({
    turn: data.turn,
    drawn: {
      window,
      strips: stripPictures(neck, window, look.along, look.language).map(redrawn),
      section: redrawn(sectionPicture(neck, look.station, true, look.language)),
    },
  });
};
