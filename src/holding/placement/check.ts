import { insidePolygon, type Polygon, signedDistance } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import { inForce } from "../../spec/corrections.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, radToDeg } from "../../units/index.ts";
import { RANGES, turnedBy } from "../correct/posting.ts";
import { HO } from "../rules.ts";
import type { Holding } from "../types.ts";
import { bestInBlank, blankOutline, MOST_ASKEW, marginInBlank } from "./neck.ts";

const r2 = (v: number): number => Math.round(v * 100) / 100;

/** What a rough blank, its defects, a turned neck and corrections ask of the plan. Nothing for the plain rectangle. */
export function checkPlacement(neck: Neck, machine: MachineSpec, plan: Holding): Finding[] {
  const { blank } = neck.order;
  const out: Finding[] = [];
  const rotation = blank.rotation ?? 0;
  if (!(Math.abs(rotation) <= MOST_ASKEW))
    out.push(
      finding(HO.askew, {
        where: "blank.rotation",
        value: r2(radToDeg(rotation)),
        limit: r2(radToDeg(MOST_ASKEW)),
        unit: "deg",
        says: `The neck is to lie ${r2(radToDeg(Math.abs(rotation)))} degrees askew in its blank; its fibres would run out at its sides, and blocks and pins are planned for no more than ${r2(radToDeg(MOST_ASKEW))}.`,
        tryThis: "Plane a new datum edge at that angle, so that the neck lies along it, and give the blank as it is then.",
      }),
    );
  out.push(...checkRanges(neck, machine));
  if (blank.outline === undefined && blank.regions === undefined) return out;
  const shapes: readonly (readonly [string, Polygon])[] = [
    ["blank.outline", blankOutline(neck)],
    ...(blank.regions ?? []).map((r, k) => [`blank.regions[${k}]`, Float64Array.from(r.points.flatMap((p) => [p.x, p.y]))] as const),
  ];
  const crossed = shapes.find(([, p]) => crosses(p));
  if (crossed !== undefined) {
    out.push(
      finding(HO.crossed, {
        where: crossed[0],
        value: null,
        limit: null,
        unit: "",
        says: "This outline crosses itself or has no area.",
        tryThis: "Give its corners one after the other, all the way around.",
      }),
    );
    return out;
  }
  const { margin, contacts } = marginInBlank(neck, { ...plan.placement, rotation });
  if (!(margin >= blank.margin)) {
    const best = bestInBlank(neck, true);
    const at = contacts[0];
    const better =
      best.margin >= blank.margin
        ? `Set blank.tipFromEnd to ${r2(best.inBlank.tipFromEnd)} and blank.centreFromDatum to ${r2(best.inBlank.centreFromDatum)}: there it has ${r2(best.margin)} mm.`
        : `Along the datum edge no place has more than ${r2(best.bound)} mm; take another blank, or turn the neck in it (neckwright place says how far).`;
    out.push(
      finding(HO.region, {
        where: at === undefined ? "blank" : at.region,
        value: r2(margin),
        limit: blank.margin,
        unit: "mm",
        says: `${r2(margin)} mm are left between the ${at?.piece ?? "neck"} and the ${at?.region ?? "blank"}${at ? `, ${r2(at.x)} mm from the blank's headstock end and ${r2(at.y)} from its datum edge` : ""}.`,
        tryThis: better,
      }),
    );
  }
  if (blank.outline !== undefined) out.push(...bare(neck, plan));
  return out;
}

/** Corrections that are too large to be posted away. */
function checkRanges({ order }: Neck, { real }: MachineSpec): Finding[] {
  const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
  const held = inForce(order.corrections);
  const turned = turnedBy(order.corrections);
  const heights = (side: "board" | "carve"): number =>
    sum(held.filter((c) => c.kind === "height" && c.side === side).map((c) => (c.kind === "height" ? c.by : 0)));
  const tryMachine = "Put the machine right first (steps per millimetre, squareness of its bridge), undo the entry, and measure again.";
  const tryPiece = "Look for a chip under the piece, a pin that was missed or another zero; undo the entry and measure again.";
  const all: readonly (readonly [where: string, what: string, value: number, limit: number, unit: string, tryThis: string])[] = [
    ...(["x", "y", "z"] as const).map(
      (a) => ["shop corrections, axes", `the scale of ${a}`, ((real?.[a] ?? 1) - 1) * 100, RANGES.scale * 100, "%", tryMachine] as const,
    ),
    ["shop corrections, axes", "the squareness of the axes", radToDeg(real?.square ?? 0), radToDeg(RANGES.square), "deg", tryMachine],
    ...(["x", "y"] as const).map(
      (a) => ["corrections, turn", `the step in ${a} after turning`, turned[a], RANGES.turn, "mm", tryPiece] as const,
    ),
    ["corrections, turn", "the lie askew after turning", radToDeg(turned.angle), radToDeg(RANGES.askew), "deg", tryPiece],
    ...(["board", "carve"] as const).map(
      (s) => ["corrections, height", `the height of the ${s} side`, heights(s), RANGES.height, "mm", tryPiece] as const,
    ),
  ];
  return all
    .filter(([, , value, limit]) => !(Math.abs(value) <= limit + 1e-9))
    .map(([where, what, value, limit, unit, tryThis]) =>
      finding(HO.uncorrected, {
        where,
        value: r2(value),
        limit: r2(limit),
        unit,
        says: `All corrections in force together put ${what} right by ${r2(value)} ${unit}; more than ${r2(limit)} ${unit} is not posted away.`,
        tryThis,
      }),
    );
}

/** Pins and stop against the outline, blocks over it, in the blank's frame. */
function bare(neck: Neck, plan: Holding): Finding[] {
  const outline = blankOutline(neck);
  const { length, width } = plan.blank;
  const { grip } = neck.order.holding.block;
  const touched: readonly (readonly [string, number, number])[] = [
    ["fence pin 1", length * 0.12, 0],
    ["fence pin 2", length * 0.88, 0],
    ["end stop", 0, width / 2],
  ];
  const off = touched.find(([, x, y]) => Math.abs(signedDistance([outline], x, y)) > 0.01);
  const corners = [0.22, 0.78].flatMap((k) => [
    ["a block at the headstock end", grip / 2, width * k] as const,
    ["a block at the body end", length - grip / 2, width * k] as const,
  ]);
  const loose = off ?? corners.find(([, x, y]) => !insidePolygon(outline, x, y));
  if (loose === undefined) return [];
  return [
    finding(HO.bareOutline, {
      where: "blank.outline",
      value: loose[0],
      limit: null,
      unit: "",
      says: `Where ${loose[0]} stands, ${r2(loose[1])} mm from the headstock end, the blank's outline has no wood for it.`,
      tryThis: "Plane the datum edge straight along y = 0 and square the headstock end on x = 0, or glue a strip on.",
    }),
  ];
}

function crosses(p: Polygon): boolean {
  const n = p.length / 2;
  const side = (a: number, b: number, c: number): number =>
    (p[2 * b] - p[2 * a]) * (p[2 * c + 1] - p[2 * a + 1]) - (p[2 * b + 1] - p[2 * a + 1]) * (p[2 * c] - p[2 * a]);
  let area = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    area += p[2 * i] * p[2 * j + 1] - p[2 * j] * p[2 * i + 1];
    for (let k = i + 2; k < n; k++) {
      const l = (k + 1) % n;
      if (l === i) continue;
      if (side(i, j, k) > 0 !== side(i, j, l) > 0 && side(k, l, i) > 0 !== side(k, l, j) > 0) return true;
    }
  }
  return !(Math.abs(area) > 1);
}
