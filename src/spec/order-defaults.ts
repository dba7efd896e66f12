import { degToRad, type Mm } from "../units/index.ts";
import { lastOf } from "./corrections.ts";
import type { GivenTuners, OrderFile, Some } from "./order-file.ts";
import { boardReach, depthBelowGlue, headLength, headReach } from "./order-size.ts";
import { placeToX } from "./places.ts";
import type {
  BarsSpec,
  BlankSpec,
  BoardSpec,
  CarveStation,
  CuttingSpec,
  FretsSpec,
  HeadstockSpec,
  HeelSpec,
  HoldingSpec,
  MarkersSpec,
  NutSpec,
  OrderSpec,
  PressSpec,
  RodSpec,
  StringsSpec,
  TunersSpec,
} from "./types.ts";

/*
 * What stands where an order is silent. The numbers are common practice among makers, without a source and partly from
 * memory; they are chosen so that each instrument's defaults make one buildable neck together.
 */

interface Base {
  readonly scale: Mm;
  readonly strings: Pick<StringsSpec, "count" | "spreadAtNut" | "spreadAtBridge">;
  readonly frets: { readonly count: number; readonly tangWidth: Mm; readonly tangDepth: Mm; readonly under: Mm; readonly over: Mm };
  readonly nut: NutSpec;
  readonly board: Omit<BoardSpec, "end" | "overhang">;
  readonly headstock: Omit<HeadstockSpec, "tuners">;
  readonly tuners: Omit<TunersSpec, "bass" | "treble">;
  readonly stations: readonly CarveStation[];
  readonly heel: HeelSpec;
  readonly rod: "none" | { readonly width: Mm; readonly height: Mm; readonly roof: Mm; readonly toFromEnd: Mm };
  readonly markers: {
    readonly frets: readonly number[];
    readonly diameter: Mm;
    readonly depth: Mm;
    readonly spread: Mm;
    readonly side: Mm;
  };
  readonly board_wood: string;
}

const station = (fret: number, thickness: Mm, exponent: number): CarveStation => ({
  at: { kind: "fret", fret },
  thickness,
  bassExponent: exponent,
  trebleExponent: exponent,
});
const flat = { nut: Number.POSITIVE_INFINITY, end: Number.POSITIVE_INFINITY };

const GUITAR: Base = {
  scale: 648,
  strings: { count: 6, spreadAtNut: 35.5, spreadAtBridge: 52.5 },
  frets: { count: 22, tangWidth: 0.58, tangDepth: 1.8, under: 0.03, over: 0.4 },
  nut: { kind: "seat", width: 3.2, floor: 3, land: 4 },
  board: { thickness: 6.2, radius: { nut: 305, end: 305 }, width: { kind: "widths", nut: 43, end: 56 }, pastLastFret: 8 },
  headstock: {
    thickness: 14.5,
    drop: 5,
    rampRadius: 20,
    throat: 30,
    backFrom: 4,
    backLength: 32,
    edge: 12,
    tip: 15,
    blend: 20,
    roundness: 0.5,
  },
  tuners: {
    layout: "in-line",
    side: "bass",
    first: 52,
    pitch: 25,
    rowAtFirst: 20,
    rowAtLast: 15,
    post: 8.8,
    bush: 10,
    bushDepth: 8,
    winding: 6,
    sideAngle: degToRad(6),
    clearance: 22,
  },
  stations: [station(1, 21, 2), station(12, 23, 2)],
  heel: {
    kind: "bolt-on",
    length: 76,
    thickness: 25,
    transition: 30,
    screws: { count: 4, along: 51, across: 38, fromEnd: 12, bore: 3, depth: 15 },
  },
  rod: { width: 6.2, height: 9, roof: 1.5, toFromEnd: 20 },
  markers: { frets: [3, 5, 7, 9, 12, 15, 17, 19, 21, 24], diameter: 6, depth: 2.2, spread: 22, side: 2 },
  board_wood: "indian rosewood",
};

