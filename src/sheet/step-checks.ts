import type { Cutter } from "../cutting/types.ts";
import { pressOf } from "../holding/press.ts";
import type { Side } from "../holding/types.ts";
import { isTilted } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import { radToDeg } from "../units/index.ts";
import { dim } from "./drawings/common.ts";
import type { ReportInput, SheetProgram } from "./input.ts";

/*
 * What to look at before and after each program. The numbers come from the neck and the plan; what each kind of cut wants looked
 * at is common practice of the trade (no source).
 */

export interface Checks {
  readonly before: readonly string[];
  readonly after: readonly string[];
}

/** Words in a cut's id or title, and what to look at when it has been cut. */
const AFTER: readonly { readonly word: RegExp; readonly says: (n: Neck) => readonly string[] }[] = [
  {
    word: /scribe/,
    says: (n) => [
      `Look at the scribed line: it stays at least ${dim(n.order.blank.margin)} mm inside the blank all round and clear of knots, cracks and the holding. If not, correct the placement now: nothing deep has been cut.`,
    ],
  },
  {
    word: /\brough/,
    says: () => ["The blank has not moved: it still touches both pins and the stop."],
  },
  {
    word: /tuner-spots/,
    says: () => ["Every spot stands where its bore's middle is to be (drawing of the headstock): the drill press follows them."],
  },
  {
    word: /back-leaning/,
    says: (n) => {
      const head = isTilted(n.order) ? [`headstock ${dim(n.order.headstock.thickness)} mm thick, square to its face`] : [];
      const heel = n.neckAngle !== 0 ? [`heel ${heelSays(n)} where it begins`] : [];
      return [`Flat to a straight edge: ${[...head, ...heel].join("; ")}.`];
    },
  },
  {
    word: /tenon/,
    says: (n) => {
      const { tenon } = n.features;
      return tenon === null
        ? []
        : [
            `Tenon ${dim(tenon.width)} mm wide, ${dim(tenon.depth)} deep at its shoulder, ${dim(tenon.xMax - tenon.xMin)} long; the shoulder square across.`,
          ];
    },
  },
  {
    word: /back-flats|headstock back/,
    says: (n) => {
      if (isTilted(n.order)) return n.neckAngle === 0 ? [`Heel ${heelSays(n)}, flat to a straight edge.`] : [];
      return [`Headstock ${dim(n.order.headstock.thickness)} mm thick; heel ${heelSays(n)}, both flat to a straight edge.`];
    },
  },
  {
    word: /head-?slot|slotted/,
    says: (n) => [`Openings ${dim(n.features.headSlots[0]?.width ?? 0)} mm wide, ends clean; a roller passes across without touching.`],
  },
  { word: /volute/, says: () => ["The volute runs out smoothly into headstock and carve."] },
  {
    word: /headstock|ramp/,
    says: (n) => {
      const { kind = "flat", drop, angle = 0 } = n.order.headstock;
      return [
        kind === "flat"
          ? `Headstock face ${dim(drop)} mm below the glue plane, flat to a straight edge.`
          : `Headstock face tilted ${dim(radToDeg(angle))}° to the glue plane, flat to a straight edge.`,
      ];
    },
  },
  {
    word: /tuner|bore.*post|bush/,
    says: (n) =>
      n.features.tuners.length > 0
        ? [
            `Try a tuner or a gauge pin in a bore: ⌀${n.features.tuners[0].steps.map((s) => dim(s.diameter)).join(" and ⌀")}. The exit is clean on the far side once it is open.`,
          ]
        : [],
  },
  {
    word: /marker/,
    says: (n) =>
      n.features.markers.length > 0 ? [`A marker fits its recess (⌀${dim(n.features.markers[0].diameter)}) with the fit ordered.`] : [],
  },
  {
    word: /nut|shelf/,
    says: (n) => [`Nut blank of ${dim(n.order.nut.width)} mm fits its place without play; its bridge-side edge is where the scale starts.`],
  },
  {
    word: /radius|crown|board.*(face|finish|surface)/,
    says: () => ["Radius gauge along the board: no step between rows, no tear-out; markers level with the wood."],
  },
  {
    word: /slot|fret/,
    says: (n) => {
      const last = Math.min(12, n.order.frets.count);
      return [
        `Rule from the nut's edge to the centre of slot ${last}: ${dim(n.fretAt(last))} mm. Try a piece of the fret wire in a slot: it goes in by hand pressure or light taps, not looser.`,
        `Slot depth ${dim(n.order.frets.depth)} mm at the middle and at both ends.`,
      ];
    },
  },
  {
    word: /rod|channel|bar-/,
    says: (n) =>
      n.order.rod.kind === "channel"
        ? [`The rod drops in along its whole length (channel ${dim(n.order.rod.width)} mm wide); no chips left on its floor.`]
        : [],
  },
  {
    word: /screw/,
    says: (n) =>
      n.features.screws.length > 0
        ? [`Screw bores ⌀${dim(n.features.screws[0].diameter)}, chips cleared; none of them comes through at the face.`]
        : [],
  },
  {
    word: /carve|back|finish/,
    says: (n) =>
      n.order.carve.stations.map((s) => {
        const x = s.at.kind === "x" ? s.at.x : n.fretAt(s.at.fret);
        const at = s.at.kind === "x" ? `${dim(s.at.x)} mm from the nut` : s.at.fret === 0 ? "the nut" : `fret ${s.at.fret}`;
        return `Caliper at ${at}: ${thicknessSays(n, x)}.`;
      }),
  },
  { word: /heel/, says: (n) => [`Heel ${heelSays(n)}, flat to a straight edge.`] },
  { word: /outline|profile/, says: () => ["The edge is clean and the piece still sits firm; do not pull at it."] },
];

