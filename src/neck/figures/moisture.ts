import { equilibriumMoisture, fretEndsProud, movement } from "../../materials/moisture.ts";
import type { Wood } from "../../materials/woods.ts";
import { climateOf } from "../../spec/setup.ts";
import type { Rings } from "../../spec/types.ts";
import { type Finding, finding, type Mm, type Rad } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { NF } from "./rules.ts";
import { between } from "./tolerances.ts";
import type { Figure, Tolerances } from "./types.ts";

/* What moves when the weather changes. */

/** Angle of the rings to a piece's width (moisture.ts, mixRings); how far it may be off either way. Not known: anything. */
const ANGLE: Readonly<Record<Rings, { readonly at: Rad; readonly off: Rad }>> = {
  flat: { at: 0, off: Math.PI / 9 },
  rift: { at: Math.PI / 4, off: Math.PI / 9 },
  quarter: { at: Math.PI / 2, off: Math.PI / 9 },
};
const UNKNOWN = { at: Math.PI / 4, off: Math.PI / 4 };

/** What a quantity of the ring angle is, and between what: the angle off either way, the shrinkage of the piece off by its spread. */
function ringBand(
  rings: Rings | undefined,
  shrinkage: number,
  f: (angle: Rad) => number,
): { readonly value: number; readonly ends: number[] } {
  const { at, off } = rings ? ANGLE[rings] : UNKNOWN;
  const clamp = (a: Rad): Rad => Math.min(Math.PI / 2, Math.max(0, a));
  const ends = [clamp(at - off), clamp(at + off)].flatMap((a) => [f(a) * (1 - shrinkage), f(a) * (1 + shrinkage)]);
  return { value: f(at), ends };
}

export function moisture(
  neck: Neck,
  woods: { readonly shaft: Wood; readonly board: Wood },
  tol: Tolerances,
  out: Figure[],
  findings: Finding[],
): void {
  const { order } = neck;
  const cut = order.blank.moisture;
  const { shop, home } = climateOf(order);
  const held = (h: number): number => Math.min(98, Math.max(2, h));
  const [dryAir, dampAir] = [held(home.humidity - home.swing), held(home.humidity + home.swing)];
  const inShop = equilibriumMoisture(shop.temperature, shop.humidity);
  const middle = equilibriumMoisture(home.temperature, home.humidity);
  const dry = equilibriumMoisture(home.temperature, dryAir);
  const damp = equilibriumMoisture(home.temperature, dampAir);
  const equation = `Wood Handbook equation ${middle.equation}`;
  out.push(
    between(
      {
        id: "home-moisture",
        what: `moisture content at home (${home.temperature} C, ${home.humidity} %)`,
        unit: "%",
        source: `${equation}; band: ${dryAir} to ${dampAir} % relative humidity`,
      },
      middle.moisture,
      [dry.moisture, damp.moisture],
    ),
    between(
      {
        id: "shop-moisture",
        what: `moisture content in the shop (${shop.temperature} C, ${shop.humidity} %)`,
        unit: "%",
        source: `${equation}; band: 5 % relative humidity either way`,
      },
      inShop.moisture,
      [
        equilibriumMoisture(shop.temperature, held(shop.humidity - 5)).moisture,
        equilibriumMoisture(shop.temperature, held(shop.humidity + 5)).moisture,
      ],
    ),
    between(
      {
        id: "cut-at",
        what: `moisture content to cut at (ordered: ${cut} %)`,
        unit: "%",
        source: `${equation}: what the home brings the wood to through the year`,
        short: true,
      },
      middle.moisture,
      [dry.moisture, damp.moisture],
    ),
  );
  if (Math.abs(cut - middle.moisture) > 3)
    findings.push(
      finding(NF.cutAt, {
        where: "blank.moisture",
        value: cut,
        limit: Math.round(middle.moisture * 10) / 10,
        unit: "%",
        says: `The home brings wood to ${middle.moisture.toFixed(1)} %; the blank is cut at ${cut} %.`,
        tryThis: `Keep the blank at about ${middle.moisture.toFixed(1)} % before cutting; the shop's air brings it to ${inShop.moisture.toFixed(1)} %.`,
      }),
    );
  const frets = order.frets.count;
  const edges = neck.boardEdges(frets > 0 ? neck.fretAt(frets) : neck.places.boardEnd);
  const width = edges[1] - edges[0];
  const rings = order.wood.rings;
  const source = (wood: Wood, known: Rings | undefined): string =>
    `Wood Handbook equation ${movement(wood.coefficients, 1, 0, cut, dry.moisture).equation}, coefficients ${wood.coefficients.estimated ? "estimated from the shrinkage" : "of table 13-5"}; rings ${known ?? "not known"}; band: ring angle, shrinkage ${Math.round(tol.shrinkage * 100)} %`;
  if (frets > 0 && order.frets.kind !== "none") {
    const proud = ringBand(rings?.board, tol.shrinkage, (a) => fretEndsProud(woods.board.coefficients, width, a, cut, dry.moisture));
    out.push(
      between(
        {
          id: "fret-ends",
          what: `fret ends proud on each side at the driest (${dryAir} %)`,
          unit: "mm",
          source: source(woods.board, rings?.board),
          short: true,
        },
        proud.value,
        proud.ends,
      ),
    );
    const worst = Math.max(...proud.ends) / (1 + tol.shrinkage);
    if (worst > 0.2)
      findings.push(
        finding(NF.proud, {
          where: "blank.moisture",
          value: Math.round(worst * 100) / 100,
          limit: 0.2,
          unit: "mm",
          says: `Cut at ${cut} % moisture, the board shrinks until the fret ends stand ${worst.toFixed(2)} mm proud at the driest the home gets.`,
          tryThis: `Cut at about ${middle.moisture.toFixed(1)} %, or use a quarter-sawn board.`,
        }),
      );
  }
  const change = (id: string, what: string, wood: Wood, known: Rings | undefined, size: Mm, across: boolean): void => {
    // the thickness lies a right angle from the width
    const by =
      (to: number) =>
      (a: Rad): number =>
        movement(wood.coefficients, size, across ? a : Math.PI / 2 - a, cut, to).change;
    for (const [when, to] of [
      ["driest", dry.moisture],
      ["dampest", damp.moisture],
    ] as const) {
      const b = ringBand(known, tol.shrinkage, by(to));
      out.push(between({ id: `${id}-${when}`, what: `${what} at the ${when}`, unit: "mm", source: source(wood, known) }, b.value, b.ends));
    }
  };
  const thick = neck.section(Math.min(neck.fretAt(5), neck.places.heelFront)).depth;
  change("shaft-width", "change of the shaft's width", woods.shaft, rings?.shaft, width, true);
  change("shaft-thickness", "change of the shaft's thickness at fret 5", woods.shaft, rings?.shaft, thick, false);
  change("board-width", "change of the board's width", woods.board, rings?.board, width, true);
  change("board-thickness", "change of the board's thickness", woods.board, rings?.board, order.board.thickness, false);
}
