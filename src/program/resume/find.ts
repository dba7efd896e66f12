import { MoveKind, type MoveList, moveLength } from "../../kernel/moves.ts";
import type { Mm, MmPerSecond } from "../../units/index.ts";
import type { FoundStart, Pass, StoppedAt, Written } from "./types.ts";

/*
 * Where a program that stopped is begun again. Always at the beginning of one of its own moves, never past the place that was named, and in
 * the same stretch at feed. The cutter has stood there before: all that it fills there, and all above, is free of wood.
 */

/** A named place must lie this near to the path, mm. */
const NEAR: Mm = 0.5;
/** Places of the path that are as near as that count as the same place. */
const SAME: Mm = 0.02;
/** Chords of an arc when the nearest place of it is looked for. */
const CHORDS = 64;

const isFeed = (m: MoveList, k: number): boolean => m.kind[k] === MoveKind.line || m.kind[k] === MoveKind.arc;

const placeBefore = (m: MoveList, k: number): [number, number, number] => (k === 0 ? [...m.start] : [m.x[k - 1], m.y[k - 1], m.z[k - 1]]);

const AXES = [
  [0, 1, 2],
  [2, 0, 1],
  [1, 2, 0],
] as const;

/** All stretches at feed of a program. */
export function passesOf(w: Written): Pass[] {
  const m = w.moves;
  const out: Pass[] = [];
  w.cuts.forEach((cut, c) => {
    let number = 0;
    for (let k = cut.from; k < cut.to; k++) {
      if (!isFeed(m, k)) continue;
      const from = k;
      let length = 0;
      let [zMin, zMax] = [placeBefore(m, k)[2], placeBefore(m, k)[2]];
      for (; k < cut.to && (isFeed(m, k) || m.kind[k] === MoveKind.dwell); k++) {
        length += moveLength(m, k);
        zMin = Math.min(zMin, m.z[k]);
        zMax = Math.max(zMax, m.z[k]);
      }
      out.push({ cut: c, number: ++number, from, to: k, firstLine: m.line[from], lastLine: m.line[k - 1], length, zMin, zMax });
    }
  });
  return out;
}

/** Feed at which a cut goes down: the slowest of its descents, of all its moves where it has none. */
export function plungeOf(w: Written, cut: number): MmPerSecond {
  const { moves: m, cuts } = w;
  let slowest = Number.POSITIVE_INFINITY;
  let down = Number.POSITIVE_INFINITY;
  for (let k = cuts[cut].from; k < cuts[cut].to; k++) {
    if (!isFeed(m, k)) continue;
    slowest = Math.min(slowest, m.feed[k]);
    if (m.z[k] < placeBefore(m, k)[2] - 1e-6) down = Math.min(down, m.feed[k]);
  }
  return Number.isFinite(down) ? down : slowest;
}

/** Least distance of a place from a move, and the share of the move at which it is met. */
function nearestOn(m: MoveList, k: number, p: readonly [number, number, number]): { readonly d: number; readonly share: number } {
  const a = placeBefore(m, k);
  const b: [number, number, number] = [m.x[k], m.y[k], m.z[k]];
  if (m.kind[k] === MoveKind.line) return nearestOnLine(a, b, p);
  const [u, v, w] = AXES[m.plane[k]];
  const c = [m.cx[k], m.cy[k], m.cz[k]];
  const at = (t: number): [number, number, number] => {
    const q: [number, number, number] = [0, 0, 0];
    const turn = m.sweep[k] * t;
    q[u] = c[u] + (a[u] - c[u]) * Math.cos(turn) - (a[v] - c[v]) * Math.sin(turn);
    q[v] = c[v] + (a[u] - c[u]) * Math.sin(turn) + (a[v] - c[v]) * Math.cos(turn);
    q[w] = a[w] + (b[w] - a[w]) * t;
    return q;
  };
  let best = { d: Number.POSITIVE_INFINITY, share: 0 };
  for (let i = 0; i < CHORDS; i++) {
    const on = nearestOnLine(at(i / CHORDS), at((i + 1) / CHORDS), p);
    if (on.d < best.d) best = { d: on.d, share: (i + on.share) / CHORDS };
  }
  return best;
}

function nearestOnLine(
  a: readonly [number, number, number],
  b: readonly [number, number, number],
  p: readonly [number, number, number],
): { readonly d: number; readonly share: number } {
  const [dx, dy, dz] = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const l2 = dx * dx + dy * dy + dz * dz;
  const t = l2 > 0 ? Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy + (p[2] - a[2]) * dz) / l2)) : 0;
  return { d: Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy, p[2] - a[2] - t * dz), share: t };
}

