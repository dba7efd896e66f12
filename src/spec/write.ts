import { FORCE_FIGURES, type ForceModel } from "../materials/cutting-force.ts";
import type { Rad } from "../units/index.ts";
import { degToRad, perMinute, plainDecimal, radToDeg } from "../units/index.ts";
import type { OrderCorrection, ShopCorrection } from "./corrections.ts";
import type { Json } from "./json.ts";
import type { MachineSpec, OrderSpec, Place, ShopSpec } from "./types.ts";

/*
 * A complete order or shop back in its file's form, with nothing left to defaults. Reading it again gives the same value to the
 * last bit, so that what a form edits, a store keeps and a person reads is one thing.
 */

type Doc = { readonly [key: string]: Json };

/** Degrees where they come back exactly, radians with their unit where not (from 1e-20 rad up: no text is longer than 40 letters). */
function writeAngle(rad: Rad): Json {
  for (const deg of [Math.round(radToDeg(rad) * 1e9) / 1e9, radToDeg(rad)]) if (degToRad(deg) === rad) return deg;
  return `${plainDecimal(rad)} rad`;
}

const writePlace = (at: Place): Json => (at.kind === "fret" ? `fret ${at.fret}` : at.x);

/** The order file of an order. */
export function writeOrder(order: OrderSpec): Doc {
  const { board, headstock, carve, heel, rod, markers, blank, holding, cutting } = order;
  const { radius, width, end } = board;
  const { screws, tenon, setUp, ...heelRest } = heel;
  const t = headstock.tuners;
  return {
    neckwright: "order/1",
    name: order.name,
    title: order.title,
    instrument: order.instrument,
    hand: order.hand,
    scale: order.fan ? { ...order.fan } : order.scale,
    strings: { ...(order.strings as unknown as Record<string, Json>), diameters: [...order.strings.diameters] },
    frets: { ...order.frets },
    nut: { ...order.nut },
    board: {
      thickness: board.thickness,
      radius: radius.nut === Number.POSITIVE_INFINITY ? "flat" : radius.nut === radius.end ? radius.nut : { ...radius },
      width: width.kind === "widths" ? { nut: width.nut, end: width.end } : { margin: { bass: width.bass, treble: width.treble } },
      pastLastFret: board.pastLastFret,
      end: end.shape === "square" ? "square" : { bow: end.bow },
      overhang: board.overhang,
      ...(board.fallAway ? { fallAway: { ...board.fallAway } } : {}),
      ...(board.relief ? { relief: { ...board.relief } } : {}),
      ...(board.binding === undefined ? {} : { binding: board.binding }),
    },
    headstock: {
      ...(without(without(without(without(headstock, "tuners"), "drawing"), "outline"), "angle") as unknown as Record<string, Json>),
      ...(headstock.outline ? { outline: JSON.parse(JSON.stringify(headstock.outline)) as Json } : {}),
      ...(headstock.angle === undefined ? {} : { angle: writeAngle(headstock.angle) }),
      tuners:
        t.bushDepth === 0
          ? { ...without(t, "bushDepth"), bush: "none", sideAngle: writeAngle(t.sideAngle) }
          : { ...t, sideAngle: writeAngle(t.sideAngle) },
    },
    carve: {
      stations: carve.stations.map((s) => ({
        at: writePlace(s.at),
        thickness: s.thickness,
        exponent: s.bassExponent === s.trebleExponent ? s.bassExponent : { bass: s.bassExponent, treble: s.trebleExponent },
        ...(s.shoulder ? { shoulder: s.shoulder } : {}),
      })),
      ...(carve.volute ? { volute: { ...carve.volute } } : {}),
    },
    heel: { ...heelRest, screws: { ...screws }, ...(tenon ? { tenon: { ...tenon } } : {}), ...(setUp ? { setUp: { ...setUp } } : {}) },
    rod:
      rod.kind === "none"
        ? "none"
        : {
            cutFrom: rod.from,
            width: rod.width,
            height: rod.height,
            roof: rod.roof,
            depth: rod.depth,
            from: rod.from_x,
            to: rod.to_x,
            minimumUnder: rod.minimumUnder,
            access: rod.access === null ? "none" : { ...rod.access },
            ...(rod.action ? { action: rod.action } : {}),
            ...(rod.sag ? { sag: rod.sag } : {}),
          },
    ...(order.bars ? { bars: writeBars(order.bars) } : {}),
    markers: {
      face: { ...markers.face, frets: [...markers.face.frets], doubleAt: [...markers.face.doubleAt] },
      side: { ...markers.side, frets: [...markers.side.frets] },
    },
    wood: {
      shaft: order.wood.shaft,
      board: order.wood.board,
      ...(order.wood.strips
        ? { strips: order.wood.strips.map(({ grain, ...s }) => ({ ...s, ...(grain === undefined ? {} : { grain: writeAngle(grain) }) })) }
        : {}),
      ...(order.wood.grain === undefined ? {} : { grain: writeAngle(order.wood.grain) }),
      ...(order.wood.rings ? { rings: { ...order.wood.rings } } : {}),
      ...(order.wood.boardGrain === undefined ? {} : { boardGrain: writeAngle(order.wood.boardGrain) }),
    },
    ...(order.setup ? { setup: { ...order.setup } } : {}),
    ...(order.climate ? { climate: JSON.parse(JSON.stringify(order.climate)) as Json } : {}),
    blank: {
      ...(without(without(without(blank, "regions"), "rotation"), "grainTurn") as unknown as Record<string, Json>),
      tipFromEnd: blank.tipFromEnd ?? "centred",
      centreFromDatum: blank.centreFromDatum ?? "centred",
      ...(blank.rotation === undefined ? {} : { rotation: writeAngle(blank.rotation) }),
      ...(blank.grainTurn === undefined ? {} : { grainTurn: writeAngle(blank.grainTurn) }),
      ...(blank.regions ? { regions: JSON.parse(JSON.stringify(blank.regions)) as Json } : {}),
    },
    holding: {
      ...without(without(holding, "placed"), "press"),
      pin: { ...holding.pin },
      block: { ...holding.block },
      screw: { ...holding.screw },
      ...(holding.press ? { press: writePress(holding.press) } : {}),
      ...(holding.placed ? { placed: JSON.parse(JSON.stringify(holding.placed)) as Json } : {}),
    },
    cutting: {
      ...without(cutting, "work"),
      release: { ...cutting.release },
      ...(cutting.work ? { work: JSON.parse(JSON.stringify(cutting.work)) as Json } : {}),
    },
    overrides: order.overrides.map((o) => ({ ...o })),
    ...(order.corrections ? { corrections: writeCorrections(order.corrections) } : {}),
  };
}