/** Thickness on the centreline at x, with the board when it is on the blank. */
function thicknessSays(n: Neck, x: number): string {
  const glued = n.order.blank.kind === "board-glued";
  const back = -n.back(x, 0);
  return glued ? `${dim(back + n.top(x, 0))} mm with the board` : `${dim(back)} mm without the board`;
}

const heelSays = (n: Neck): string => {
  const glued = n.order.blank.kind === "board-glued";
  return `${dim(n.order.heel.thickness - (glued ? 0 : n.order.board.thickness))} mm thick ${glued ? "with" : "without"} the board`;
};

export function checksFor(input: ReportInput, program: SheetProgram, cutter: Cutter | undefined, firstOfSide: boolean): Checks {
  const side: Side = input.holding.sides[program.side];
  const before: string[] = [];
  if (firstOfSide) {
    before.push(
      `${side.holding.some((s) => s.role === "fence pin") ? "Datum edge against both fence pins, headstock end against the stop, no chips between" : "Both turn pins up in their holes without play, the blank down on its supports, no chips between"}; every pin, block${program.side === "carve" ? ", support" : ""} and screw as in the drawing.`,
    );
    const press = pressOf(input.neck, program.side);
    if (press !== undefined)
      before.push(
        press.kind === "vacuum"
          ? `Vacuum on, its gauge at ${dim(press.kPa)} kPa or more and steady; look at it again before every program, and stop at once when it falls: nothing else holds the piece down.`
          : `Tape under the whole piece, pressed down, faces free of dust and oil; push hard at the piece by hand before the spindle turns: nothing else holds it down.`,
      );
    before.push(`Zero: ${side.zeroSays}. Check it: a point held in the spindle stands over the corner of the two lines at X 0 Y 0.`);
  }
  if (cutter)
    before.push(
      `T${cutter.number} ${cutter.name} in the spindle, ${dim(cutter.reach)} mm from tip to holder; length measured or touched off as your controller wants it.`,
    );
  before.push(
    `First run in air, hand at the stop: travel stays within X ${dim(program.bounds.min[0])} to ${dim(program.bounds.max[0])}, Y ${dim(program.bounds.min[1])} to ${dim(program.bounds.max[1])}; lowest Z ${dim(program.bounds.min[2])} above the bed.`,
  );
  const after: string[] = [];
  for (const id of program.cuts) {
    const cut = input.plan.cuts.find((c) => c.id === id);
    // the side's name stands before the id and says nothing of the cut
    const text = `${id.replace(/^(board|carve)-/, "")} ${cut?.title ?? ""}`.toLowerCase();
    const says = AFTER.find((a) => a.word.test(text))?.says(input.neck) ?? [];
    for (const s of says) if (!after.includes(s)) after.push(s);
  }
  if (after.length === 0) after.push("The piece has not moved; the cut is where the drawing has it; no tear-out.");
  return { before, after };
}
