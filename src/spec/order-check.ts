import { nearestWoodName, woodByName } from "../materials/woods.ts";
import type { Finding, Rule } from "../units/index.ts";
import { finding } from "../units/index.ts";
import { boardReach, depthBelowGlue, headLength } from "./order-defaults.ts";
import { placeToX } from "./places.ts";
import * as R from "./rules.ts";
import type { OrderSpec, RodSpec } from "./types.ts";

/*
 * What an order contradicts in itself, by its numbers alone. What needs the neck's shape (margins along the board, wood
 * around bores, wood under the rod) is checked on the neck.
 */

type Tell = (
  rule: Rule,
  where: string,
  value: number | string | null,
  limit: number | string | null,
  says: string,
  tryThis: string,
  unit?: string,
) => void;

const mm = (v: number): number => Math.round(v * 1000) / 1000;

/** The findings of an order that is complete. Finite for every order the schema lets through; never throws. */
export function checkOrder(order: OrderSpec): Finding[] {
  const found: Finding[] = [];
  const tell: Tell = (rule, where, value, limit, says, tryThis, unit = "mm") => {
    const tidy = (v: number | string | null): number | string | null => (typeof v === "number" ? mm(v) : v);
    found.push(finding(rule, { where, value: tidy(value), limit: tidy(limit), unit, says, tryThis }));
  };
  const boardEnd = placeToX(order.scale, { kind: "fret", fret: order.frets.count }) + order.board.pastLastFret;
  checkStrings(order, tell);
  checkFrets(order, tell);
  checkNut(order, tell);
  checkBoard(order, boardEnd, tell);
  checkHeadstock(order, tell);
  checkCarve(order, boardEnd, tell);
  checkHeel(order, boardEnd, tell);
  if (order.rod.kind === "channel") checkRod(order, order.rod, tell);
  checkMarkers(order, tell);
  checkBlank(order, boardEnd, tell);
  checkHoldingAndCutting(order, tell);
  checkWoods(order, tell);
  checkOverrides(order, tell);
  return found;
}

