import type { Mm } from "../units/index.ts";
import type { Solid } from "./types.ts";

const round = (v: number): number => Math.round(v * 10) / 10;

/** How a side's zero is set, in words: by the lines that pins stand on, or by places of pins. `up`: which way of the zero the piece lies. */
export function zeroSaysOf(solids: readonly Solid[], up: 1 | -1, lift: Mm, pinsSay = "the turn pins' middles"): string {
  const pins = solids.flatMap((s) => (s.role === "index pin" && s.kind === "cylinder" ? [`X ${round(s.x)}, Y ${round(s.y)}`] : []));
  const lines =
    pins.length === 0
      ? "where the line of the fence pins meets the line of the end stop"
      : `so that ${pinsSay} stand at ${pins.join(" and ")}`;
  const where = up > 0 ? "the piece lies on the plus side" : "the piece lies on the minus side";
  return `X and Y zero ${lines}, Z zero on the bed; ${where} of ${solids.some((s) => s.role === "fence pin") ? "the fence line" : "the zero's X"}${lift > 0 ? `; under it a waste sheet ${lift} mm thick, flat and fixed, which the cutter marks` : ""}`;
}
