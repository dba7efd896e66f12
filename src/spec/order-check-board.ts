import { boardReach } from "./order-size.ts";
import * as R from "./rules.ts";
import { mm, type Tell } from "./tell.ts";
import type { OrderSpec } from "./types.ts";

/* What an order contradicts in itself about strings, frets, nut, board and markers. */

export function checkStrings(o: OrderSpec, tell: Tell): void {
  const s = o.strings;
  if (s.diameters.length !== 0 && s.diameters.length !== s.count) {
    tell(
      R.STRING_DIAMETERS,
      "strings.diameters",
      s.diameters.length,
      s.count,
      `${s.diameters.length} diameters are given for ${s.count} strings.`,
      "Give one diameter per string, bass to treble, or none.",
      "",
    );
  }
  if (s.spacing === "gaps" && s.diameters.length !== s.count && s.count > 1) {
    tell(
      R.GAPS_NEED_DIAMETERS,
      "strings.spacing",
      "gaps",
      null,
      "Equal gaps are asked for, but the string diameters are not known.",
      'Give strings.diameters, or "spacing": "centres".',
      "",
    );
  }
  if (s.count > 1) {
    const thick =
      s.diameters.length === s.count ? s.diameters.reduce((a, d) => a + d, 0) - (s.diameters[0]! + s.diameters[s.count - 1]!) / 2 : 0;
    const gap = (s.spreadAtNut - thick) / (s.count - 1);
    if (!(gap >= 0.5)) {
      tell(
        R.GAPS_POSITIVE,
        "strings.spreadAtNut",
        s.spreadAtNut,
        thick + 0.5 * (s.count - 1),
        `Neighbouring strings would stand ${mm(gap)} mm apart at the nut.`,
        "Give a larger spread at the nut or fewer strings.",
      );
    }
  }
}

export function checkFrets(o: OrderSpec, tell: Tell): void {
  const f = o.frets;
  if (f.kerf > f.tangWidth + 1e-9 || f.kerf < f.tangWidth - 0.1 - 1e-9) {
    tell(
      R.KERF_TANG,
      "frets.kerf",
      f.kerf,
      f.kerf > f.tangWidth ? f.tangWidth : f.tangWidth - 0.1,
      f.kerf > f.tangWidth
        ? `A slot of ${f.kerf} mm does not grip a tang of ${f.tangWidth} mm.`
        : `A slot of ${f.kerf} mm is tight for a tang of ${f.tangWidth} mm: it bends the neck back.`,
      "Make the slot as wide as the tang or up to 0.05 mm narrower, by the wood's hardness.",
    );
  }
  if (!(f.depth > f.tangDepth)) {
    tell(
      R.SLOT_TANG,
      "frets.depth",
      f.depth,
      f.tangDepth,
      `A slot ${f.depth} mm deep does not take a tang of ${f.tangDepth} mm.`,
      "Make the slot 0.3 to 0.5 mm deeper than the tang.",
    );
  }
  if (!(f.depth < o.board.thickness)) {
    tell(
      R.SLOT_BOARD,
      "frets.depth",
      f.depth,
      o.board.thickness,
      `Slots ${f.depth} mm deep go through a board of ${o.board.thickness} mm.`,
      "Make the board thicker or the slots less deep.",
    );
  } else if (f.depth > o.board.thickness - 1) {
    tell(
      R.SLOT_BOARD_LITTLE,
      "frets.depth",
      f.depth,
      o.board.thickness - 1,
      `Only ${mm(o.board.thickness - f.depth)} mm of board stay below the slots.`,
      "Make the board thicker or the slots less deep.",
    );
  }
  if (f.ends === "blind") {
    const narrow =
      o.board.width.kind === "widths"
        ? Math.min(o.board.width.nut, o.board.width.end)
        : o.strings.spreadAtNut + o.board.width.bass + o.board.width.treble;
    const left = narrow - 2 * f.blindMargin;
    if (!(left > 2 * f.kerf)) {
      tell(
        R.BLIND_MARGIN,
        "frets.blindMargin",
        f.blindMargin,
        narrow / 2 - f.kerf,
        `Blind margins of ${f.blindMargin} mm leave ${mm(left)} mm of a slot where the board is narrowest.`,
        "Make the margins smaller.",
      );
    }
  }
}

