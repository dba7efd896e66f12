import { compositeSection, compositeStress } from "../../materials/beam.ts";
import { hankinson } from "../../materials/strength.ts";
import type { Wood } from "../../materials/woods.ts";
import { setupOf } from "../../spec/setup.ts";
import { type Finding, finding, type MegaPascal, type Mm, type Newton, type Rad, radToDeg } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { NF } from "./rules.ts";
import { type PlaneFigure, partsAt, planeFigure, shaftFigure } from "./section.ts";
import { between, plusMinus, together, within } from "./tolerances.ts";
import type { Figure, HeadWay, Tolerances } from "./types.ts";

/*
 * Will it break: bending stress at the weakest section behind the nut and toward the body, beside what the wood bears along its grain
 * (Hankinson). The strings pull along their own line; their moment at a section is pull times the distance from that line to the section's
 * middle.
 */

/** Hankinson's exponent and the share of strength across the grain (middle of the handbook's ranges, from memory, not looked up). */
const EXPONENT = 1.75;
const ACROSS = 1 / 20;
/** What a lasting load may use of the strength of an average piece. */
const MAY_USE = 1 / 5;
/** Strips taken for "laminated" where the order has none. */
const USUAL_STRIPS = 5;

const bears = (wood: Wood, grain: Rad): MegaPascal => hankinson(wood.mor, wood.mor * ACROSS, grain, EXPONENT);

interface Weakest {
  readonly x: Mm;
  /** MPa per newton of pull. */
  readonly perNewton: number;
  /** How the stress grows when the section is thinner by the tolerance, as a fraction. */
  readonly thinner: number;
}

/** Of a plain section: stress per newton on its side away from the strings. */
function bendingPerNewton(f: PlaneFigure, bottom: Mm, line: Mm): number {
  return (Math.max(1, line - f.centroid) * Math.abs(bottom - f.centroid)) / f.inertia;
}

/** The section behind the nut that the strings bend hardest, up to the first tuner. */
function headRoot(neck: Neck, tol: Tolerances): Weakest {
  const { order, places } = neck;
  const top = order.board.thickness + setupOf(order).nut + 1;
  const first = neck.features.tuners.reduce((a, t) => Math.max(a, t.x), Number.NEGATIVE_INFINITY);
  const post = Number.isFinite(first) ? first : 0.5 * places.tip;
  // strings wind on about 6 mm over the face (common practice, no source)
  const [lo, hi] = neck.edges(post);
  const high = neck.top(post, (lo + hi) / 2) + 6;
  const start = Math.min(places.rampFoot, places.boardFront) - 0.5;
  let worst: Weakest = { x: start, perNewton: 0, thinner: 0 };
  for (let k = 0; k <= 16; k++) {
    const x = start + ((post - start) * k) / 16;
    const line = top + ((high - top) * x) / post;
    const slant = Math.cos(Math.atan((high - top) / post));
    const stress = (thicker: Mm): number => {
      const f = shaftFigure(neck, x, thicker);
      const [a, b] = neck.edges(x);
      return slant * bendingPerNewton(f, neck.back(x, a <= 0 && b >= 0 ? 0 : (a + b) / 2) - thicker, line);
    };
    const now = stress(0);
    if (now > worst.perNewton) worst = { x, perNewton: now, thinner: tol.thickness > 0 ? stress(-tol.thickness) / now - 1 : 0 };
  }
  return worst;
}

