import type { Finding, Rule } from "../units/index.ts";
import { finding } from "../units/index.ts";
import * as R from "./rules.ts";
import type { CutterSpec, ShopSpec } from "./types.ts";

const round = (v: number): number => Math.round(v * 1000) / 1000;
type Tell = (
  rule: Rule,
  where: string,
  value: number | string | null,
  limit: number | string | null,
  unit: string,
  says: string,
  tryThis: string,
) => void;

/** What a shop contradicts in itself. Finite for every shop the schema lets through; never throws. */
export function checkShop(shop: ShopSpec): Finding[] {
  const found: Finding[] = [];
  const tidy = (v: number | string | null): number | string | null => (typeof v === "number" ? round(v) : v);
  const tell: Tell = (rule, where, value, limit, unit, says, tryThis) => {
    found.push(finding(rule, { where, value: tidy(value), limit: tidy(limit), unit, says, tryThis }));
  };
  checkMachine(shop, tell);
  const seen = new Map<number, number>();
  shop.cutters.forEach((c, i) => {
    const before = seen.get(c.number);
    if (before !== undefined) {
      tell(
        R.SHOP_NUMBERS,
        `cutters[${i}].number`,
        c.number,
        null,
        "",
        `Number ${c.number} is cutters[${before}]'s too.`,
        "Give every cutter its own number.",
      );
    } else seen.set(c.number, i);
    checkCutter(c, `cutters[${i}]`, shop, tell);
  });
  return found;
}

function checkMachine(shop: ShopSpec, tell: Tell): void {
  const m = shop.machine;
  for (const axis of ["x", "y"] as const) {
    const low = m.travel[axis] < m.bed[axis] / 2;
    if (low || m.travel[axis] > m.bed[axis] * 2) {
      tell(
        R.SHOP_BED,
        `machine.travel.${axis}`,
        m.travel[axis],
        low ? m.bed[axis] / 2 : m.bed[axis] * 2,
        "mm",
        `Travel and bed in ${axis} do not belong to one machine.`,
        "Check the unit of both.",
      );
    }
  }
  if (!(m.spindle.min < m.spindle.max))
    tell(
      R.SHOP_SPINDLE,
      "machine.spindle.min",
      m.spindle.min,
      m.spindle.max,
      "rpm",
      "The spindle's least speed is not below its highest.",
      "Check that the two are not exchanged.",
    );
  const { curve = [] } = m.spindle;
  const late = curve.findIndex((p, k) => k > 0 && p.rpm <= curve[k - 1]!.rpm);
  if (late > 0)
    tell(
      R.SHOP_CURVE,
      `machine.spindle.curve[${late}].rpm`,
      curve[late]!.rpm,
      curve[late - 1]!.rpm,
      "rpm",
      "A point of the spindle's curve does not stand after a slower one.",
      "Put the points in order of speed, each speed once.",
    );
  for (const axis of ["x", "y", "z"] as const) {
    if (m.feed[axis] > m.rapid[axis] + 1e-9) {
      tell(
        R.SHOP_RAPID,
        `machine.feed.${axis}`,
        m.feed[axis] * 60,
        m.rapid[axis] * 60,
        "mm/min",
        `The ${axis} axis would cut faster than it travels in rapids.`,
        "Lower the feed or raise the rapid speed.",
      );
    }
  }
  if (m.approach > m.clearance)
    tell(
      R.SHOP_APPROACH,
      "machine.approach",
      m.approach,
      m.clearance,
      "mm",
      "The approach height lies above the clearance.",
      "Make it smaller.",
    );
}

