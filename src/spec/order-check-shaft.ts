import { boardReach } from "./order-size.ts";
import { placeToX } from "./places.ts";
import * as R from "./rules.ts";
import { mm, type Tell } from "./tell.ts";
import type { OrderSpec, RodSpec } from "./types.ts";

/* What an order contradicts in itself about headstock, carve, heel and rod. */

export function checkHeadstock(o: OrderSpec, tell: Tell): void {
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

export function checkCarve(o: OrderSpec, boardEnd: number, tell: Tell): void {
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

export function checkHeel(o: OrderSpec, boardEnd: number, tell: Tell): void {
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

/** Bars without a roof lie in channels from the face: under a board that is glued on already they cannot be cut. */
export function checkBars(o: OrderSpec, tell: Tell): void {
  if (!o.bars || o.bars.roof > 0 || o.blank.kind !== "board-glued") return;
  tell(
    R.ROD_GLUED,
    "bars.roof",
    o.bars.roof,
    0.1,
    "Channels for bars without a roof are cut from the face, but the blank's board is already glued on.",
    'Give "bars" a "roof", so that their channels are cut from the back, or choose a blank of kind "shaft-alone".',
  );
}

export function checkRod(o: OrderSpec, rod: Extract<RodSpec, { kind: "channel" }>, tell: Tell): void {
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
