import type { SideName } from "../holding/types.ts";
import { fillerTop } from "../neck/filler.ts";
import { isTilted, tiltOf } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import type { Mm } from "../units/index.ts";
import { boardRadius, boardRough } from "./operations/board.ts";
import { backFlats, carveRough, fillerLevel } from "./operations/carve.ts";
import { carveFinish, carveRest } from "./operations/carve-finish.ts";
import type { Context, Result } from "./operations/context.ts";
import { channelRoughed, fretSlots, markers, nutSeat, rodChannel, screwBores, screwBoresLow, tunerBores } from "./operations/features.ts";
import { headstockFace, headstockRough, ramp } from "./operations/headstock.ts";
import { outlineBoard, outlineCarve, outlineRough, scribe } from "./operations/outline.ts";
import { pinHoles } from "./operations/pin-holes.ts";
import { tenon } from "./operations/tenon.ts";
import { backLeaning, headSlots, tiltedCorner, tunerSpots } from "./operations/tilted.ts";

export type Operation = (ctx: Context) => Result;
/** A cut of the work, or what is done by hand between cuts. */
export type Item =
  | { readonly cut: Operation; readonly needsBoard?: boolean; readonly rough?: true; readonly weight?: number }
  | {
      readonly rough?: true;
      readonly hand: string | ((neck: Neck) => string);
      readonly fills: readonly string[];
      readonly when: (neck: Neck) => boolean;
      readonly id: string;
    };

const hasMarkers = (n: Neck): boolean => n.features.markers.length > 0 && n.order.blank.kind === "board-glued";
const hasFiller = (n: Neck): boolean => n.features.rod.some((c) => c.from === "carve");

/**
 * The order of work on each side, explained cut by cut (`why` of each operation) and by these hand steps between them. In the
 * plan with a rest, what is marked `rough` is done on both sides before it.
 */
