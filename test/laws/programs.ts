import fc from "fast-check";
import { MoveBuilder, MoveKind, type MoveList } from "../../src/kernel/moves.ts";
import type { ProgramInput } from "../../src/program/types.ts";
import type { CutterSpec } from "../../src/spec/types.ts";

/*
 * Random programs, and a walk that sets the moves somebody read from a program's text beside the moves it was written from.
 */

/** Dwell of the writers after the spindle starts, as a person would state it. */
const SPIN_UP = 3;

/** A move as a reader of program text gives it. Lengths mm, feed mm/min, sweep rad counter-clockwise positive. */
export interface ReadMove {
  readonly kind: "rapid" | "line" | "arc" | "dwell";
  readonly from: readonly [number, number, number];
  readonly to: readonly [number, number, number];
  readonly feed: number;
  readonly seconds: number;
  readonly plane: number;
  readonly centre: readonly [number, number, number];
  readonly sweep: number;
}

export const sampleCutter: CutterSpec = {
  number: 3,
  name: "8 mm ball",
  shape: "ball",
  diameter: 8,
  cornerRadius: 4,
  tipDiameter: 0,
  tipAngle: 0,
  flutes: 2,
  fluteLength: 25,
  reach: 40,
  shankDiameter: 8,
  holder: [{ diameter: 20, length: 25 }],
  chip: { min: 0.02, max: 0.1 },
  maxDepth: 4,
  maxRpm: 24000,
  modulus: 600000,
};

export const SAFE_Z = 52.5;

/** A program input around move lists that begin and end at SAFE_Z. */
export function sampleInput(lists: readonly MoveList[], rest: Partial<ProgramInput> = {}): ProgramInput {
  return {
    file: "03-board-sample.ngc",
    orderName: "loan-guitar-1",
    orderHash: "0123456789abcdef".repeat(4),
    side: "board",
    cutter: sampleCutter,
    cuts: lists.map((moves, k) => ({ id: `sample-${k + 1}`, title: `Sample cut ${k + 1}`, rpm: 18000 + 500 * (k % 3), moves })),
    safeZ: SAFE_Z,
    zeroSays: "X at the end stop, Y at the fence pins, Z on the bed",
    decimals: 4,
    arcs: true,
    seconds: 125.4,
    ...rest,
  };
}

const place = fc.oneof(
  fc.double({ min: -90, max: 700, noNaN: true }),
  fc.integer({ min: -90, max: 700 }),
  fc.constantFrom(0, -0, 0.00005, -0.00004, 12.34565, 99.99995),
);
const small = fc.double({ min: -0.001, max: 0.001, noNaN: true });
const feed = fc.double({ min: 0.05, max: 150, noNaN: true });
const step = fc.oneof(
  fc.record({ kind: fc.constant("line" as const), x: place, y: place, z: fc.double({ min: -10, max: 50, noNaN: true }), feed }),
  fc.record({ kind: fc.constant("nudge" as const), x: small, y: small, z: small, feed }),
  fc.record({ kind: fc.constant("dwell" as const), seconds: fc.double({ min: 0, max: 3, noNaN: true }) }),
  fc.record({
    kind: fc.constant("arc" as const),
    // Under 0.005 mm an angle has no meaning on the text's grid; such arcs have a law of their own.
    logRadius: fc.double({ min: -2.3, max: 3.9, noNaN: true }),
    angle: fc.double({ min: -4, max: 4, noNaN: true }),
    sweep: fc.oneof(
      fc.double({ min: -7, max: 7, noNaN: true }),
      fc.double({ min: -40, max: 40, noNaN: true }),
      fc.double({ min: -1e-5, max: 1e-5, noNaN: true }),
      fc.constantFrom(Math.PI, -Math.PI, 2 * Math.PI, -2 * Math.PI, Math.PI / 2, 6 * Math.PI),
    ),
    rise: fc.oneof(fc.constant(0), fc.double({ min: -3, max: 3, noNaN: true })),
    plane: fc.constantFrom(0, 0, 0, 1, 2),
    feed,
  }),
);

/** A move list with everything a cut may hold, beginning and ending at SAFE_Z. */
export const moveListArb: fc.Arbitrary<MoveList> = fc
  .record({ x: place, y: place, fromRapid: fc.boolean(), steps: fc.array(step, { minLength: 1, maxLength: 25 }), feed })
  .map(({ x, y, fromRapid, steps, feed: down }) => {
    const b = new MoveBuilder([x, y, SAFE_Z]);
    if (fromRapid) b.rapid(y, x, SAFE_Z + 1);
    b.lineTo(b.px, b.py, 20, down);
    for (const s of steps) {
      if (s.kind === "line") b.lineTo(s.x, s.y, s.z, s.feed);
      else if (s.kind === "nudge") b.lineTo(b.px + s.x, b.py + s.y, b.pz + s.z, s.feed);
      else if (s.kind === "dwell") b.dwell(s.seconds);
      else addArc(b, 10 ** s.logRadius, s.angle, s.sweep, s.rise, s.plane, s.feed);
    }
    b.rapid(b.px, b.py, Math.max(SAFE_Z, b.pz));
    return b.list();
  });

