import { type Block, hasLetter, letter, NONE } from "./block.ts";
import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";

const [F, H, I, J, K, L, P, Q, RR, X, Y, Z] = [..."fhijklpqrxyz"].map(letter);
const AXES = (1 << X) | (1 << Y) | (1 << Z);

/** What is in force when a line begins, as far as it decides which words are allowed. */
interface Modes {
  /** G code times ten; 800 is none. */
  readonly motion: number;
  readonly inverseTime: boolean;
  /** mm/min. */
  readonly feed: number;
}

/** The value of a word that may not be negative. */
export function positive(b: Block, k: number, what: string): number {
  const v = b.value[k];
  if (v < 0) throw new Refusal(R.range, b.at[k], b.to[k], `A ${what} is negative.`, "Write it without its sign.");
  return v;
}

/** Refuses what contradicts itself before anything of the line is carried out (NISTIR 6556, 3.5: "it is an error if"). */
export function checkBlock(b: Block, m: Modes): void {
  const g = b.g;
  const axes = (b.has & AXES) !== 0;
  const zero = g[0];
  const usesAxes = zero === 100 || zero === 280 || zero === 300 || zero === 920;
  const motion = g[1] !== NONE ? g[1] : axes && !usesAxes ? m.motion : NONE;
  const cycle = motion >= 810 && motion <= 890;
  if (g[1] !== NONE && g[1] !== 800 && usesAxes) {
    throw new Refusal(R.axisClash, b.gAt[1], b.gTo[1], "Two codes of this line want its axis words.", "Put them on two lines.");
  }
  if (g[1] === 800 && axes && !usesAxes) {
    throw new Refusal(R.noMotion, b.gAt[1], b.gTo[1], "G80 stops all motion, but axis words stand beside it.", "Remove the axis words.");
  }
  if (g[1] !== NONE && g[1] !== 800 && !axes) {
    throw new Refusal(R.noAxes, b.gAt[1], b.gTo[1], "A motion code stands without axis words.", "Give X, Y or Z on the same line.");
  }
  if (zero === 530 && motion !== 0 && motion !== 10) {
    throw new Refusal(R.machineFrame, b.gAt[0], b.gTo[0], "G53 stands without G0 or G1 in force.", "Write G53 G0 and the axis words.");
  }
  if (motion === 800 && g[1] === NONE) {
    throw new Refusal(
      R.noMotion,
      ...firstAxis(b),
      "Axis words stand here, but no motion is in force.",
      "Put G0, G1, G2 or G3 before them.",
    );
  }
  if (motion === 382 || (cycle && motion > 830)) {
    throw new Refusal(
      R.notFollowed,
      b.gAt[1],
      b.gTo[1],
      motion === 382
        ? "Probing (G38.2) ends where the machine feels it, which a proof cannot know."
        : "Of the canned cycles the proof follows G81, G82 and G83.",
      motion === 382 ? "Probe by hand before the program." : "Write the moves out, or use G81 to G83.",
    );
  }
  if (g[7] === 410 || g[7] === 420) {
    throw new Refusal(R.notFollowed, b.gAt[7], b.gTo[7], "The proof does not follow cutter compensation.", "Program the cutter's centre.");
  }
  if ((zero === 100 || zero === 920) && !axes) {
    throw new Refusal(R.noAxes, b.gAt[0], b.gTo[0], "This offset has no axis words.", "Give X, Y or Z on the same line.");
  }
  if (zero === 40 && !hasLetter(b, P)) {
    throw new Refusal(R.range, b.gAt[0], b.gTo[0], "A dwell (G4) has no time.", "Give the seconds with P.");
  }
  const arc = motion === 20 || motion === 30;
  only(b, H, g[8] === 430, "H goes with G43.");
  only(b, I, arc, "I goes with the arcs G2 and G3.");
  only(b, J, arc, "J goes with the arcs G2 and G3.");
  only(b, K, arc, "K goes with the arcs G2 and G3.");
  only(b, L, cycle || zero === 100, "L goes with G10 and canned cycles.");
  only(b, P, zero === 40 || zero === 100 || motion === 820 || g[13] === 640, "P goes with G4, G10, G64 and G82.");
  only(b, Q, motion === 830, "Q goes with G83.");
  only(b, RR, arc || cycle, "R goes with arcs and canned cycles.");
  const timed = g[5] !== NONE ? g[5] === 930 : m.inverseTime;
  const feeds = motion === 10 || arc;
  if (timed && feeds && !hasLetter(b, F)) {
    throw new Refusal(
      R.noFeed,
      ...anyWord(b),
      "Under G93 every feed move has its own F word.",
      "Give F, in moves per minute, on this line.",
    );
  }
  if (timed && cycle) {
    throw new Refusal(R.cycle, ...anyWord(b), "A canned cycle stands under inverse time (G93).", "Go back to G94 first.");
  }
  if (hasLetter(b, F)) positive(b, F, "feed");
  const fed = hasLetter(b, F) ? b.value[F] > 0 : timed ? false : m.feed > 0;
  if ((feeds || cycle) && !fed) {
    throw new Refusal(R.noFeed, ...anyWord(b), "This move cuts, but no feed rate is in force.", "Give F before the first feed move.");
  }
}

function only(b: Block, k: number, allowed: boolean, says: string): void {
  if (!allowed && hasLetter(b, k))
    throw new Refusal(R.unused, b.at[k], b.to[k], `No code of this line uses this word. ${says}`, "Remove it.");
}

export function firstAxis(b: Block): readonly [number, number] {
  for (const k of [X, Y, Z]) if (hasLetter(b, k)) return [b.at[k], b.to[k]];
  return [0, 0];
}

export function anyWord(b: Block): readonly [number, number] {
  return b.g[1] !== NONE ? [b.gAt[1], b.gTo[1]] : firstAxis(b);
}