export const WORK: Readonly<Record<SideName, readonly Item[]>> = {
  board: [
    {
      rough: true,
      id: "make-up",
      hand: (n) =>
        `Before anything is held down: make the glued scarf up to the block that the programs are planned for, ${round1(blankHigh(n))} mm high. Lay packing under the shaft until its face is level and as high as that; glue a wedge of scrap with paper between onto the waste end of the headstock, level with the shaft's face, and a block under the waste at the body's end: pins, stop and blocks then bear as on a block, on both sides. Where the block is air the cutter goes through air; the neck itself must lie in wood everywhere (marking sheet, scarf).`,
      fills: [],
      when: (n) => n.order.headstock.kind === "scarfed",
    },
    { cut: scribe, rough: true },
    {
      rough: true,
      id: "look",
      hand: "Look at the scribed line: measure from it to the blank's edges, and correct the placement now if the wood asks for it.",
      fills: [],
      when: () => true,
    },
    { cut: pinHoles, rough: true },
    { cut: headstockRough, rough: true, weight: 30 },
    { cut: headstockFace },
    { cut: tiltedCorner },
    { cut: ramp },
    { cut: rodChannel },
    { cut: markers, needsBoard: true },
    {
      id: "glue-markers",
      hand: "Glue the markers into their recesses, a little proud. They cure while the next programs run.",
      fills: ["marker"],
      when: hasMarkers,
    },
    { cut: tunerBores },
    { cut: tunerSpots },
    { cut: headSlots },
    { cut: nutSeat, needsBoard: true },
    { id: "cure-markers", hand: "Wait until the markers' glue has cured.", fills: [], when: hasMarkers },
    { cut: boardRough, needsBoard: true },
    { cut: boardRadius, needsBoard: true, weight: 3 },
    { cut: fretSlots, needsBoard: true, weight: 4 },
    { cut: outlineRough, weight: 2 },
    { cut: outlineBoard, weight: 3 },
  ],
  carve: [
    {
      rough: true,
      id: "onto-pins",
      hand: "Break the skins out of both pin holes, blow the chips out, turn the blank and push it down onto the two turn pins until it lies on its supports; the slotted hole is the one at the body's end.",
      fills: [],
      when: (n) => n.order.holding.way === "waste-pins",
    },
    {
      rough: true,
      id: "wedge",
      hand: (n) =>
        `Before the piece is held down: lay a wedge of scrap, cut to ${degrees(n)} degrees, under the headstock's tilted face, so that the face lies on it over most of its length and nothing springs under the cutter. The last cut may mark it.`,
      fills: [],
      when: (n) => isTilted(n.order),
    },
    { cut: rodChannel, rough: true },
    {
      rough: true,
      id: "glue-filler",
      hand: "Fit the rod, glue the filler strip into the channel, a little proud. It cures while the screw bores are drilled.",
      fills: ["rod-channel"],
      when: (n) => hasFiller(n) && fillerTop(n) === null,
    },
    { cut: screwBores },
    {
      rough: true,
      id: "cure-filler",
      hand: "Wait until the filler strip's glue has cured.",
      fills: [],
      when: (n) => hasFiller(n) && fillerTop(n) === null,
    },
    { cut: carveRough, rough: true, weight: 7 },
    { cut: channelRoughed, rough: true },
    {
      rough: true,
      id: "glue-filler-low",
      hand: (n) => {
        const top = fillerTop(n) ?? 0;
        const high = n.features.rod
          .filter((c) => c.from === "carve")
          .map((c) => `${Math.round(10 * (c.zFloor - top - c.rodHeight)) / 10} mm high over the ${c.rodHeight} mm in ${c.id}`);
        return `Fit rod and bars, glue the filler strips into their channels, their upper faces level, ${Math.round(-10 * top) / 10} mm above the board's underside and no higher: ${high.join("; ")}. Wait until the glue has cured.`;
      },
      fills: ["rod-channel", "bar-channel-1", "bar-channel-2"],
      when: (n) => fillerTop(n) !== null,
    },
    { cut: fillerLevel, rough: true },
    { cut: backFlats, weight: 2 },
    { cut: backLeaning, weight: 3 },
    { cut: screwBoresLow },
    { cut: carveFinish, weight: 12 },
    { cut: carveRest },
    { cut: tenon },
    { cut: outlineRough, weight: 2 },
    { cut: outlineCarve, weight: 4 },
    {
      id: "pare-tenon",
      hand: "Pare the two inner corners of the tenon square with a chisel: the cutter leaves its own radius there.",
      fills: [],
      when: (n) => n.features.tenon !== null,
    },
    {
      id: "bore-tuners",
      hand: (n) =>
        `With the neck out of the blank: bore the tuner holes square to the face on a drill press, the headstock's back on a wedge of ${degrees(n)} degrees and on scrap, held fast, from the face at the spots (marking sheet): ${n.features.tuners[0].steps.map((s) => `${s.diameter} mm`).join(", then ")}.`,
      fills: [],
      when: (n) => n.features.tuners.some((t) => t.tilt),
    },
    {
      id: "bore-rollers",
      hand: "With the neck out of the blank: bore the holes of the rollers from the headstock's sides by the drilling guide.",
      fills: [],
      when: (n) => n.features.rollers.length > 0,
    },
  ],
};

const round1 = (v: number): number => Math.round(10 * v) / 10;
const blankHigh = (n: Neck): Mm => n.order.blank.shaftThickness + n.order.blank.boardThickness;
const degrees = (n: Neck): string => `${Math.round((10 * 180 * tiltOf(n.order)) / Math.PI) / 10}`;

/** Between roughing and finishing, where the order asks for a rest. */
const REST: Readonly<Record<SideName, string>> = {
  board:
    "Let the roughed piece rest for days where air reaches all its faces, until it has stopped moving (lay a straightedge on it each day). Then make the datum anew: measure the blank's width, joint the datum edge straight, square the end at the stop if it has moved, measure the width again, and lay a strip as thick as what was taken off between edge and pins, so that the piece lies where it lay. Lay packing under the roughed back so that nothing bends under the cutter.",
  carve:
    "Before the carve side is finished: the same edge and the same strip against the pins; the board's finished face lies on its supports.",
};

export const restOf = (neck: Neck, side: SideName): string =>
  side === "carve" && neck.order.holding.way === "waste-pins"
    ? "Before the carve side is finished: the same holes on the same pins; the board's finished face lies on its supports."
    : REST[side];