/** An arc that begins at the builder's place, `angle` seen from its centre. */
export function addArc(b: MoveBuilder, r: number, angle: number, sweep: number, rise: number, plane: number, mmPerSecond: number): void {
  const at = [b.px, b.py, b.pz];
  const [u, v, w] = plane === 0 ? [0, 1, 2] : plane === 1 ? [2, 0, 1] : [1, 2, 0];
  const c = [0, 0, 0];
  c[u] = at[u] - r * Math.cos(angle);
  c[v] = at[v] - r * Math.sin(angle);
  c[w] = at[w];
  const end = [0, 0, 0];
  end[u] = c[u] + r * Math.cos(angle + sweep);
  end[v] = c[v] + r * Math.sin(angle + sweep);
  end[w] = at[w] + rise;
  b.arcTo(end[0], end[1], end[2], c[0], c[1], c[2], sweep, mmPerSecond, plane);
}

export const programArb: fc.Arbitrary<ProgramInput> = fc
  .record({ lists: fc.array(moveListArb, { minLength: 1, maxLength: 3 }), arcs: fc.boolean(), decimals: fc.constantFrom(4, 5, 6) })
  .map(({ lists, arcs, decimals }) => sampleInput(lists, { arcs, decimals }));

/**
 * Walks through what was read beside what was asked for; throws at the first difference. Every point of every read move lies
 * within `tolerance` mm of the asked path, in order, and nothing is read that was not asked for. Gives the largest distance.
 */
export function walk(read: readonly ReadMove[], input: ProgramInput, tolerance = 0.001): number {
  let n = 0;
  let worst = 0;
  const fail = (k: number, says: string): never => {
    throw new Error(`read move ${n}, asked move ${k}: ${says}; read ${JSON.stringify(read[n])}`);
  };
  const near = (k: number, p: readonly number[], q: readonly number[]): void => {
    const d = Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
    if (!(d <= tolerance)) fail(k, `${d} mm off, at ${p.join(" ")} for ${q.join(" ")}`);
    worst = Math.max(worst, d);
  };
  const grid = 10 ** input.decimals;
  const round = (v: number): number => Math.sign(v) * Math.round(Math.abs(v) * grid);
  const same = (p: readonly number[], q: readonly number[]): boolean => [0, 1, 2].every((a) => Math.abs(round(p[a]) - round(q[a])) < 0.5);
  const spinUp = (): void => {
    while (read[n]?.kind === "dwell" && Math.abs(read[n].seconds - SPIN_UP) < 1e-9 && (n === 0 || read[n - 1].kind === "rapid")) n++;
  };
  /** Takes rapids, each z alone or x and y alone, until the place is reached, and those that then go nowhere. */
  const rapids = (k: number, to: readonly number[]): void => {
    spinUp();
    while (read[n]?.kind === "rapid" && (n === 0 || !same(read[n - 1].to, to))) {
      const { from, to: end } = read[n++];
      if (from[2] !== end[2] && (from[0] !== end[0] || from[1] !== end[1])) fail(k, "a rapid in z together with x or y");
      spinUp();
    }
    while (read[n]?.kind === "rapid" && same(read[n].to, to)) n++;
    spinUp();
    near(k, read[n - 1].to, to);
  };
  for (const cut of input.cuts) {
    const m = cut.moves;
    let at: readonly number[] = m.start;
    if (m.kind[0] !== MoveKind.rapid) rapids(-1, at);
    for (let k = 0; k < m.count; k++) {
      const to = [m.x[k], m.y[k], m.z[k]];
      if (m.kind[k] === MoveKind.rapid) {
        rapids(k, to);
      } else if (m.kind[k] === MoveKind.dwell) {
        if (m.feed[k] >= 0.0005) {
          if (read[n]?.kind !== "dwell" || Math.abs(read[n].seconds - m.feed[k]) > 0.00051) fail(k, `a dwell of ${m.feed[k]} s is missing`);
          n++;
        }
      } else {
        if (m.kind[k] === MoveKind.line) {
          if (!same(read[n - 1].to, to)) {
            if (read[n]?.kind !== "line") fail(k, "a line is missing");
            near(k, read[n].to, to);
            if (Math.abs(read[n].feed - m.feed[k] * 60) > 0.00051) fail(k, `feed ${m.feed[k] * 60}`);
            n++;
          }
        } else arc(m, k, at, to);
      }
      at = to;
    }
  }
  while (read[n] !== undefined && read[n].kind !== "line" && read[n].kind !== "arc") n++;
  if (n !== read.length) fail(-1, "more moves than asked");
  return worst;

  function arc(m: MoveList, k: number, at: readonly number[], to: readonly number[]): void {
    const [u, v, w] = m.plane[k] === 0 ? [0, 1, 2] : m.plane[k] === 1 ? [2, 0, 1] : [1, 2, 0];
    const c = [m.cx[k], m.cy[k], m.cz[k]];
    const sweep = m.sweep[k];
    const r = Math.hypot(at[u] - c[u], at[v] - c[v]);
    const a0 = Math.atan2(at[v] - c[v], at[u] - c[u]);
    const asked = (t: number): number[] => {
      const p = [0, 0, 0];
      p[u] = c[u] + r * Math.cos(a0 + sweep * t);
      p[v] = c[v] + r * Math.sin(a0 + sweep * t);
      p[w] = at[w] + (to[w] - at[w]) * t;
      return p;
    };
    let turned = 0;
    const rest = (): boolean => Math.abs(sweep - turned) * r > tolerance || (Math.abs(turned) < Math.PI && Math.abs(sweep) > Math.PI);
    while (rest() || (read[n] !== undefined && !same(read[n - 1].to, to))) {
      const piece = read[n];
      if (piece === undefined || (piece.kind !== "arc" && piece.kind !== "line"))
        throw new Error(`asked move ${k}: the arc is not finished`);
      if (Math.abs(piece.feed - m.feed[k] * 60) > 0.00051) fail(k, `feed ${m.feed[k] * 60}`);
      let step = piece.sweep;
      if (piece.kind === "line") {
        step = Math.atan2(piece.to[v] - c[v], piece.to[u] - c[u]) - Math.atan2(piece.from[v] - c[v], piece.from[u] - c[u]);
        if (step > Math.PI) step -= 2 * Math.PI;
        if (step < -Math.PI) step += 2 * Math.PI;
      } else if (piece.plane !== m.plane[k]) fail(k, "another plane");
      for (const s of [0.25, 0.5, 0.75, 1]) {
        const t = Math.abs(sweep) * r <= tolerance ? s : (turned + step * s) / sweep;
        near(k, pointOf(piece, s), asked(t));
      }
      turned += step;
      n++;
    }
    if (n > 0) near(k, read[n - 1].to, to);
  }
}

