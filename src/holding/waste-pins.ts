import { flatten } from "../kernel/contour.ts";
import { signedDistance } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { MachineSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { SWATH } from "./extent.ts";
import { HO } from "./rules.ts";
import type { InBlank, Lay } from "./solids.ts";
import type { Solid, WasteBore } from "./types.ts";

/*
 * Two pins through the waste: the board side bores a hole near each end of the blank, and turned, the blank goes onto two pins that stand
 * under them. The datum edge then locates the first side only; what it is out of straight, and any chip at it, stays out of the turn.
 *
 *      [ blocks                        blocks ]
 *      [   o    ~~ neck ~~~~~~~~~~~~    (=)   ]      o round hole, (=) slotted along the blank: it keeps the angle, not the length
 *      [ blocks                        blocks ]
 */

/** Wood around a hole: toward the blank's end, and to what the outline's cutter sweeps. */
const WALL: Mm = 4;
/** The slotted hole is so much longer than its pin. */
const SLOT: Mm = 2;
/** Holes are looked for so far apart along the blank. */
const STEP: Mm = 0.5;
/** Pins stay so far below the blank's upper face. */
const BELOW: Mm = 2;

export interface WastePins {
  /** Along the blank from its headstock end; both on `across` from the datum edge. */
  readonly along: readonly [Mm, Mm];
  readonly across: Mm;
  readonly diameter: Mm;
}

/** Where the two holes have most wood around them; null where an end has no room for one. */
export function wastePins(neck: Neck, machine: MachineSpec, at: InBlank): WastePins | null {
  const { blank, holding } = neck.order;
  const { diameter } = holding.pin;
  const r = diameter / 2;
  const across = blank.width / 2;
  const outline = flatten(neck.outline, 0.02);
  /** The least wood around a hole there, less than nothing where there is no room for it. */
  const wood = (along: Mm, slot: Mm): Mm => {
    const off = [-slot / 2, slot / 2].map((d) => signedDistance([outline], at.x(along + d, across), at.y(along + d, across)));
    return Math.min(along - slot / 2, blank.length - along - slot / 2, Math.min(...off) - SWATH) - r;
  };
  const places = (from: Mm, to: Mm, slot: Mm): readonly (readonly [Mm, Mm])[] => {
    const out: [Mm, Mm][] = [];
    for (let v = from; v <= to; v += STEP) {
      const w = wood(v, slot);
      if (w >= WALL) out.push([v, w]);
    }
    return out;
  };
  const near = places(0, blank.length / 4, 0);
  const far = places((blank.length * 3) / 4, blank.length, SLOT);
  let best: { readonly along: readonly [Mm, Mm]; readonly wood: Mm } | null = null;
  const pitch = machine.grid?.pitch;
  for (const [a, p] of near) {
    // over holes of a grid their distance is a whole number of pitches
    const ends = pitch === undefined ? far : wholePitches(a, pitch, blank.length).map((b) => [b, wood(b, SLOT)] as const);
    for (const [b, q] of ends) {
      const least = Math.min(p, q);
      if (q >= WALL && (best === null || least > best.wood)) best = { along: [a, b], wood: least };
    }
  }
  return best === null ? null : { along: best.along, across, diameter };
}

/** Places in the blank's last quarter that are whole pitches from one near its first end. */
function wholePitches(from: Mm, pitch: Mm, length: Mm): Mm[] {
  const first = Math.ceil((length * 0.75 - from) / pitch);
  const count = Math.max(0, Math.floor((length - from) / pitch) - first + 1);
  return Array.from({ length: count }, (_, k) => from + (first + k) * pitch);
}

/** The pins under the turned piece. */
export function turnPins(neck: Neck, lay: Lay, pins: WastePins, lift: Mm): Solid[] {
  const { height } = neck.order.holding.pin;
  return pins.along.map((along, k) => ({
    kind: "cylinder",
    name: `turn pin ${k + 1}`,
    role: "index pin",
    x: along * lay.along,
    y: pins.across * lay.up,
    diameter: pins.diameter,
    zMin: 0,
    zMax: Math.min(lift + height, lay.thickness - BELOW),
  }));
}

/** Their holes in the neck's frame, as the board side bores them. */
export function boresOf(pins: WastePins, at: InBlank): WasteBore[] {
  return pins.along.map((along, k) => {
    const half = k === 0 ? 0 : SLOT / 2;
    const place = (d: Mm): readonly [Mm, Mm] => [at.x(along + d, pins.across), at.y(along + d, pins.across)];
    return { id: `turn-pin-${k + 1}`, diameter: pins.diameter, from: place(-half), to: place(half) };
  });
}

export const noPins = (neck: Neck, { grid }: Pick<MachineSpec, "grid">): Finding =>
  finding(HO.pinRoom, {
    where: "holding.way",
    value: neck.order.holding.pin.diameter,
    limit: null,
    unit: "mm",
    says: `Beyond the neck's ends there is no room for a hole of ${neck.order.holding.pin.diameter} mm with ${WALL} mm of wood around it, clear of the ${SWATH} mm that the outline's cutter takes${grid === undefined ? "" : `, both over holes of the bed ${grid.pitch} mm apart`}.`,
    tryThis: "Take a longer blank or thinner pins (holding.pin.diameter), or hold it by its datum edge on both sides (holding.way).",
  });