const BASS: Base = {
  scale: 864,
  strings: { count: 4, spreadAtNut: 33, spreadAtBridge: 57 },
  frets: { count: 20, tangWidth: 0.58, tangDepth: 1.8, under: 0.03, over: 0.4 },
  nut: { kind: "seat", width: 3.2, floor: 3, land: 4 },
  board: { thickness: 6.5, radius: { nut: 305, end: 305 }, width: { kind: "widths", nut: 41, end: 60 }, pastLastFret: 10 },
  headstock: {
    thickness: 15,
    drop: 5,
    rampRadius: 20,
    throat: 30,
    backFrom: 4,
    backLength: 32,
    edge: 16,
    tip: 20,
    blend: 20,
    roundness: 0.5,
  },
  tuners: {
    layout: "split",
    side: "bass",
    first: 50,
    pitch: 42,
    rowAtFirst: 21,
    rowAtLast: 18.5,
    post: 14,
    bush: 17.5,
    bushDepth: 8,
    winding: 9,
    sideAngle: degToRad(8),
    clearance: 36,
  },
  stations: [station(1, 21.5, 2), station(12, 24, 2)],
  heel: {
    kind: "bolt-on",
    length: 85,
    thickness: 25.5,
    transition: 32,
    screws: { count: 4, along: 51, across: 38, fromEnd: 14, bore: 3, depth: 15 },
  },
  rod: { width: 6.2, height: 9, roof: 1.5, toFromEnd: 22 },
  markers: { frets: [3, 5, 7, 9, 12, 15, 17, 19, 21, 24], diameter: 7, depth: 2.2, spread: 24, side: 2.2 },
  board_wood: "indian rosewood",
};

const UKULELE: Base = {
  scale: 432,
  strings: { count: 4, spreadAtNut: 29, spreadAtBridge: 42 },
  frets: { count: 18, tangWidth: 0.5, tangDepth: 1.5, under: 0, over: 0.4 },
  nut: { kind: "seat", width: 3.2, floor: 2.5, land: 3 },
  board: { thickness: 5, radius: flat, width: { kind: "widths", nut: 36, end: 45 }, pastLastFret: 8 },
  headstock: {
    thickness: 12,
    drop: 3,
    rampRadius: 20,
    throat: 27,
    backFrom: 4,
    backLength: 30,
    edge: 11,
    tip: 15,
    blend: 18,
    roundness: 0.6,
  },
  tuners: {
    layout: "split",
    side: "bass",
    first: 46,
    pitch: 38,
    rowAtFirst: 17,
    rowAtLast: 15,
    post: 7,
    bush: 10,
    bushDepth: 5,
    winding: 5,
    sideAngle: degToRad(9),
    clearance: 26,
  },
  stations: [station(1, 15.5, 2.1), station(12, 17.5, 2.1)],
  heel: {
    kind: "bolt-on",
    length: 45,
    thickness: 20,
    transition: 24,
    screws: { count: 2, along: 22, across: 0, fromEnd: 11, bore: 4.2, depth: 12 },
  },
  rod: "none",
  markers: { frets: [3, 5, 7, 10, 12, 15], diameter: 4, depth: 1.8, spread: 14, side: 1.5 },
  board_wood: "black walnut",
};

const BASES: Readonly<Record<OrderSpec["instrument"], Base>> = { guitar: GUITAR, bass: BASS, ukulele: UKULELE, other: GUITAR };

/** Length along the neck and width across it that a blank's ends and sides need beside the neck (common practice). */
const BLANK_ENDS = 80;
const BLANK_SIDES = 52;

const up = (v: number, step: number): number => Math.ceil(v / step - 1e-9) * step;
const round3 = (v: number): number => Math.round(v * 1000) / 1000;

