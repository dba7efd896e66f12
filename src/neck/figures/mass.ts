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

/** Places and weights of Simpson's rule along x, piecewise between the places where the neck changes its kind. */
function simpson(from: Mm, to: Mm, breaks: readonly Mm[], step: Mm, use: (x: Mm, weight: number) => void): void {
  const cuts = [from, ...breaks.filter((x) => x > from + 1e-6 && x < to - 1e-6).sort((a, b) => a - b), to];
  for (let k = 1; k < cuts.length; k++) {
    const [a, b] = [cuts[k - 1] + 1e-7, cuts[k] - 1e-7];
    if (!(b > a)) continue;
    const n = 2 * Math.max(1, Math.ceil((b - a) / step));
    const h = (b - a) / n;
    for (let i = 0; i <= n; i++) use(a + i * h, ((i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * h) / 3);
  }
}

/** Shaft wood by wood, and the board: bores, channels without their filler, and openings taken out of the shaft. */
function volumes(neck: Neck): { readonly shaft: ReadonlyMap<string, Volume>; readonly board: Volume } {
  const p = neck.places;
  const breaks = [p.boardFront, p.rampFoot, p.rampTop, p.headBack, p.carveStart, p.carveEnd, p.heelFront, 0, p.shaftEnd, p.boardEnd];
  // steps by the neck's own size; the headstock's outline bends where it likes: a finer grid there
  const step = neck.order.scale / 27;
  const fine = Math.max(1, Math.ceil((Math.min(0, p.headBack) - p.tip) / (neck.order.scale / 80)));
  for (let i = 1; i < fine; i++) breaks.push(p.tip + ((Math.min(0, p.headBack) - p.tip) * i) / fine);
  const sums = new Map<string, { mm3: number; moment: number; skin: number }>();
  simpson(p.tip, p.shaftEnd, breaks, step, (x, w) => {
    const parts = shaftByWood(neck, x);
    const [lo, hi] = neck.edges(x);
    for (const { wood, figure } of parts) {
      const v = sums.get(wood) ?? { mm3: 0, moment: 0, skin: 0 };
      v.mm3 += w * figure.area;
      v.moment += w * figure.area * x;
      v.skin += (w * (hi - lo)) / parts.length;
      sums.set(wood, v);
    }
  });
  // holes by the share of each wood, as if it were mixed
  const holes = holesOf(neck);
  const total = [...sums.values()].reduce((a, v) => a + v.mm3, 0);
  for (const v of sums.values()) {
    const share = v.mm3 / total;
    v.mm3 -= holes.mm3 * share;
    v.moment -= holes.moment * share;
  }
  const board = { mm3: 0, moment: 0, skin: 0 };
  simpson(p.boardFront, p.boardEnd, breaks, step, (x, w) => {
    const area = boardFigure(neck, x)?.area ?? 0;
    const [lo, hi] = neck.boardEdges(x);
    board.mm3 += w * area;
    board.moment += w * area * x;
    board.skin += w * (hi - lo);
  });
  return { shaft: sums, board };
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
  const laminated = (neck.order.wood.strips?.length ?? 0) > 0;
  const ei = stiffnessBy(neck);
  const now = ei(woods.shaft.moe, woods.board.moe);
  const allShaft = [...shaft.values()];
  return WOODS.flatMap((wood): WoodChoice[] => {
    const asShaft = together2([...allShaft.map((v) => [v, wood.density] as const), boardPart]);
    const asBoard = together2([...shaftParts, [board, wood.density]]);
    const onBoard: WoodChoice = {
      part: "board",
      wood: wood.name,
      ordered: wood === woods.board,
      grams: asBoard.grams,
      balance: asBoard.x,
      stiffness: ei(woods.shaft.moe, wood.moe) / now,
    };
    if (laminated) return [onBoard];
    const inShaft: WoodChoice = {
      part: "shaft",
      wood: wood.name,
      ordered: wood === woods.shaft,
      grams: asShaft.grams,
      balance: asShaft.x,
      stiffness: ei(wood.moe, woods.board.moe) / now,
    };
    return [inShaft, onBoard];
  });
}

/** Bending stiffness at fret 5 by the moduli of shaft and board: the section is measured once, its parts' moduli are linear in both. */
function stiffnessBy(neck: Neck): (shaft: number, board: number) => number {
  const five = Math.min(neck.fretAt(5), neck.places.heelFront);
  const base = partsAt(neck, five, 1, 0);
  const byShaft = partsAt(neck, five, 2, 0).map((p, i) => p.modulus - base[i].modulus);
  const byBoard = partsAt(neck, five, 1, 1).map((p, i) => p.modulus - base[i].modulus);
  return (shaft, board) =>
    compositeSection(base.map((p, i) => ({ ...p, modulus: p.modulus + byShaft[i] * (shaft - 1) + byBoard[i] * board }))).bending;
}

/** Girth and section at the stations a hand knows, and both along the neck. */
export function feel(neck: Neck, tol: Tolerances, out: Figure[]): AlongNeck[] {
  const area = (x: Mm): number => shaftByWood(neck, x).reduce((a, s) => a + s.figure.area, 0) + (boardFigure(neck, x)?.area ?? 0);
  // sanding `t` off a surface all around takes 2 pi t of girth at the most (a convex section), and girth times t of area
  const off = 2 * Math.PI * tol.thickness * 0.5 + 2 * tol.dimension * 0.5;
  for (const [name, x] of [
    ["the nut", 1],
    ["fret 1", neck.fretAt(1)],
    ["fret 5", neck.fretAt(5)],
    ["fret 7", neck.fretAt(7)],
    ["fret 9", neck.fretAt(9)],
    ["fret 12", neck.fretAt(12)],
  ] as const) {
    if (x > neck.places.heelFront) continue;
    const g = girth(neck, x);
    const id = name.replace("the ", "").replace(" ", "-");
    out.push(
      plusMinus(
        {
          id: `girth-${id}`,
          what: `around the neck at ${name}`,
          unit: "mm",
          source: "exact geometry; band: half the tolerance of thickness all around",
          ...(name === "fret 1" || name === "fret 12" ? { short: true as const } : {}),
        },
        g,
        off,
      ),
      plusMinus(
        { id: `area-${id}`, what: `section at ${name}`, unit: "mm2", source: "exact geometry; band as above" },
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