/** The section toward the body that the strings bend hardest: the carve's end, the flat heel with its bores, a tenon. */
function heelRoot(neck: Neck, woods: { readonly shaft: Wood; readonly board: Wood }, tol: Tolerances): Weakest | null {
  const { order, places } = neck;
  const { nut, twelfth } = setupOf(order);
  const lineAt = (x: Mm): Mm => order.board.thickness + 1.2 + nut + ((twelfth - nut) * x) / (order.scale / 2);
  const to =
    order.heel.kind === "set" && neck.features.tenon
      ? neck.features.tenon.xMin
      : places.heelFront + Math.max(0, places.shaftEnd - places.heelFront) / 2;
  const xs = Array.from({ length: 13 }, (_, i) => places.carveEnd + ((to - places.carveEnd) * i) / 12);
  for (const s of neck.features.screws) xs.push(s.x);
  let worst: Weakest | null = null;
  const offer = (x: Mm, stress: (thicker: Mm) => number): void => {
    const now = stress(0);
    if (worst === null || now > worst.perNewton)
      worst = { x, perNewton: now, thinner: tol.thickness > 0 ? stress(-tol.thickness) / now - 1 : 0 };
  };
  for (const x of xs) {
    if (!(x > 0 && x < places.shaftEnd - 0.5)) continue;
    offer(x, (thicker) => {
      const parts = partsAt(neck, x, woods.shaft.moe, woods.board.moe, thicker);
      for (const s of neck.features.screws)
        if (Math.abs(s.x - x) < s.diameter / 2) {
          const half = Math.sqrt((s.diameter / 2) ** 2 - (s.x - x) ** 2);
          const h = s.zTo - s.zFrom;
          parts.push({ modulus: -woods.shaft.moe, area: 2 * half * h, centroid: (s.zFrom + s.zTo) / 2, inertia: (2 * half * h ** 3) / 12 });
        }
      const c = compositeSection(parts);
      const bottom = neck.back(x, 0) - thicker;
      return Math.abs(compositeStress(c, woods.shaft.moe, bottom, lineAt(x) - c.neutral));
    });
  }
  const { tenon } = neck.features;
  if (tenon)
    offer(tenon.xMin, (thicker) => {
      const depth = tenon.depth + thicker;
      const f = planeFigure(
        () => -depth,
        () => 0,
        -tenon.width / 2,
        tenon.width / 2,
      );
      return bendingPerNewton(f, -depth, lineAt(tenon.xMin));
    });
  return worst;
}