/** The values that were given, over the defaults. */
function over<T extends object>(base: T, given: Some<T> | undefined): T {
  const out = { ...base };
  for (const key of Object.keys(given ?? {}) as (keyof T)[]) {
    const v = given?.[key];
    if (v !== undefined) out[key] = v as T[keyof T];
  }
  return out;
}

/** Fills in an order. Everything that was written stays as it was written. */
export function fillOrder(file: OrderFile): OrderSpec {
  const base = BASES[file.instrument];
  const fan = typeof file.scale === "object" ? file.scale : undefined;
  const scale = fan ? (fan.bass + fan.treble) / 2 : typeof file.scale === "number" ? file.scale : base.scale;
  const strings = fillStrings(base, file);
  const frets = fillFrets(base, file.frets);
  const board: BoardSpec = over<BoardSpec>({ ...base.board, end: { shape: "square", bow: 0 }, overhang: 0 }, file.board);
  const tuners = fillTuners(base, strings.count, file.headstock?.tuners);
  const headstock: HeadstockSpec = { ...over({ ...base.headstock, tuners }, { ...file.headstock, tuners: undefined }), tuners };
  const carve = { stations: file.carve?.stations ?? base.stations, ...(file.carve?.volute ? { volute: file.carve.volute } : {}) };
  const bars = fillBars(scale, boardEndOf(scale, frets, board) - board.overhang, file.bars);
  const heel = fillHeel(base, file.heel);
  const boardEnd = boardEndOf(scale, frets, board);
  const nut = over(base.nut, file.nut);
  const order: Omit<OrderSpec, "blank"> = {
    name: file.name,
    title: file.title ?? file.name,
    instrument: file.instrument,
    hand: file.hand ?? "right",
    scale,
    strings,
    frets,
    nut,
    board,
    headstock,
    carve,
    heel,
    rod: fillRod(base, scale, boardEnd - board.overhang, file),
    markers: fillMarkers(base, frets.count, file.markers),
    wood: over({ shaft: "hard maple", board: base.board_wood }, file.wood),
    holding: fillHolding(file.holding),
    cutting: fillCutting(file.cutting),
    overrides: file.overrides ?? [],
    ...(fan ? { fan } : {}),
    ...(bars ? { bars } : {}),
    ...(file.setup ? { setup: file.setup } : {}),
    ...(file.climate ? { climate: file.climate } : {}),
    ...(file.corrections ? { corrections: file.corrections } : {}),
  };
  return { ...order, blank: correctedBlank(fillBlank(order, boardEnd, file.blank), file.corrections) };
}

const boardEndOf = (scale: Mm, frets: FretsSpec, board: BoardSpec): Mm => scale * (1 - 2 ** (-frets.count / 12)) + board.pastLastFret;

function fillBars(scale: Mm, shaftEnd: Mm, given: OrderFile["bars"]): BarsSpec | undefined {
  if (given === undefined || given === "none") return undefined;
  return {
    count: given.count ?? 2,
    width: given.width ?? 4,
    height: given.height ?? 6,
    offset: given.count === 1 ? 0 : (given.offset ?? 10),
    roof: given.roof ?? 0,
    from_x: given.from === undefined ? 10 : placeToX(scale, given.from),
    to_x: given.to === undefined ? round3(shaftEnd - 30) : placeToX(scale, given.to),
    material: given.material ?? "carbon",
  };
}

function fillStrings(base: Base, file: OrderFile): StringsSpec {
  const given = file.strings;
  const count = given?.count ?? base.strings.count;
  const diameters = given?.diameters ?? [];
  // A changed number of strings keeps the distance between neighbours.
  const gaps = (spread: Mm): Mm => (count === 1 ? 0 : round3((spread * (count - 1)) / (base.strings.count - 1)));
  return over<StringsSpec>(
    {
      count,
      spreadAtNut: gaps(base.strings.spreadAtNut),
      spreadAtBridge: gaps(base.strings.spreadAtBridge),
      diameters,
      spacing: diameters.length > 0 ? "gaps" : "centres",
    },
    given,
  );
}