function checkCutter(c: CutterSpec, where: string, shop: ShopSpec, tell: Tell): void {
  const bull = c.shape === "bull";
  if (bull && !(c.cornerRadius > 0 && c.cornerRadius < c.diameter / 2)) {
    tell(
      R.CUTTER_CORNER,
      `${where}.cornerRadius`,
      c.cornerRadius,
      c.diameter / 2,
      "mm",
      `A bull-nosed cutter of ${c.diameter} mm has a corner radius between 0 and ${c.diameter / 2} mm.`,
      'Give its corner radius, or write "flat" or "ball".',
    );
  }
  if (!bull && c.shape !== "ball" && c.shape !== "taper" && c.cornerRadius > 0) {
    tell(
      R.CUTTER_CORNER,
      `${where}.cornerRadius`,
      c.cornerRadius,
      0,
      "mm",
      `A cutter of shape ${c.shape} has no corner radius.`,
      'Leave it out, or write "bull".',
    );
  }
  if (c.shape === "taper" || c.shape === "vee") {
    if (!(c.tipAngle >= Math.PI / 180 - 1e-9))
      tell(
        R.CUTTER_TIP,
        `${where}.tipAngle`,
        (c.tipAngle * 180) / Math.PI,
        1,
        "deg",
        `A ${c.shape === "vee" ? "vee" : "tapered"} cutter needs its included angle.`,
        "Give tipAngle in degrees.",
      );
    else {
      const cone = (c.diameter - c.tipDiameter) / 2 / Math.tan(c.tipAngle / 2);
      if (cone > c.fluteLength + 0.5) {
        tell(
          R.CUTTER_TIP_CONE,
          `${where}.fluteLength`,
          c.fluteLength,
          cone,
          "mm",
          `The cone from ${c.tipDiameter} to ${c.diameter} mm is ${round(cone)} mm long, longer than the flutes.`,
          "Check tip, angle, diameter and flute length.",
        );
      }
    }
    if (!(c.tipDiameter < c.diameter))
      tell(
        R.CUTTER_TIP,
        `${where}.tipDiameter`,
        c.tipDiameter,
        c.diameter,
        "mm",
        "The tip is as wide as the cutter.",
        "Give the tip's diameter, 0 for a point.",
      );
  }
  if (c.shape === "taper" && c.cornerRadius > c.tipDiameter / 2 + 1e-9) {
    tell(
      R.CUTTER_CORNER,
      `${where}.cornerRadius`,
      c.cornerRadius,
      c.tipDiameter / 2,
      "mm",
      "The ball at the tip is wider than the tip.",
      "Give half the tip's diameter, or less.",
    );
  }
  if (c.fluteLength > c.reach)
    tell(
      R.CUTTER_FLUTE,
      `${where}.fluteLength`,
      c.fluteLength,
      c.reach,
      "mm",
      "The flutes reach into the holder.",
      "Clamp the cutter with more reach.",
    );
  if (!(c.chip.min < c.chip.max))
    tell(
      R.CUTTER_CHIP,
      `${where}.chip.min`,
      c.chip.min,
      c.chip.max,
      "mm",
      "The least chip is not smaller than the largest.",
      "Check that the two are not exchanged.",
    );
  if (c.maxDepth > c.fluteLength)
    tell(
      R.CUTTER_DEPTH,
      `${where}.maxDepth`,
      c.maxDepth,
      c.fluteLength,
      "mm",
      "A pass would be deeper than the flutes are long.",
      "Make the depth per pass smaller.",
    );
  c.holder.forEach((h, k) => {
    if (h.diameter < c.shankDiameter)
      tell(
        R.CUTTER_HOLDER,
        `${where}.holder[${k}].diameter`,
        h.diameter,
        c.shankDiameter,
        "mm",
        "This part of the holder is narrower than the cutter's shank.",
        "Check the holder's diameters.",
      );
  });
  if (c.maxRpm < shop.machine.spindle.min) {
    tell(
      R.CUTTER_SPEED,
      `${where}.maxRpm`,
      c.maxRpm,
      shop.machine.spindle.min,
      "rpm",
      `The spindle's least speed of ${shop.machine.spindle.min} rpm is more than this cutter bears.`,
      "Do not use this cutter on this machine.",
    );
  }
}