/**
 * Where to begin again when the work stopped at `at`, with at least `overlap` mm of path made again where the stretch has as much before it.
 * Of a place that the path meets more than once the first counts: what is not yet cut is then surely not taken for cut.
 */
export function findStart(w: Written, at: StoppedAt, overlap: Mm): FoundStart {
  const passes = passesOf(w);
  if (passes.length === 0) return no("the program has no move at feed", "name the program that was running");
  if (at.kind === "line") return byLine(w, passes, at.line, overlap);
  if (at.kind === "pass") return byPass(w, passes, at.cut, at.pass);
  return byPlace(w, passes, at.at, overlap);
}

const no = (says: string, tryThis: string): FoundStart => ({ ok: false, says, tryThis });

function byLine(w: Written, passes: readonly Pass[], line: number, overlap: Mm): FoundStart {
  const m = w.moves;
  const last = m.line[m.count - 1];
  if (line > last)
    return no(
      `line ${line} lies behind the program's last move, which is on line ${last}`,
      "look again at the line that the controller shows",
    );
  const first = passes[0].firstLine;
  if (line <= first) return no(`nothing is cut before line ${first}`, "run the program itself from its beginning");
  let k = 0;
  while (m.line[k] < line) k++;
  // a rapid or a dwell: the stretch that follows it
  const pass = passes.find((p) => p.to > k);
  if (pass === undefined) return no(`after line ${line} nothing more is cut`, "go on with the next program");
  return started(w, pass, Math.max(k, pass.from), 0, overlap, `line ${line}`);
}

function byPass(w: Written, passes: readonly Pass[], name: string, number: number): FoundStart {
  const ids = w.cuts.map((c) => c.id);
  const exact = ids.indexOf(name);
  const like = ids.filter((id) => id.endsWith(`-${name}`));
  const cut = exact >= 0 ? exact : like.length === 1 ? ids.indexOf(like[0]) : -1;
  if (cut < 0) return no(`the program has no cut "${name}"`, `it has ${ids.join(", ")}`);
  const mine = passes.filter((p) => p.cut === cut);
  const pass = mine.find((p) => p.number === number);
  if (pass === undefined)
    return no(`cut "${ids[cut]}" has passes 1 to ${mine.length}, not ${number}`, "--list shows them with their lines");
  return started(w, pass, pass.from, 0, 0, `cut ${ids[cut]}, pass ${number}`);
}

function byPlace(w: Written, passes: readonly Pass[], p: readonly [Mm, Mm, Mm], overlap: Mm): FoundStart {
  let least = Number.POSITIVE_INFINITY;
  const near: { readonly pass: Pass; readonly k: number; readonly d: number; readonly share: number }[] = [];
  for (const pass of passes) {
    for (let k = pass.from; k < pass.to; k++) {
      if (!isFeed(w.moves, k)) continue;
      const { d, share } = nearestOn(w.moves, k, p);
      least = Math.min(least, d);
      if (d <= NEAR) near.push({ pass, k, d, share });
    }
  }
  const says = `x ${p[0]}, y ${p[1]}, z ${p[2]}`;
  if (near.length === 0)
    return no(
      `${says} lies ${least.toFixed(2)} mm from the nearest place at which this program cuts; it must lie within ${NEAR} mm`,
      "read the place again from the controller, in the work offset of the program (G54), or name the line",
    );
  const best = near.find((n) => n.d <= least + SAME)!;
  const again = new Set(near.filter((n) => n.d <= least + SAME && n.pass !== best.pass).map((n) => n.pass)).size;
  const more = again === 0 ? "" : ` (the path comes by there in ${again} later passes too: if it was in one of them, name its line)`;
  return started(w, best.pass, best.k, best.share, overlap, `${says}, on line ${w.moves.line[best.k]}${more}`);
}

/** Back along the stretch by whole moves, until as much is made again as was asked. */
function started(w: Written, pass: Pass, k: number, share: number, overlap: Mm, says: string): FoundStart {
  const m = w.moves;
  let back = share * moveLength(m, k);
  let move = k;
  while (move > pass.from && back < overlap) back += moveLength(m, --move);
  return { ok: true, start: { cut: pass.cut, move, line: m.line[move], at: placeBefore(m, move), overlap: back, says } };
}
