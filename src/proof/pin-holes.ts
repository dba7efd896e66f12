import { settingsOf } from "../holding/sections/setting.ts";
import { type Finding, finding } from "../units/index.ts";
import { Gauge } from "./gauge.ts";
import { frameOf } from "./place.ts";
import { INDEX_HOLE } from "./rules.ts";
import { probeOf } from "./simulate.ts";
import type { ProofInput, ProofSide } from "./types.ts";

/** Most wood under a hole: it is broken out by hand. */
const SKIN = 0.35;
/** Rings of a pin's section, as shares of its radius, and places on each. */
const RINGS = [0, 0.5, 0.8, 1] as const;
const PLACES = 24;
/** A pin goes into a hole that is narrower by this, mm. */
const TIGHT = 0.02;

/** Where pins go up into the turned blank, the board side's programs have taken the wood away, whatever the job says of its holes. */
export function checkPinHoles(input: ProofInput, carve: ProofSide): Finding[] {
  const pins = settingsOf(carve).flatMap(({ says, holding }) => holding.filter((s) => s.role === "index pin").map((s) => ({ s, says })));
  const board = input.sides.find((s) => s.name === "board");
  if (pins.length === 0 || board === undefined) return [];
  const [here, there] = [frameOf(carve), frameOf(board)];
  const gauge = new Gauge(there, probeOf(input, board));
  return pins.flatMap(({ s, says }) => {
    if (s.kind !== "cylinder") return [];
    const r = s.diameter / 2 - TIGHT;
    const [x, y] = here.neckXY(s.x, s.y);
    const ground = gauge.ground(x, y, s.diameter);
    let left = 0;
    for (const share of RINGS)
      for (let k = 0; k < (share === 0 ? 1 : PLACES); k++) {
        const a = (2 * Math.PI * k) / PLACES;
        left = Math.max(left, ground(x + share * r * Math.cos(a), y + share * r * Math.sin(a)) - board.stock.min[2]);
      }
    if (left <= SKIN) return [];
    return [
      finding(INDEX_HOLE, {
        where: carve.sections === undefined ? `side carve, ${s.name}` : `${says}, ${s.name}`,
        value: left,
        limit: SKIN,
        unit: "mm",
        says: `Turned, the blank has ${left.toFixed(2)} mm of wood where the ${s.name} goes up into it.`,
        tryThis: "Make the job again; the board side bores the holes for the turn pins.",
      }),
    ];
  });
}