function checkStrings(o: OrderSpec, tell: Tell): void {
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

function checkFrets(o: OrderSpec, tell: Tell): void {
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

function checkNut(o: OrderSpec, tell: Tell): void {
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

function checkBoard(o: OrderSpec, boardEnd: number, tell: Tell): void {
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
  if (board.overhang > 0 && !(board.overhang < o.heel.length)) {
    tell(
      R.OVERHANG,
      "board.overhang",
      board.overhang,
      o.heel.length,
      `The board reaches ${board.overhang} mm past the shaft, as much as the heel is long.`,
      "Make the overhang shorter than the heel.",
    );
  }
}

function checkHeadstock(o: OrderSpec, tell: Tell): void {
  const h = o.headstock;
  const t = h.tuners;
  if (t.bass + t.treble !== o.strings.count) {
    tell(
      R.TUNER_COUNT,
      "headstock.tuners",
      t.bass + t.treble,
      o.strings.count,
      `${t.bass} tuners on the bass side and ${t.treble} on the treble side do not make ${o.strings.count} strings.`,
      "Make bass and treble together the number of strings.",
      "",
    );
  } else if (t.layout === "in-line" && t.bass > 0 && t.treble > 0) {
    tell(
      R.TUNER_COUNT,
      "headstock.tuners",
      `${t.bass} + ${t.treble}`,
      `${o.strings.count} on one side`,
      "Tuners in line all stand on one side.",
      'Leave out bass and treble, or choose "layout": "split".',
      "",
    );
  } else if (t.layout === "in-line" && (t.side === "bass" ? t.treble : t.bass) > 0) {
    tell(
      R.TUNER_COUNT,
      "headstock.tuners.side",
      t.side,
      t.side === "bass" ? "treble" : "bass",
      "The side of the tuners in line is not the side they are counted on.",
      "Leave out bass and treble: side alone says it.",
      "",
    );
  }
  if (t.bushDepth > 0) {
    if (!(t.bush > t.post))
      tell(
        R.BUSH_POST,
        "headstock.tuners.bush",
        t.bush,
        t.post,
        `A bush bore of ${t.bush} mm is not wider than the post bore of ${t.post} mm.`,
        'Make the bush wider, or write "bush": "none".',
      );
    if (!(t.bushDepth < h.thickness))
      tell(
        R.BUSH_POST,
        "headstock.tuners.bushDepth",
        t.bushDepth,
        h.thickness,
        `A bush ${t.bushDepth} mm deep goes through a headstock of ${h.thickness} mm.`,
        "Make the bush shorter or the headstock thicker.",
      );
  }
  const widest = Math.max(t.post, t.bushDepth > 0 ? t.bush : 0);
  const inRow = t.layout === "in-line" ? o.strings.count : Math.max(t.bass, t.treble);
  if (inRow > 1 && !(t.pitch > widest + 2)) {
    tell(
      R.TUNER_PITCH,
      "headstock.tuners.pitch",
      t.pitch,
      widest + 2,
      `A pitch of ${t.pitch} mm leaves less than 2 mm of wood between bores of ${widest} mm.`,
      "Make the pitch larger.",
    );
  }
  const row = Math.min(t.rowAtFirst, t.rowAtLast);
  if (t.layout === "split" && t.bass > 0 && t.treble > 0 && !(2 * row > widest + 2)) {
    tell(
      R.TUNER_ROWS,
      "headstock.tuners.rowAtLast",
      row,
      widest / 2 + 1,
      `Rows ${row} mm from the centreline leave less than 2 mm of wood between bores of ${widest} mm.`,
      "Move the rows outward.",
    );
  }
  const rise = h.drop + (o.nut.kind === "seat" ? o.board.thickness : Math.max(0, o.nut.floor));
  const run = rise >= h.rampRadius ? h.rampRadius : Math.sqrt(2 * h.rampRadius * rise - rise * rise);
  const foot = o.nut.width + o.nut.land + run;
  if (t.first - widest / 2 < foot) {
    tell(
      R.TUNER_FIRST,
      "headstock.tuners.first",
      t.first,
      foot + widest / 2,
      `The first tuner's bore reaches into the ramp, which ends ${mm(foot)} mm behind the nut.`,
      "Move the first tuner toward the tip, or make the ramp's radius smaller.",
    );
  }
  if (h.throat < foot) {
    tell(
      R.HEAD_DROP,
      "headstock.throat",
      h.throat,
      foot,
      `The ramp ends ${mm(foot)} mm behind the nut, past the throat of ${h.throat} mm.`,
      "Make the throat longer or the ramp's radius smaller.",
    );
  }
}

function checkCarve(o: OrderSpec, boardEnd: number, tell: Tell): void {
  let before = Number.NEGATIVE_INFINITY;
  o.carve.stations.forEach((s, i) => {
    const where = `carve.stations[${i}]`;
    if (s.at.kind === "fret" && s.at.fret > o.frets.count) {
      tell(
        R.STATION_FRET,
        `${where}.at`,
        s.at.fret,
        o.frets.count,
        `There is no fret ${s.at.fret} on a board with ${o.frets.count}.`,
        "Name a fret that the order has, or give a length.",
        "",
      );
    }
    const x = placeToX(o.scale, s.at);
    if (!(x > before + 1))
      tell(
        R.STATIONS_ORDER,
        `${where}.at`,
        x,
        before + 1,
        `The station at ${mm(x)} mm is not more than 1 mm further from the nut than the one before.`,
        "Put the stations in order, nut to bridge.",
      );
    else if (x > boardEnd || x < -100)
      tell(
        R.STATIONS_ORDER,
        `${where}.at`,
        x,
        x > boardEnd ? boardEnd : -100,
        `The station at ${mm(x)} mm is not on the neck.`,
        "Choose a place between headstock and board end.",
      );
    before = x;
    if (!(s.thickness > o.board.thickness + 1)) {
      tell(
        R.STATION_THICKNESS,
        `${where}.thickness`,
        s.thickness,
        o.board.thickness + 1,
        `A neck of ${s.thickness} mm with a board of ${o.board.thickness} mm leaves no shaft.`,
        "Thickness includes the board: make the neck thicker or the board thinner.",
      );
    }
  });
}

function checkHeel(o: OrderSpec, boardEnd: number, tell: Tell): void {
  const h = o.heel;
  if (!(h.thickness > o.board.thickness + 1)) {
    tell(
      R.HEEL_THICKNESS,
      "heel.thickness",
      h.thickness,
      o.board.thickness + 1,
      `A heel of ${h.thickness} mm with a board of ${o.board.thickness} mm leaves no shaft.`,
      "Thickness includes the board: make the heel thicker.",
    );
  }
  const screws = h.screws;
  if (screws.count === 1)
    tell(R.HEEL_SCREWS, "heel.screws.count", 1, "0, 2, 3 or 4", "One screw lets the neck turn.", "Give 0, 2, 3 or 4 screws.", "");
  if (screws.count > 1) {
    const reach = screws.fromEnd + screws.along + screws.bore / 2;
    if (!(reach < h.length))
      tell(
        R.HEEL_SCREWS,
        "heel.length",
        h.length,
        reach,
        `The screws reach ${mm(reach)} mm from the shaft's end; the heel is ${h.length} mm long.`,
        "Make the heel longer or bring the screws together.",
      );
    if (screws.along < screws.bore + 2)
      tell(
        R.HEEL_SCREWS,
        "heel.screws.along",
        screws.along,
        screws.bore + 2,
        "The screw rows run into each other.",
        "Give a larger distance along.",
      );
    if (screws.count > 2) {
      const half = boardReach(o, boardEnd);
      if (!(screws.across / 2 + screws.bore / 2 + 3 <= half))
        tell(
          R.HEEL_SCREW_ACROSS,
          "heel.screws.across",
          screws.across,
          2 * half - screws.bore - 6,
          "The screws leave less than 3 mm of wood at the heel's sides.",
          "Bring the screws together.",
        );
      if (screws.across < screws.bore + 2)
        tell(
          R.HEEL_SCREW_ACROSS,
          "heel.screws.across",
          screws.across,
          screws.bore + 2,
          "The screws of a row run into each other.",
          "Give a larger distance across.",
        );
    }
    if (screws.depth > h.thickness - o.board.thickness) {
      tell(
        R.HEEL_SCREW_DEPTH,
        "heel.screws.depth",
        screws.depth,
        h.thickness - o.board.thickness,
        "The screw bores reach the board.",
        "Make the bores less deep or the heel thicker.",
      );
    }
  }
}

function checkRod(o: OrderSpec, rod: Extract<RodSpec, { kind: "channel" }>, tell: Tell): void {
  if (rod.from === "face" && o.blank.kind === "board-glued") {
    tell(
      R.ROD_GLUED,
      "rod.cutFrom",
      "face",
      "back",
      "A channel cut from the face is asked for, but the blank's board is already glued on.",
      'Choose "cutFrom": "back", or a blank of kind "shaft-alone".',
      "",
    );
  }
  if (rod.from === "face" && rod.roof !== 0)
    tell(R.ROD_FACE_DEPTH, "rod.roof", rod.roof, 0, "A channel cut from the face has no roof.", "Leave out roof.");
  if (rod.from === "face" && rod.depth < rod.height) {
    tell(
      R.ROD_FACE_DEPTH,
      "rod.depth",
      rod.depth,
      rod.height,
      `A channel ${rod.depth} mm deep does not take a rod ${rod.height} mm high.`,
      "Make the channel as deep as the rod is high.",
    );
  }
  if (!(rod.to_x > rod.from_x + rod.width))
    tell(
      R.ROD_SPAN,
      "rod.to",
      rod.to_x,
      rod.from_x + rod.width,
      `The channel ends at ${mm(rod.to_x)} mm and begins at ${mm(rod.from_x)} mm.`,
      "Put its end further toward the bridge.",
    );
  const thinnest = Math.min(...o.carve.stations.map((s) => s.thickness));
  const deep = rod.from === "back" ? rod.roof + rod.height : rod.depth;
  const room = thinnest - o.board.thickness - rod.minimumUnder;
  if (!(deep <= room)) {
    tell(
      R.ROD_HEIGHT,
      "rod",
      deep,
      room,
      `The rod reaches ${mm(deep)} mm below the glue plane; the thinnest station has room for ${mm(room)} mm.`,
      "Make the carve thicker, the rod lower, or rod.minimumUnder smaller.",
    );
  }
  if (rod.access !== null && rod.access.width < rod.width) {
    tell(
      R.ROD_ACCESS,
      "rod.access.width",
      rod.access.width,
      rod.width,
      "The access pocket is narrower than the channel.",
      "Make it wider.",
    );
  }
}

function checkMarkers(o: OrderSpec, tell: Tell): void {
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

function checkBlank(o: OrderSpec, boardEnd: number, tell: Tell): void {
  const b = o.blank;
  const deep = depthBelowGlue(o);
  if (!(b.shaftThickness >= deep)) {
    tell(
      R.BLANK_THICK,
      "blank.shaftThickness",
      b.shaftThickness,
      deep,
      `The neck reaches ${mm(deep)} mm below the glue plane; the blank has ${b.shaftThickness} mm there.`,
      "Take a thicker blank, or make heel or headstock thinner.",
    );
  } else if (b.shaftThickness > deep + 6) {
    tell(
      R.BLANK_THICK_WASTE,
      "blank.shaftThickness",
      b.shaftThickness,
      deep + 6,
      `${mm(b.shaftThickness - deep)} mm of the blank's shaft become dust.`,
      "Plane the blank first: the machine works faster and cutters reach further.",
    );
  }
  if (b.kind === "board-glued" && !(b.boardThickness >= o.board.thickness)) {
    tell(
      R.BLANK_BOARD,
      "blank.boardThickness",
      b.boardThickness,
      o.board.thickness,
      `The blank's board of ${b.boardThickness} mm is thinner than the finished one.`,
      "Glue on a board that is 0.2 to 0.5 mm thicker than the finished one.",
    );
  }
  if (b.kind === "shaft-alone" && b.boardThickness !== 0) {
    tell(
      R.BLANK_BOARD,
      "blank.boardThickness",
      b.boardThickness,
      0,
      "A shaft alone has no board.",
      'Leave out boardThickness, or choose "kind": "board-glued".',
    );
  }
  const need = headLength(o) + boardEnd + 2 * b.margin;
  if (!(b.length >= need))
    tell(
      R.BLANK_LENGTH,
      "blank.length",
      b.length,
      need,
      `Neck and margins are ${mm(need)} mm long; the blank has ${b.length} mm.`,
      "Take a longer blank.",
    );
  const t = o.headstock.tuners;
  const rows = t.layout === "split" ? Math.max(t.rowAtFirst, t.rowAtLast) + o.headstock.edge : 0;
  const wide = 2 * (Math.max(boardReach(o, boardEnd), rows) + b.margin);
  if (!(b.width >= wide))
    tell(
      R.BLANK_WIDTH,
      "blank.width",
      b.width,
      wide,
      `Neck and margins are ${mm(wide)} mm wide; the blank has ${b.width} mm.`,
      "Take a wider blank or glue ears to its headstock end.",
    );
}

function checkHoldingAndCutting(o: OrderSpec, tell: Tell): void {
  const { block, pin } = o.holding;
  const thick = o.blank.shaftThickness + o.blank.boardThickness;
  if (!(block.grip < block.length))
    tell(
      R.HOLD_BLOCK,
      "holding.block.grip",
      block.grip,
      block.length,
      "The block reaches over the blank with all its length.",
      "Make the grip smaller or the block longer.",
    );
  if (!(pin.height < thick))
    tell(
      R.HOLD_BLOCK,
      "holding.pin.height",
      pin.height,
      thick,
      `Pins ${pin.height} mm high stand above a blank of ${mm(thick)} mm.`,
      "Use lower pins.",
    );
  const c = o.cutting;
  if (!(c.scribeDepth < thick / 4))
    tell(
      R.CUT_SCRIBE,
      "cutting.scribeDepth",
      c.scribeDepth,
      thick / 4,
      "The scribed line is deeper than a quarter of the blank.",
      "Scribe about 0.4 mm deep.",
    );
  if (!(c.release.thickness < thick / 2))
    tell(
      R.CUT_RELEASE,
      "cutting.release.thickness",
      c.release.thickness,
      thick / 2,
      "What holds the neck is thicker than half the blank.",
      "Make tabs or skin thinner.",
    );
  if (!(c.roughLeave > c.cusp))
    tell(
      R.CUSP_ROUGH,
      "cutting.roughLeave",
      c.roughLeave,
      c.cusp,
      "Roughing leaves less than the cusps of finishing.",
      "Leave about 0.5 mm.",
    );
}

function checkWoods(o: OrderSpec, tell: Tell): void {
  for (const part of ["shaft", "board"] as const) {
    const name = o.wood[part];
    if (woodByName(name) !== undefined) continue;
    const near = nearestWoodName(name);
    tell(
      R.WOOD_KNOWN,
      `wood.${part}`,
      name,
      near,
      `The wood ${JSON.stringify(name)} is not in the table of woods; the nearest is ${JSON.stringify(near)}.`,
      "Use a name from the table, the wood closest to yours in density.",
      "",
    );
  }
}

function checkOverrides(o: OrderSpec, tell: Tell): void {
  const seen = new Set<string>();
  o.overrides.forEach((v, i) => {
    if (seen.has(v.rule))
      tell(R.OVERRIDE_RULE, `overrides[${i}].rule`, v.rule, null, `The rule ${v.rule} is overridden twice.`, "Keep one of the two.", "");
    seen.add(v.rule);
  });
}
