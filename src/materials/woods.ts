import { basicSpecificGravity, densityAt, FIBRE_SATURATION } from "./density.ts";
import type { MovementCoefficients, Shrinkage, Wood, WoodRow } from "./types.ts";
import { ROWS } from "./wood-rows.ts";

export type { ElasticRatios, MovementCoefficients, Shrinkage, Wood, WoodRow } from "./types.ts";

/*
 * Woods for necks and boards. Numbers are means of small clear specimens at 12 % moisture content, not safe working values;
 * single pieces scatter by the coefficients in VARIATION. Rows stand in wood-rows.ts; here they are completed and found.
 */

/** Coefficients of variation (fractions) of clear specimens: Wood Handbook FPL-GTR-282 (2021), Table 5-6. */
export const VARIATION: {
  readonly mor: number;
  readonly moe: number;
  readonly shear: number;
  readonly hardness: number;
  readonly gravity: number;
  readonly source: string;
} = { mor: 0.16, moe: 0.22, shear: 0.14, hardness: 0.2, gravity: 0.1, source: "Wood Handbook FPL-GTR-282 (2021), Table 5-6" };

/** Shrinkage (%) green to oven-dry, whatever basis the source used. Eq 4-9 turned round for values measured down to 12 %. */
export function ovenDryShrinkage(s: Pick<Shrinkage, "radial" | "tangential" | "basis">): {
  readonly radial: number;
  readonly tangential: number;
} {
  const k = s.basis === "green to 12 %" ? 1 / (1 - 12 / FIBRE_SATURATION) : 1;
  return { radial: s.radial * k, tangential: s.tangential * k };
}

/**
 * Fractional change per percent of moisture content, referred to the size at 10 %, from the shrinkage s0 (%) green to oven-dry:
 * C = 1 / (3000/S0 - 20). Follows from Sx = S0 (1 - x/30) (Eq 4-9); gives Table 13-5 to the fifth decimal for most domestic woods.
 */
export function coefficientFromShrinkage(s0: number): number {
  return 1 / (3000 / s0 - 20);
}

function complete(row: WoodRow): Wood {
  const basicGravity = row.gravityBasis === "green volume" ? row.specificGravity : basicSpecificGravity(row.specificGravity, 12);
  return { ...row, basicGravity, density: densityAt(basicGravity, 12), coefficients: row.coefficients ?? estimate(row) };
}

function estimate(row: WoodRow): MovementCoefficients {
  if (row.shrinkage === null) throw new Error(`${row.name}: neither coefficients nor shrinkage in the table`);
  const s0 = ovenDryShrinkage(row.shrinkage);
  return {
    radial: coefficientFromShrinkage(s0.radial),
    tangential: coefficientFromShrinkage(s0.tangential),
    estimated: true,
    source: `estimated by C = 1/(3000/S0 - 20) from: ${row.shrinkage.source}`,
  };
}

export const WOODS: readonly Wood[] = ROWS.map(complete);

const plain = (name: string): string =>
  name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, " ")
    .trim();

const BY_NAME: ReadonlyMap<string, Wood> = new Map(
  WOODS.flatMap((wood) => [wood.name, wood.botanical, ...wood.aliases].map((name): [string, Wood] => [plain(name), wood])),
);

/** The wood of that name or alias; case, hyphens and spaces do not matter. undefined: unknown, see nearestWoodName. */
export function woodByName(name: string): Wood | undefined {
  return BY_NAME.get(plain(name));
}

/** The known name (or alias) with the fewest letters to change, to offer when a name is unknown. */
export function nearestWoodName(name: string): string {
  const wanted = plain(name).slice(0, 60);
  let best = "";
  let least = Number.POSITIVE_INFINITY;
  for (const known of BY_NAME.keys()) {
    const d = editDistance(wanted, known);
    if (d < least) {
      least = d;
      best = known;
    }
  }
  return best;
}

/** Levenshtein distance: insertions, deletions and replacements of one letter. */
function editDistance(a: string, b: string): number {
  let above = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) row[j] = Math.min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
    above = row;
  }
  return above[b.length];
}
