import { answersOf, USUAL_TOLERANCES } from "../../neck/figures/index.ts";
import type { Neck } from "../../neck/types.ts";
import type { HardwareSpec } from "../../spec/types.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { nutCorners } from "../drawings/plan.ts";

/** Height of a fret's crown when no wire on the shelf has the ordered tang. Common practice, no source. */
export const CROWN: Mm = 1.1;
/** Slots are first cut this far above the plane over the first fret's crown and filed down when the neck is strung. Common practice, no source. */
export const START_ABOVE: Mm = 0.5;
/** Slots of a neck with a zero fret lie this far under its crown, which carries the strings. Common practice, no source. */
export const UNDER_ZERO: Mm = 0.3;
/** A slot is this much wider than its string. Common practice, no source. */
export const SLOT_EASE: Mm = 0.05;
/** Left on every side of the blank for fitting. Common practice, no source. */
export const FITTING: Mm = 1;
/** Height of the string's winding above the headstock's face, assumed for the angle behind the nut. Common practice, no source. */
export const WINDING_HEIGHT: Mm = 5;

export interface NutSlot {
  /** 1 is the treble-most. */
  readonly string: number;
  /** Middle of the slot, along the nut from its bass end and from the centreline (treble positive). */
  readonly fromBass: Mm;
  readonly fromCentre: Mm;
  /** To the next string toward the treble: middle to middle, and air between (null without diameters); null for the last. */
  readonly toNext: Mm | null;
  readonly gap: Mm | null;
  /** Null when the order gives no diameters. */
  readonly diameter: Mm | null;
  readonly width: Mm | null;
  /** Slot floor below the nut's top: half the string. */
  readonly depth: Mm | null;
  /** Of the string in front of the nut to the square of the nut, toward the treble positive. */
  readonly front: Rad;
  /** By how much the string turns aside behind the nut, toward the treble positive. */
  readonly aside: Rad;
  /** By how much it falls behind the nut, winding WINDING_HEIGHT over the face (on the roller of a slotted head); null without a post. */
  readonly fall: Rad | null;
  /** Intonation model: how far the string's end would stand nearer the bridge, and its saddle farther off; null when pitches or gauges are not known. */
  readonly towardBridge: Mm | null;
  readonly saddleBack: Mm | null;
  /** The model took usual gauges because the order gives none. */
  readonly assumed: boolean;
}

/** The nut as a part to make: lengths in mm, along the nut, which may stand askew. */
export interface NutBlank {
  /** Between the board's edges, at its face toward the bridge and at its face toward the headstock. */
  readonly lengthFront: Mm;
  readonly lengthBack: Mm;
  readonly width: Mm;
  /** From the seat's floor to the board's crown beside it. */
  readonly seatDepth: Mm;
  readonly crown: { readonly height: Mm; readonly from: string };
  /** From the seat's floor to the slots' floors and to the top at the middle, as first cut. */
  readonly floorHeight: Mm;
  readonly topHeight: Mm;
  /** Of the top along the nut; Infinity: straight. */
  readonly topRadius: Mm;
  /** What to cut: finished sizes and FITTING. */
  readonly cut: { readonly length: Mm; readonly width: Mm; readonly height: Mm };
  /** Angle of the nut to the square of the centreline: positive when its treble end lies nearer the bridge. */
  readonly skew: Rad;
  readonly slots: readonly NutSlot[];
}

/** String diameters that the order gives, bass to treble; empty when it gives none. */
const given = (neck: Neck): readonly Mm[] => {
  const { gauges, diameters, count } = neck.order.strings;
  return gauges?.length === count ? gauges : diameters.length === count ? diameters : [];
};