/** The point at share s of a read move. */
export function pointOf(p: ReadMove, s: number): number[] {
  const out = [0, 1, 2].map((a) => p.from[a] + (p.to[a] - p.from[a]) * s);
  if (p.kind !== "arc" || s === 1) return out;
  const [u, v] = p.plane === 0 ? [0, 1] : p.plane === 1 ? [2, 0] : [1, 2];
  const du = p.from[u] - p.centre[u];
  const dv = p.from[v] - p.centre[v];
  const a = p.sweep * s;
  out[u] = p.centre[u] + du * Math.cos(a) - dv * Math.sin(a);
  out[v] = p.centre[v] + du * Math.sin(a) + dv * Math.cos(a);
  return out;
}

/** A reader of a few lines that knows just enough of RS274/NGC to read programs without any of the project's own code. */
export function readText(text: string): ReadMove[] {
  const out: ReadMove[] = [];
  const modal: Record<string, number> = { G: -1, F: 0, plane: 0 };
  const at: [number, number, number] = [0, 0, 0];
  for (const line of text.replace(/\([^)]*\)/g, "").split("\n")) {
    const words = [...line.matchAll(/([A-Z])\s*([-+]?[\d.]+)/g)].map(([, letter, value]): [string, number] => [letter, Number(value)]);
    const word = (letter: string): number | undefined => words.find(([l]) => l === letter)?.[1];
    modal.F = word("F") ?? modal.F;
    for (const [l, v] of words) if (l === "G" && v < 4) modal.G = v;
    for (const [l, v] of words) if (l === "G" && v >= 17 && v <= 19) modal.plane = v - 17;
    const blank = { feed: modal.F, seconds: 0, plane: modal.plane, centre: [0, 0, 0] as [number, number, number], sweep: 0 };
    if (words.some(([l, v]) => l === "G" && v === 4)) {
      out.push({ ...blank, kind: "dwell", from: [...at], to: [...at], seconds: word("P") ?? Number.NaN });
      continue;
    }
    if (word("X") === undefined && word("Y") === undefined && word("Z") === undefined) continue;
    const from: [number, number, number] = [...at];
    for (const [a, l] of ["X", "Y", "Z"].entries()) at[a] = word(l) ?? at[a];
    const to: [number, number, number] = [...at];
    if (modal.G < 2) {
      out.push({ ...blank, kind: modal.G === 0 ? "rapid" : "line", from, to });
      continue;
    }
    const centre: [number, number, number] = [from[0] + (word("I") ?? 0), from[1] + (word("J") ?? 0), from[2] + (word("K") ?? 0)];
    const [u, v] = modal.plane === 0 ? [0, 1] : modal.plane === 1 ? [2, 0] : [1, 2];
    let sweep = Math.atan2(to[v] - centre[v], to[u] - centre[u]) - Math.atan2(from[v] - centre[v], from[u] - centre[u]);
    if (modal.G === 3 && sweep <= 0) sweep += 2 * Math.PI;
    if (modal.G === 2 && sweep >= 0) sweep -= 2 * Math.PI;
    out.push({ ...blank, kind: "arc", from, to, centre, sweep });
  }
  return out;
}