function fillFrets(base: Base, given: Some<FretsSpec> | undefined): FretsSpec {
  const tangWidth = given?.tangWidth ?? base.frets.tangWidth;
  const tangDepth = given?.tangDepth ?? base.frets.tangDepth;
  return over<FretsSpec>(
    {
      count: base.frets.count,
      tangWidth,
      tangDepth,
      kerf: round3(tangWidth - base.frets.under),
      depth: round3(tangDepth + base.frets.over),
      ends: "through",
      blindMargin: 1.5,
    },
    given,
  );
}

function fillTuners(base: Base, strings: number, given: GivenTuners | undefined): TunersSpec {
  const layout = given?.layout ?? base.tuners.layout;
  const side = given?.side ?? base.tuners.side;
  let bass = given?.bass;
  let treble = given?.treble;
  if (layout === "in-line") {
    bass ??= side === "bass" ? strings : 0;
    treble ??= side === "treble" ? strings : 0;
  } else {
    bass ??= treble === undefined ? Math.ceil(strings / 2) : Math.max(0, strings - treble);
    treble ??= Math.max(0, strings - bass);
  }
  const { bush, ...rest } = given ?? {};
  const filled = over<TunersSpec>({ ...base.tuners, bass, treble }, rest);
  if (bush === "none") return { ...filled, bush: filled.post, bushDepth: 0 };
  return { ...filled, bush: bush ?? base.tuners.bush };
}

function fillHeel(base: Base, given: OrderFile["heel"]): HeelSpec {
  const { screws, ...rest } = given ?? {};
  const own = base.heel.screws;
  return {
    ...over(base.heel, rest),
    screws: screws === "none" ? { ...own, count: 0 } : over(own, screws),
  };
}

function fillRod(base: Base, scale: Mm, shaftEnd: Mm, file: OrderFile): RodSpec {
  const given = file.rod ?? (base.rod === "none" ? "none" : {});
  if (given === "none") return { kind: "none" };
  const own = base.rod === "none" ? { width: 6.2, height: 6, roof: 1.5, toFromEnd: 20 } : base.rod;
  const from = given.cutFrom ?? "back";
  const height = given.height ?? own.height;
  return {
    kind: "channel",
    from,
    width: given.width ?? own.width,
    height,
    roof: given.roof ?? (from === "back" ? own.roof : 0),
    depth: given.depth ?? height,
    from_x: given.from === undefined ? 8 : placeToX(scale, given.from),
    to_x: given.to === undefined ? round3(shaftEnd - own.toFromEnd) : placeToX(scale, given.to),
    minimumUnder: given.minimumUnder ?? 3,
    access: given.access === undefined || given.access === "none" ? null : given.access,
    ...(given.action ? { action: given.action } : {}),
    ...(given.sag ? { sag: given.sag } : {}),
  };
}

function fillMarkers(base: Base, frets: number, given: OrderFile["markers"]): MarkersSpec {
  const known = base.markers.frets.filter((f) => f <= frets);
  const face: MarkersSpec["face"] = {
    frets: known,
    doubleAt: [],
    diameter: base.markers.diameter,
    depth: base.markers.depth,
    spread: base.markers.spread,
    fit: 0.05,
  };
  const side: MarkersSpec["side"] = { frets: known, diameter: base.markers.side, depth: 3, edge: "bass" };
  const filledFace = given?.face === "none" ? { ...face, frets: [] } : over(face, given?.face);
  const doubles = given?.face === "none" ? undefined : given?.face?.doubleAt;
  return {
    face: { ...filledFace, doubleAt: doubles ?? filledFace.frets.filter((f) => f % 12 === 0) },
    side: given?.side === "none" ? { ...side, frets: [] } : over(side, given?.side),
  };
}

