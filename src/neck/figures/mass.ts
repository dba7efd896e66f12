import { compositeSection } from "../../materials/beam.ts";
import { massOfVolume } from "../../materials/mass.ts";
import { WOODS, type Wood, woodByName } from "../../materials/woods.ts";
import type { Mm, Mm2 } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { boardFigure, girth, partsAt, shaftByWood } from "./section.ts";
import { plusMinus, together, within } from "./tolerances.ts";
import type { AlongNeck, Figure, Tolerances, WoodChoice } from "./types.ts";

/* Mass, balance, and what the hand feels. */

interface Volume {
  readonly mm3: number;
  /** First moment along x, mm4. */
  readonly moment: number;
  /** Outer surface over which sanding takes or leaves wood, mm2. */
  readonly skin: Mm2;
}

/** Integrals of a section area along x by Simpson's rule between the places where the neck changes its kind. */
function along(from: Mm, to: Mm, breaks: readonly Mm[], f: (x: Mm) => number): { readonly sum: number; readonly moment: number } {
  const cuts = [from, ...breaks.filter((x) => x > from + 1e-6 && x < to - 1e-6).sort((a, b) => a - b), to];
  let sum = 0;
  let moment = 0;
  for (let k = 1; k < cuts.length; k++) {
    const [a, b] = [cuts[k - 1] + 1e-7, cuts[k] - 1e-7];
    if (!(b > a)) continue;
    const n = 2 * Math.max(1, Math.ceil((b - a) / 16));
    const h = (b - a) / n;
    for (let i = 0; i <= n; i++) {
      const x = a + i * h;
      const w = ((i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * h) / 3;
      const v = f(x);
      sum += w * v;
      moment += w * v * x;
    }
  }
  return { sum, moment };
}

/** Shaft wood by wood, and the board: bores, channels without their filler, and openings taken out of the shaft. */
function volumes(neck: Neck): { readonly shaft: ReadonlyMap<string, Volume>; readonly board: Volume } {
  const p = neck.places;
  const breaks = [p.boardFront, p.rampFoot, p.rampTop, p.headBack, p.carveStart, p.carveEnd, p.heelFront, 0, p.shaftEnd, p.boardEnd];
  // the headstock's outline bends where it likes: a finer grid there
  for (let x = p.tip; x < Math.min(0, p.headBack); x += 8) breaks.push(x);
  const names = new Set(shaftByWood(neck, 0).map((s) => s.wood));
  for (const x of [p.tip * 0.5, p.heelFront * 0.5]) for (const s of shaftByWood(neck, x)) names.add(s.wood);
  const shaft = new Map<string, Volume>();
  const width = (x: Mm): number => {
    const [lo, hi] = neck.edges(x);
    return hi - lo;
  };
  const skin = along(p.tip, p.shaftEnd, breaks, width).sum;
  for (const name of names) {
    const { sum, moment } = along(p.tip, p.shaftEnd, breaks, (x) =>
      shaftByWood(neck, x).reduce((a, s) => (s.wood === name ? a + s.figure.area : a), 0),
    );
    const f = [...names].length === 1 ? holesOf(neck) : { mm3: 0, moment: 0 };
    shaft.set(name, { mm3: sum - f.mm3, moment: moment - f.moment, skin: skin / names.size });
  }
  if (names.size > 1) {
    // holes by the share of each wood, as they lie along the middle
    const holes = holesOf(neck);
    const total = [...shaft.values()].reduce((a, v) => a + v.mm3, 0);
    for (const [name, v] of shaft)
      shaft.set(name, { ...v, mm3: v.mm3 - (holes.mm3 * v.mm3) / total, moment: v.moment - (holes.moment * v.mm3) / total });
  }
  const b = along(p.boardFront, p.boardEnd, breaks, (x) => boardFigure(neck, x)?.area ?? 0);
  return { shaft, board: { mm3: b.sum, moment: b.moment, skin: (p.boardEnd - p.boardFront) * width(Math.max(1, p.heelFront * 0.5)) } };
}

function holesOf(neck: Neck): { readonly mm3: number; readonly moment: number } {
  let mm3 = 0;
  let moment = 0;
  const take = (v: number, x: Mm): void => {
    mm3 += v;
    moment += v * x;
  };
  for (const t of neck.features.tuners)
    for (const s of t.steps) take((Math.PI / 4) * s.diameter ** 2 * Math.max(0, s.zTop - s.zBottom), t.x);
  for (const s of neck.features.screws) take((Math.PI / 4) * s.diameter ** 2 * (s.zTo - s.zFrom), s.x);
  for (const c of neck.features.rod) take(c.width * c.rodHeight * (c.xMax - c.xMin), (c.xMin + c.xMax) / 2);
  for (const s of neck.features.headSlots) take((s.xMax - s.xMin) * s.width * neck.order.headstock.thickness, (s.xMin + s.xMax) / 2);
  return { mm3, moment };
}

interface Body {
  readonly grams: number;
  readonly x: Mm;
}

function together2(parts: readonly (readonly [Volume, number])[]): Body {
  let grams = 0;
  let moment = 0;
  for (const [v, density] of parts) {
    grams += massOfVolume(v.mm3, density);
    moment += massOfVolume(v.moment, density);
  }
  return { grams, x: grams === 0 ? 0 : moment / grams };
}

export function mass(neck: Neck, woods: { readonly shaft: Wood; readonly board: Wood }, tol: Tolerances, out: Figure[]): WoodChoice[] {
  const { shaft, board } = volumes(neck);
  const density = (name: string): number => (woodByName(name) ?? woods.shaft).density;
  const shaftParts = [...shaft].map(([name, v]) => [v, density(name)] as const);
  const boardPart = [board, woods.board.density] as const;
  const whole = together2([...shaftParts, boardPart]);
  const skin =
    shaftParts.reduce((a, [v, d]) => a + massOfVolume(v.skin * tol.thickness, d), 0) +
    massOfVolume(board.skin * tol.dimension, woods.board.density);
  const spread = together(tol.gravity, skin / Math.max(1e-9, whole.grams));
  out.push(
    within(
      {
        id: "mass",
        what: "mass of the bare neck (wood, board included)",
        unit: "g",
        source: `exact sections times density at 12 %; bores and the room of rod and bars taken out; spread: gravity ${Math.round(tol.gravity * 100)} % (Wood Handbook table 5-6), sanding`,
        short: true,
      },
      whole.grams,
      spread,
    ),
  );
  // the balance moves when shaft and board are not heavier by the same share
  const lighter = (s: number, b: number): number =>
    together2([...shaftParts.map(([v, d]) => [v, d * (1 + s)] as const), [board, woods.board.density * (1 + b)]]).x;
  const shift = together(
    Math.max(Math.abs(lighter(tol.gravity, 0) - whole.x), Math.abs(lighter(-tol.gravity, 0) - whole.x)),
    Math.max(Math.abs(lighter(0, tol.gravity) - whole.x), Math.abs(lighter(0, -tol.gravity) - whole.x)),
    tol.dimension,
  );
  out.push(
    plusMinus(
      {
        id: "balance",
        what: "balance point from the nut, toward the body",
        unit: "mm",
        source: "centre of mass of shaft and board; band: gravity of each, lengths",
        short: true,
      },
      whole.x,
      shift,
    ),
  );
  const five = Math.min(neck.fretAt(5), neck.places.heelFront);
  const laminated = (neck.order.wood.strips?.length ?? 0) > 0;
  const ei = (s: Wood, b: Wood): number => compositeSection(partsAt(neck, five, s.moe, b.moe)).bending;
  const now = ei(woods.shaft, woods.board);
  // the section once with each modulus at 1 and 0 would not do: the neutral axis moves with them
  const choices: WoodChoice[] = [];
  const allShaft = [...shaft.values()];
  for (const wood of WOODS) {
    if (!laminated) {
      const c = together2([...allShaft.map((v) => [v, wood.density] as const), boardPart]);
      choices.push({
        part: "shaft",
        wood: wood.name,
        ordered: wood === woods.shaft,
        grams: c.grams,
        balance: c.x,
        stiffness: ei(wood, woods.board) / now,
      });
    }
    const b = together2([...shaftParts, [board, wood.density]]);
    choices.push({
      part: "board",
      wood: wood.name,
      ordered: wood === woods.board,
      grams: b.grams,
      balance: b.x,
      stiffness: ei(woods.shaft, wood) / now,
    });
  }
  return choices;
}

/** Girth and section at the stations a hand knows, and both along the neck. */
export function feel(neck: Neck, tol: Tolerances, out: Figure[]): AlongNeck[] {
  const area = (x: Mm): number => shaftByWood(neck, x).reduce((a, s) => a + s.figure.area, 0) + (boardFigure(neck, x)?.area ?? 0);
  // sanding `t` off a surface all around takes 2 pi t of girth at the most (a convex section), and girth times t of area
  const off = 2 * Math.PI * tol.thickness * 0.5 + 2 * tol.dimension * 0.5;
  for (const [name, x] of [
    ["nut", 1],
    ["fret 1", neck.fretAt(1)],
    ["fret 5", neck.fretAt(5)],
    ["fret 7", neck.fretAt(7)],
    ["fret 9", neck.fretAt(9)],
    ["fret 12", neck.fretAt(12)],
  ] as const) {
    if (x > neck.places.heelFront) continue;
    const g = girth(neck, x);
    const id = name.replace(" ", "-");
    out.push(
      plusMinus(
        {
          id: `girth-${id}`,
          what: `around the neck at the ${name}`,
          unit: "mm",
          source: "exact geometry; band: half the tolerance of thickness all around",
          ...(name === "fret 1" || name === "fret 12" ? { short: true as const } : {}),
        },
        g,
        off,
      ),
      plusMinus(
        { id: `area-${id}`, what: `section at the ${name}`, unit: "mm2", source: "exact geometry; band as above" },
        area(x),
        g * tol.thickness * 0.5 + tol.dimension,
      ),
    );
  }
  const to = neck.places.heelFront;
  if (!(to > 50)) return [];
  const xs = Array.from({ length: 33 }, (_, i) => 1 + ((to - 2) * i) / 32);
  const g = xs.map((x) => girth(neck, x, 120));
  const a = xs.map(area);
  const line = (id: "girth" | "area", what: string, unit: string, v: number[], by: (i: number) => number): AlongNeck => ({
    id,
    what,
    unit,
    xs,
    value: v,
    low: v.map((q, i) => q - by(i)),
    high: v.map((q, i) => q + by(i)),
  });
  return [line("girth", "around the neck", "mm", g, () => off), line("area", "section", "mm²", a, (i) => (g[i] * tol.thickness) / 2)];
}