const writePress = ({ kPa, ...rest }: NonNullable<OrderSpec["holding"]["press"]>): Json => ({ ...rest, pressure: kPa });

/** Entries as they stand in a file: angles by their text. */
export function writeCorrections(entries: readonly (OrderCorrection | ShopCorrection)[]): Json {
  return entries.map((e): Json => {
    const plain = JSON.parse(JSON.stringify(e)) as Record<string, Json>;
    if (e.kind === "placement") return { ...plain, rotation: writeAngle(e.rotation) };
    if (e.kind === "turn" && e.angle !== undefined) return { ...plain, angle: writeAngle(e.angle) };
    return e.kind === "axes" ? { ...plain, square: writeAngle(e.square) } : plain;
  });
}

function writeBars(b: NonNullable<OrderSpec["bars"]>): Json {
  const { from_x, to_x, ...rest } = b;
  return { ...rest, from: from_x, to: to_x };
}

function without<T extends object, K extends keyof T>(value: T, key: K): Omit<T, K> {
  const { [key]: _left, ...rest } = value;
  return rest;
}

/** The shop file of a shop. */
export function writeShop(shop: ShopSpec): Doc {
  const { measured, spindle, grid, real: _fromCorrections, ...m } = shop.machine;
  const perMin = (v: MachineSpec["feed"]): Json => ({ x: perMinute(v.x), y: perMinute(v.y), z: perMinute(v.z) });
  return {
    neckwright: "shop/1",
    name: shop.name,
    title: shop.title,
    machine: {
      ...m,
      bed: { ...m.bed },
      travel: { ...m.travel },
      feed: perMin(m.feed),
      rapid: perMin(m.rapid),
      acceleration: { ...m.acceleration },
      stiffness: { ...m.stiffness },
      spindle: { ...without(spindle, "curve"), ...(spindle.curve ? { curve: spindle.curve.map((p) => ({ ...p })) } : {}) },
      controller: { ...m.controller },
      ...(grid ? { grid: { ...grid, first: { ...grid.first } } } : {}),
      ...(measured ? { measured: JSON.parse(JSON.stringify(measured)) as Json } : {}),
    },
    cutters: shop.cutters.map(({ life, recess, ...c }) => ({
      ...c,
      tipAngle: writeAngle(c.tipAngle),
      holder: c.holder.map((h) => ({ ...h })),
      chip: { ...c.chip },
      ...(life === undefined ? {} : { life: metres(life) }),
      ...(recess === undefined ? {} : { recess: { ...recess } }),
    })),
    ...(shop.corrections ? { corrections: writeCorrections(shop.corrections) } : {}),
    ...(shop.hardware ? { hardware: JSON.parse(JSON.stringify(shop.hardware)) as Json } : {}),
    ...(shop.coefficients ? { coefficients: writeCoefficients(shop.coefficients) } : {}),
    ...(shop.boardRadius ? { boardRadius: shop.boardRadius } : {}),
    ...(shop.costs ? { costs: { ...shop.costs } } : {}),
  };
}

/** The metres that read back as these millimetres. */
function metres(v: number): number {
  const m = v / 1000;
  for (const t of [Math.round(m * 1e6) / 1e6, m]) if (t * 1000 === v) return t;
  return m;
}

/** What a shop gave of the coefficients; what is from memory stays out, so that it stays labelled so. */
function writeCoefficients(model: ForceModel): Json {
  const own = FORCE_FIGURES.filter((k) => !model.memory.includes(k)).map((k) => [k, model[k]]);
  return { source: model.source, ...(Object.fromEntries(own) as Record<string, Json>) };
}