export function strength(
  neck: Neck,
  woods: { readonly shaft: Wood; readonly board: Wood },
  pull: { readonly value: Newton; readonly spread: number },
  tol: Tolerances,
  out: Figure[],
  findings: Finding[],
): HeadWay[] {
  const { order } = neck;
  const kind = order.headstock.kind ?? "flat";
  const own = order.wood.grain ?? 0;
  const tilt = kind === "flat" ? 0 : (order.headstock.angle ?? 0);
  const strips = order.wood.strips?.length ?? 0;
  const root = headRoot(neck, tol);
  const stress = pull.value * root.perNewton;
  const spread = together(pull.spread, root.thinner);
  const grain = own + (kind === "angled" ? tilt : 0);
  const source =
    "pull times its distance over the exact section's modulus; strength at the grain's angle by Hankinson's formula, exponent 1.75, a twentieth across the grain (from memory)";
  out.push(
    within(
      { id: "head-stress", what: `bending stress behind the nut, ${(-root.x).toFixed(0)} mm from it`, unit: "MPa", source },
      stress,
      spread,
    ),
  );
  const heads = (
    [
      ["one piece", own + tilt, 1],
      ["scarfed", own, 1],
      ["laminated", own + tilt, Math.max(2, strips || USUAL_STRIPS)],
    ] as const
  ).map(([way, angle, pieces]): HeadWay => {
    const strong = bears(woods.shaft, angle);
    const use = (100 * stress) / strong;
    // strips scatter each on its own: the mean of n scatters by one over the root of n
    return {
      way,
      ordered: way === (kind === "scarfed" ? "scarfed" : strips > 0 ? "laminated" : "one piece"),
      grain: angle,
      stress,
      strength: strong,
      use,
      useWeak: use / (1 - Math.min(0.95, (2 * tol.mor) / Math.sqrt(pieces))),
    };
  });
  for (const h of heads) {
    const turned = [Math.max(0, h.grain - tol.grain), h.grain + tol.grain].map((g) => (100 * stress) / bears(woods.shaft, g));
    const grainSpread = Math.max(...turned.map((u) => Math.abs(u / h.use - 1)));
    const weak = h.useWeak / h.use - 1;
    const by = h.use * together(spread, grainSpread, weak);
    out.push(
      between(
        {
          id: `head-use-${h.way.replace(" ", "-")}`,
          what: `strength used behind the nut, ${h.way}${h.ordered ? " (as ordered)" : ""}`,
          unit: "%",
          source: `${source}; band: a weak piece, the grain ${radToDeg(tol.grain).toFixed(0)} degrees off, thickness, pull${h.way === "scarfed" ? "; the glue line taken as strong as the wood (common practice, no source)" : ""}`,
          ...(h.ordered ? { short: true as const } : {}),
        },
        h.use,
        [Math.max(0, h.use - by), h.use + by],
      ),
    );
  }
  const ordered = bears(woods.shaft, grain);
  if (stress > ordered * MAY_USE)
    findings.push(
      finding(NF.headRoot, {
        where: "headstock",
        value: Math.round(stress * 10) / 10,
        limit: Math.round(ordered * MAY_USE * 10) / 10,
        unit: "MPa",
        says: `Behind the nut the strings bend the wood by ${stress.toFixed(1)} MPa; at its grain angle it bears ${ordered.toFixed(0)} MPa.`,
        tryThis: "Thicken the headstock's root (a volute), scarf the headstock, or turn the grain.",
      }),
    );
  out.push(
    plusMinus(
      {
        id: "short-grain",
        what: "grain to the face behind the nut",
        unit: "deg",
        source: `the order's grain angle${kind === "angled" ? " and the headstock's tilt" : kind === "scarfed" ? "; the scarfed piece's grain follows its face" : ""}`,
      },
      radToDeg(grain),
      radToDeg(tol.grain),
    ),
  );
  const limit = kind === "angled" ? 15 : 6;
  if (radToDeg(grain) > limit)
    findings.push(
      finding(NF.shortGrain, {
        where: "wood.grain",
        value: Math.round(radToDeg(grain) * 10) / 10,
        limit,
        unit: "deg",
        says: `The grain runs out of the wood behind the nut at ${radToDeg(grain).toFixed(1)} degrees: short grain, ${Math.round((100 * ordered) / woods.shaft.mor)} % of the strength along it.`,
        tryThis: "Scarf the headstock, lessen its angle, or choose straighter wood.",
      }),
    );
  if ((order.wood.boardGrain ?? 0) > (6 * Math.PI) / 180)
    findings.push(
      finding(NF.boardGrain, {
        where: "wood.boardGrain",
        value: Math.round(radToDeg(order.wood.boardGrain ?? 0) * 10) / 10,
        limit: 6,
        unit: "deg",
        says: "The grain runs out of the board's face: it chips at slots and edges and swells in its length.",
        tryThis: "Choose a board with straighter grain.",
      }),
    );
  const heel = heelRoot(neck, woods, tol);
  if (heel !== null) {
    const bent = pull.value * heel.perNewton;
    const strong = bears(woods.shaft, own);
    const used = (100 * bent) / strong;
    const weak = 1 / (1 - Math.min(0.95, 2 * tol.mor)) - 1;
    const off = Math.abs(strong / bears(woods.shaft, own + tol.grain) - 1);
    const by = used * together(pull.spread, heel.thinner, weak, off);
    out.push(
      within(
        { id: "heel-stress", what: `bending stress toward the body, ${heel.x.toFixed(0)} mm from the nut`, unit: "MPa", source },
        bent,
        together(pull.spread, heel.thinner),
      ),
      between({ id: "heel-use", what: "strength used toward the body", unit: "%", source }, used, [Math.max(0, used - by), used + by]),
    );
    if (bent > strong * MAY_USE)
      findings.push(
        finding(NF.heel, {
          where: "heel",
          value: Math.round(bent * 10) / 10,
          limit: Math.round(strong * MAY_USE * 10) / 10,
          unit: "MPa",
          says: `${heel.x.toFixed(0)} mm from the nut the strings bend the wood by ${bent.toFixed(1)} MPa; along its grain it bears ${strong.toFixed(0)} MPa.`,
          tryThis: "Thicken carve or heel, widen the tenon, use fewer or thinner screws.",
        }),
      );
  }
  const under = underRod(neck);
  if (under !== null)
    out.push(
      plusMinus(
        {
          id: "wood-under-rod",
          what: "least wood between rod and back",
          unit: "mm",
          source: "exact geometry; band: thickness and depth of the channel",
        },
        under,
        together(tol.thickness, tol.dimension),
      ),
    );
  return heads;
}

function underRod(neck: Neck): Mm | null {
  let least: Mm | null = null;
  for (const c of neck.features.rod)
    for (let k = 0; k <= 40; k++) {
      const under = neck.woodUnderRod(c.xMin + ((c.xMax - c.xMin) * k) / 40);
      if (under !== null && (least === null || under < least)) least = under;
    }
  return least;
}