export function checkNut(o: OrderSpec, tell: Tell): void {
  if (o.nut.kind === "seat" && o.nut.land < 1.5) {
    tell(
      R.NUT_LAND,
      "nut.land",
      o.nut.land,
      1.5,
      `Only ${o.nut.land} mm of board stay behind the nut's seat.`,
      'Leave 1.5 mm or more, or choose "kind": "shelf".',
    );
  }
}

export function checkBoard(o: OrderSpec, boardEnd: number, tell: Tell): void {
  const { board } = o;
  const { bow, shape } = board.end;
  const halfEnd = board.width.kind === "widths" ? board.width.end / 2 : boardReach(o, boardEnd);
  if (shape === "curved" && !(bow < halfEnd)) {
    tell(R.END_BOW, "board.end.bow", bow, halfEnd, `An end that bulges ${bow} mm is more than a half circle.`, "Make the bow smaller.");
  }
  if (board.width.kind === "widths") {
    const w = board.width;
    if (w.end < w.nut)
      tell(
        R.WIDTH_TAPER,
        "board.width.end",
        w.end,
        w.nut,
        "The board is narrower at its end than at the nut.",
        "Check that the two widths are not exchanged.",
      );
    if (o.strings.count > 1) {
      const at = (x: number): number => o.strings.spreadAtNut + ((o.strings.spreadAtBridge - o.strings.spreadAtNut) * x) / o.scale;
      for (const [where, width, spread] of [
        ["board.width.nut", w.nut, at(0)],
        ["board.width.end", w.end, at(boardEnd)],
      ] as const) {
        if (!(spread < width))
          tell(
            R.SPREAD_WIDTH,
            where,
            width,
            spread,
            `The outer strings are ${mm(spread)} mm apart where the board is ${width} mm wide.`,
            "Make the board wider or the strings' spread smaller.",
          );
      }
    }
  }
  const half = Math.round(5 * o.scale * (1 - 2 ** (-o.frets.count / 12))) / 10;
  if (board.overhang >= half) {
    tell(
      R.OVERHANG,
      "board.overhang",
      board.overhang,
      half,
      `The board reaches ${board.overhang} mm past the shaft, half of its length or more.`,
      "Make the overhang shorter.",
    );
  }
}

export function checkMarkers(o: OrderSpec, tell: Tell): void {
  const { face, side } = o.markers;
  for (const [where, list] of [
    ["markers.face.frets", face.frets],
    ["markers.face.doubleAt", face.doubleAt],
    ["markers.side.frets", side.frets],
  ] as const) {
    const seen = new Set<number>();
    list.forEach((f, i) => {
      if (f > o.frets.count)
        tell(
          R.MARKER_FRETS,
          `${where}[${i}]`,
          f,
          o.frets.count,
          `There is no fret ${f} on a board with ${o.frets.count}.`,
          "Leave this fret out of the list.",
          "",
        );
      if (seen.has(f)) tell(R.MARKER_FRETS, `${where}[${i}]`, f, null, `Fret ${f} stands twice in the list.`, "Leave it out once.", "");
      seen.add(f);
    });
  }
  for (const f of face.doubleAt) {
    if (!face.frets.includes(f))
      tell(
        R.DOUBLE_MARKERS,
        "markers.face.doubleAt",
        f,
        null,
        `Fret ${f} has a double marker but is not in the list of face markers.`,
        "Add it to markers.face.frets.",
        "",
      );
  }
  if (face.doubleAt.length > 0 && !(face.spread > face.diameter + face.fit + 1)) {
    tell(
      R.MARKER_SPREAD,
      "markers.face.spread",
      face.spread,
      face.diameter + face.fit + 1,
      "The two recesses of a double marker leave less than 1 mm between them.",
      "Give a larger spread or smaller markers.",
    );
  }
  if (face.frets.length > 0 && !(face.depth < o.board.thickness)) {
    tell(
      R.MARKER_DEPTH,
      "markers.face.depth",
      face.depth,
      o.board.thickness,
      `Recesses ${face.depth} mm deep go through a board of ${o.board.thickness} mm.`,
      "Make them less deep.",
    );
  }
}