/** The nut of an order. `hardware`: the shop's shelf, for the height of the wire's crown. */
export function nutBlank(neck: Neck, hardware: HardwareSpec | null): NutBlank {
  const o = neck.order;
  const { nut } = neck.features;
  const [backHigh, frontHigh, frontLow, backLow] = nutCorners(neck);
  const length = (a: readonly [number, number], b: readonly [number, number]): Mm => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const stretch = Math.hypot(1, nut.slope);
  const wire = hardware?.wires.find(
    (w) => Math.abs(w.tangWidth - o.frets.tangWidth) < 1e-6 && Math.abs(w.tangDepth - o.frets.tangDepth) < 1e-6,
  );
  const fretless = (o.frets.kind ?? "frets") !== "frets";
  const crown = fretless
    ? { height: 0, from: "no frets" }
    : wire
      ? { height: wire.crownHeight, from: `"${wire.name}" on the shelf` }
      : { height: CROWN, from: "assumed" };
  const seatDepth = neck.boardTop(0, 0) - nut.zFloor;
  const over = o.nut.zeroFret !== undefined ? -UNDER_ZERO : START_ABOVE;
  const floorHeight = seatDepth + crown.height + over;
  const thickest = Math.max(0, ...given(neck));
  const topHeight = floorHeight + (thickest > 0 ? thickest / 2 : 0.6);
  const radius = neck.boardRadius(0) * (1 + nut.slope * nut.slope);
  const lengthFront = length(frontHigh, frontLow);
  const lengthBack = length(backHigh, backLow);
  return {
    lengthFront,
    lengthBack,
    width: o.nut.width,
    seatDepth,
    crown,
    floorHeight,
    topHeight,
    topRadius: radius + topHeight - seatDepth,
    cut: { length: Math.max(lengthFront, lengthBack) + 2 * FITTING, width: o.nut.width, height: topHeight + FITTING },
    skew: Math.atan(nut.slope),
    slots: slotsOf(neck, frontLow[1], frontHigh[1], stretch, nut.zFloor + floorHeight),
  };
}

/** Slots from the bass to the treble; `low` and `high` are the y of the nut's ends at its front face. */
function slotsOf(neck: Neck, low: Mm, high: Mm, stretch: number, floor: Mm): NutSlot[] {
  const o = neck.order;
  const n = o.strings.count;
  const { nut } = neck.features;
  const treble = o.hand === "left" ? -1 : 1;
  const bassEnd = treble > 0 ? low : high;
  const diameters = given(neck);
  // a zero fret ends the strings itself: the nut has nothing to give
  const answers =
    (o.frets.kind ?? "frets") === "frets" && o.frets.count > 0 && o.nut.zeroFret === undefined ? answersOf(neck, USUAL_TOLERANCES) : null;
  const places = Array.from({ length: n }, (_, k) => {
    const s = n - k;
    let x = nut.xMax;
    for (let i = 0; i < 40; i++) x = nut.xMax + nut.slope * neck.stringAt(s, x);
    return { s, x, y: neck.stringAt(s, x), diameter: diameters.length === n ? diameters[k] : null };
  });
  return places.map((p, k): NutSlot => {
    const next = places[k + 1];
    const toNext = next ? treble * (next.y - p.y) * stretch : null;
    const slope = neck.stringAt(p.s, p.x + 1) - p.y;
    const behind = behindNut(neck, p.s, p.x, p.y, floor);
    const answer = answers?.find((a) => a.string === p.s);
    const half = p.diameter !== null && next?.diameter != null ? (p.diameter + next.diameter) / 2 : null;
    return {
      string: p.s,
      fromBass: treble * (p.y - bassEnd) * stretch,
      fromCentre: treble * p.y * stretch,
      toNext,
      gap: toNext !== null && half !== null ? toNext - half : null,
      diameter: p.diameter,
      width: p.diameter === null ? null : p.diameter + SLOT_EASE,
      depth: p.diameter === null ? null : p.diameter / 2,
      front: treble * (Math.atan(slope) + Math.atan(nut.slope)),
      aside: behind === null ? 0 : treble * behind.aside,
      fall: behind === null ? null : behind.fall,
      towardBridge: answer ? -answer.both.nut : null,
      saddleBack: answer ? answer.both.saddle : null,
      assumed: answer?.assumed ?? false,
    };
  });
}

/** The string's way behind the nut to its post or roller: aside (in the neck frame, +y positive, toward the head) and down. */
function behindNut(neck: Neck, s: number, x: Mm, y: Mm, floor: Mm): { readonly aside: Rad; readonly fall: Rad } | null {
  const post = neck.features.tuners.find((t) => t.string === s);
  const roller = neck.features.rollers.find((r) => r.string === s);
  const at = post ?? roller;
  if (!at) return null;
  const straight = neck.stringAt(s, at.x);
  const z = post ? post.steps[0].zTop + WINDING_HEIGHT : roller!.z + neck.order.headstock.tuners.winding / 2;
  // on the roller the string lies over its slot, where its straight line runs, or as near as the slot lets it
  const to = post ? post.y : (neck.features.headSlots.find((h) => h.y > 0 === roller!.y > 0)?.y ?? straight);
  const run = Math.hypot(x - at.x, to - y);
  return {
    aside: Math.sign(to - straight) * at.stringAngle,
    fall: Math.atan((floor - z) / run),
  };
}