/** Of wood on a gasket or a spoil board, drawn down: from memory. */
const FRICTION = 0.3;

function fillPress({ kind, pressure, friction, side }: NonNullable<NonNullable<OrderFile["holding"]>["press"]>): PressSpec {
  return { kind, kPa: pressure, friction: friction ?? FRICTION, ...(side === undefined ? {} : { side }) };
}

function fillHolding(given: OrderFile["holding"]): HoldingSpec {
  return {
    way: given?.way ?? "datum-edge",
    turn: given?.turn ?? "x",
    pin: over({ diameter: 10, height: 12 }, given?.pin),
    block: over({ length: 40, width: 25, height: 18, grip: 12 }, given?.block),
    screw: over({ count: 0, head: 8, height: 3 }, given?.screw),
    supports: given?.supports ?? true,
    ...(given?.press === undefined ? {} : { press: fillPress(given.press) }),
    ...(given?.placed === undefined ? {} : { placed: given.placed as NonNullable<HoldingSpec["placed"]> }),
  };
}

function fillCutting(given: OrderFile["cutting"]): CuttingSpec {
  const { release, work, ...rest } = given ?? {};
  const kind = release?.kind ?? "tabs";
  const thickness = release?.thickness ?? (kind === "tabs" ? 1.5 : 0.6);
  return over<CuttingSpec>(
    {
      cusp: 0.01,
      // what the wood may move by while it rests is in the allowance
      roughLeave: work?.plan === "rest" ? 1 : 0.5,
      scribeDepth: 0.4,
      outlineBelowFace: 4,
      release: kind === "tabs" ? { kind, thickness, width: release?.width ?? 8 } : { kind, thickness },
      breakThrough: 0.6,
      ...(work === undefined ? {} : { work: work as NonNullable<CuttingSpec["work"]> }),
    },
    rest,
  );
}

/** A blank around the neck: 40 mm at each end for blocks, 26 mm at each side for the outline's channel and a frame. */
function fillBlank(order: Omit<OrderSpec, "blank">, boardEnd: Mm, given: OrderFile["blank"]): BlankSpec {
  const kind = given?.kind ?? "board-glued";
  const { tipFromEnd, centreFromDatum, ...rest } = given ?? {};
  const place = (v: "centred" | number | undefined): Mm | null => (v === undefined || v === "centred" ? null : v);
  return over<BlankSpec>(
    {
      kind,
      length: up(headLength(order) + boardEnd + BLANK_ENDS, 5),
      width: up(2 * Math.max(headReach(order), boardReach(order, boardEnd)) + BLANK_SIDES, 2),
      shaftThickness: Math.min(100, up(depthBelowGlue(order) + 0.6, 0.5)),
      boardThickness: kind === "shaft-alone" ? 0 : round3(order.board.thickness + 0.3),
      datumEdge: "bass",
      tipFromEnd: place(tipFromEnd),
      centreFromDatum: place(centreFromDatum),
      margin: 12,
      moisture: 8,
    },
    rest,
  );
}

/** The blank as it was measured, and the neck where it was put in it since. */
function correctedBlank(blank: BlankSpec, corrections: OrderFile["corrections"]): BlankSpec {
  const at = lastOf(corrections, "placement");
  const thick = lastOf(corrections, "blank");
  // in the order in which a file that says all of it is read
  const { outline: _o, regions: _r, grainTurn: _g, ...rest } = blank;
  return {
    ...rest,
    ...(thick?.shaftThickness === undefined ? {} : { shaftThickness: thick.shaftThickness }),
    ...(thick?.boardThickness === undefined ? {} : { boardThickness: thick.boardThickness }),
    ...(at ? { tipFromEnd: at.tipFromEnd, centreFromDatum: at.centreFromDatum, rotation: at.rotation } : {}),
    ...Object.fromEntries(Object.entries(blank).filter(([key]) => !(key in rest))),
  };
}
