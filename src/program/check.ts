import { bounds, joinBoxes } from "../kernel/bounds.ts";
import { type Finding, finding, type Rule } from "../units/index.ts";
import { plainAscii } from "./comments.ts";
import { HEADER_LABELS } from "./header.ts";
import * as R from "./rules.ts";
import type { Dialect, ProgramInput } from "./types.ts";

/*
 * The stage's own measure of rightness: reads the text word by word, knowing nothing of how it was written, and sets what
 * it reads beside what was asked for.
 */

const COMMON_G = "0 1 2 3 4 17 18 19 21 40 49 54 61 80 90 94";
const WORDS = {
  full: { letters: "FGHIJKMPSTXYZ", g: new Set(`${COMMON_G} 43 64`.split(" ")), m: new Set("2 3 5 6".split(" ")) },
  reduced: { letters: "FGIJKMPSXYZ", g: new Set(COMMON_G.split(" ")), m: new Set("2 3 5".split(" ")) },
} as const;
/** NISTIR 6556 table 4; G64 P belongs to the path mode. */
const GROUPS: Readonly<Record<string, string>> = {
  G0: "motion",
  G1: "motion",
  G2: "motion",
  G3: "motion",
  G80: "motion",
  G4: "dwell",
  G17: "plane",
  G18: "plane",
  G19: "plane",
  G21: "units",
  G40: "radius",
  G43: "length",
  G49: "length",
  G54: "offset",
  G61: "path",
  G64: "path",
  G90: "distance",
  G94: "feed",
  M2: "stop",
  M3: "spindle",
  M5: "spindle",
  M6: "tool",
};
const STATED = ["units", "distance", "feed", "plane", "radius", "length", "offset", "path"];
const COMMENT = /^\([A-Za-z0-9-][A-Za-z0-9 .,:+\-/=_]*\)$/;
const WORD = /([A-Z])(-?\d+(?:\.(\d+))?)/y;
/** Two readings of one place agree within this. */
const NEAR = 0.001;
const END_RADIUS = 0.002;
const MOST_FINDINGS = 20;

/** The words of a line that carry a value, by letter; one is used for all lines. */
class Words {
  private readonly values = new Float64Array(26);
  private mask = 0;

  clear(): void {
    this.mask = 0;
  }

  put(letter: number, value: number): void {
    this.mask |= 1 << letter;
    this.values[letter] = value;
  }

  hasAt(letter: number): boolean {
    return (this.mask & (1 << letter)) !== 0;
  }

  has(letter: string): boolean {
    return this.hasAt(letter.charCodeAt(0) - A);
  }

  get(letter: string): number | undefined {
    const k = letter.charCodeAt(0) - A;
    return this.hasAt(k) ? this.values[k] : undefined;
  }
}

const A = 65;
/** Letters that a plain line is made of besides G: F and places. */
const PLAIN = [..."FIJKXYZ"].reduce((mask, l) => mask | (1 << (l.charCodeAt(0) - A)), 0);
const F = "F".charCodeAt(0) - A;
const MOTIONS = ["G0", "G1", "G2", "G3"].map((code) => [code]);
const NO_CODES: readonly string[] = [];
const MOST_DIGITS = 15;

/**
 * Checks a program's text against what it was written from. No finding means that all PR rules hold. `quick`: plain lines are taken the quick way,
 * which finds the same.
 */
export function checkProgram(text: string, input: ProgramInput, dialect: Dialect["name"], quick = true): Finding[] {
  return new Check(text, input, dialect).run(quick);
}

class Check {
  private readonly out: Finding[] = [];
  private readonly lines: string[];
  private readonly input: ProgramInput;
  private readonly dialect: Dialect["name"];
  private readonly at: [number, number, number] = [Number.NaN, Number.NaN, Number.NaN];
  private readonly lo = [Infinity, Infinity, Infinity];
  private readonly hi = [-Infinity, -Infinity, -Infinity];
  private readonly stated = new Set<string>();
  private readonly comments = new Map<string, string>();
  private readonly announced: string[] = [];
  private readonly values = new Words();
  private line = 0;
  private motion = "";
  private plane = 0;
  private feed = 0;
  private speed = 0;
  private turning = false;
  private moved = false;
  private ended = false;
  private tool = "";
  private length = "";

  constructor(text: string, input: ProgramInput, dialect: Dialect["name"]) {
    this.lines = text.split("\n");
    this.input = input;
    this.dialect = dialect;
  }

  run(quick: boolean): Finding[] {
    const last = this.lines.pop();
    if (last !== "") this.add(R.PR_LINES, last ?? "", "LF", "The last line has no line end.");
    let label = "";
    for (const line of this.lines) {
      this.line++;
      if (!(quick && this.plain(line))) {
        if (line.length > 256 || !/^[ -~]*$/.test(line))
          this.add(R.PR_LINES, line.length, 256, "The line is too long or not printable ASCII.");
        if (line.startsWith("(") || line.includes(")")) label = this.comment(line, label);
        else if (line !== "") this.words(line);
      }
      if (this.out.length >= MOST_FINDINGS) return this.out;
    }
    this.end();
    return this.out;
  }

  private comment(line: string, label: string): string {
    if (!COMMENT.test(line)) {
      this.add(
        R.PR_COMMENTS,
        line.slice(0, 60),
        null,
        "The comment is nested, open, shares its line, or carries a character that is not harmless.",
      );
      return label;
    }
    const body = line.slice(1, -1);
    if (/^msg *,/i.test(body)) this.add(R.PR_COMMENTS, body.slice(0, 60), null, "The comment is an active message.");
    if (body.startsWith("-")) {
      this.comments.set(label, `${this.comments.get(label) ?? ""}${body.slice(1)}`);
      return label;
    }
    const colon = body.indexOf(":");
    const name = colon < 0 ? body : body.slice(0, colon);
    if (/^CUT \d+ OF \d+$/.test(name)) this.announced.push(name);
    this.comments.set(name, colon < 0 ? "" : body.slice(colon + 1));
    return name;
  }

  /**
   * Takes a line of places, a feed and at most one motion, nothing of which is amiss, as most lines are; false for any other, of which nothing is
   * taken then. What it takes `words` would take just so.
   */
  private plain(line: string): boolean {
    const { values, input } = this;
    const n = line.length;
    if (this.ended || n === 0 || n > 256) return false;
    values.clear();
    let codes = NO_CODES;
    for (let k = 0; k < n; ) {
      const letter = line.charCodeAt(k++) - A;
      if (letter === 6) {
        const motion = line.charCodeAt(k++) - 48;
        if (!(motion >= 0 && motion <= (input.arcs ? 3 : 1)) || codes !== NO_CODES) return false;
        codes = MOTIONS[motion];
      } else {
        if (!(letter >= 0 && letter < 26) || ((PLAIN >> letter) & 1) === 0 || values.hasAt(letter)) return false;
        const negative = line.charCodeAt(k) === 45;
        if (negative) k++;
        let whole = 0;
        let point = -1;
        const from = k;
        for (; k < n; k++) {
          const c = line.charCodeAt(k);
          if (c >= 48 && c <= 57) whole = 10 * whole + (c - 48);
          else if (c === 46 && point < 0 && k > from) point = k;
          else break;
        }
        const decimals = point < 0 ? 0 : k - point - 1;
        if (k === from || k - from > MOST_DIGITS || (point >= 0 && decimals === 0)) return false;
        if ((negative && whole === 0) || (letter !== F && decimals !== input.decimals)) return false;
        const value = whole / 10 ** decimals;
        values.put(letter, negative ? -value : value);
      }
      if (k < n && line.charCodeAt(k++) !== 32) return false;
      if (k === n && line.charCodeAt(n - 1) === 32) return false;
    }
    if (codes !== NO_CODES) this.stated.add("motion");
    this.obey(codes, values);
    return true;
  }

  private words(line: string): void {
    if (this.ended) this.add(R.PR_END, line, "M2", "The program goes on after its end.");
    const words = this.values;
    words.clear();
    const codes: string[] = [];
    const groups = new Set<string>();
    const allowed = WORDS[this.dialect];
    for (const part of line.split(" ")) {
      WORD.lastIndex = 0;
      const m = WORD.exec(part);
      if (m === null || m[0] !== part) {
        this.add(R.PR_WORDS, part, null, "This is no word.");
        continue;
      }
      const [, letter, number, decimals] = m;
      if (!allowed.letters.includes(letter)) this.add(R.PR_WORDS, part, allowed.letters, `The dialect has no ${letter} word.`);
      if (/^-0(\.0+)?$/.test(number)) this.add(R.PR_NUMBERS, part, null, "Minus zero.");
      if (letter === "G" || letter === "M") {
        const known = letter === "G" ? allowed.g.has(number) : allowed.m.has(number);
        const arc = part === "G2" || part === "G3";
        if (!known || (arc && !this.input.arcs)) this.add(R.PR_WORDS, part, null, `The dialect, or this machine, has no ${part}.`);
        const group = GROUPS[part] ?? part;
        if (groups.has(group)) this.add(R.PR_WORDS, part, group, "Two words of one modal group stand on one line.");
        groups.add(group);
        codes.push(part);
        this.stated.add(group);
      } else {
        if (words.has(letter)) this.add(R.PR_WORDS, part, null, `Two ${letter} words stand on one line.`);
        words.put(letter.charCodeAt(0) - A, Number(number));
        if ("XYZIJK".includes(letter) && (decimals ?? "").length !== this.input.decimals) {
          this.add(R.PR_NUMBERS, part, this.input.decimals, "A length has another number of decimals than asked.");
        }
        if (letter === "H") this.length = number;
        if (letter === "T") this.tool = number;
      }
    }
    this.obey(codes, words);
  }

  /** Takes a line as a machine does: modes and speeds first, motion last. */
  private obey(codes: readonly string[], words: Words): void {
    this.feed = words.get("F") ?? this.feed;
    this.speed = words.get("S") ?? this.speed;
    let motion = this.motion;
    for (const code of codes) {
      if (code === "M3") this.turning = true;
      else if (code === "M5") this.turning = false;
      else if (code === "M2") this.ended = true;
      else if (code === "G17") this.plane = 0;
      else if (code === "G18") this.plane = 1;
      else if (code === "G19") this.plane = 2;
      else if (code === "G0" || code === "G1" || code === "G2" || code === "G3") motion = code;
    }
    this.motion = motion;
    if (!(words.has("X") || words.has("Y") || words.has("Z"))) return;
    if (!this.moved) this.beforeFirst(words);
    this.moved = true;
    const from: [number, number, number] = [...this.at];
    for (const [axis, letter] of ["X", "Y", "Z"].entries()) this.at[axis] = words.get(letter) ?? this.at[axis];
    if (motion === "G0") this.rapid(words);
    else this.feedMove(motion);
    if (motion === "G2" || motion === "G3") this.arc(motion, words, from);
    for (let axis = 0; axis < 3; axis++) this.visit(axis, this.at[axis]);
  }

  private beforeFirst(words: Words): void {
    const { safeZ, cutter } = this.input;
    for (const group of STATED)
      if (!this.stated.has(group)) this.add(R.PR_MODES, group, null, `The ${group} mode is not stated before the first motion.`);
    const z = words.get("Z");
    if (this.motion !== "G0" || words.has("X") || words.has("Y") || z === undefined || z < safeZ - NEAR) {
      this.add(R.PR_FIRST, z ?? "none", safeZ, "The first motion is not a rapid to the safe height.");
    }
    const want = String(cutter.number);
    if (this.dialect === "full" && (this.tool !== want || this.length !== want || !this.stated.has("tool"))) {
      this.add(R.PR_CUTTER, `T${this.tool} H${this.length}`, `T${want} H${want}`, "The cutter or its length offset is not called.");
    }
  }

  private rapid(words: Words): void {
    const across = words.has("X") || words.has("Y");
    if (across && words.has("Z")) this.add(R.PR_RAPID, this.spot(), null, "A rapid moves z together with x or y.");
    if (across && !(this.at[2] >= this.input.safeZ - NEAR))
      this.add(R.PR_RAPID, this.at[2], this.input.safeZ, "A rapid crosses below the safe height.");
  }

  private feedMove(motion: string): void {
    if (motion === "") this.add(R.PR_WORDS, this.spot(), null, "Axis words without a motion mode.");
    if (!(this.feed > 0)) this.add(R.PR_FEED, this.feed, 0, "A feed move without a feed.");
    const cut = this.input.cuts[this.announced.length - 1];
    if (cut === undefined)
      this.add(R.PR_CUTS, this.announced.length, this.input.cuts.length, "A feed move stands before any cut is announced.");
    else if (!this.turning || Math.abs(this.speed - cut.rpm) > 0.5)
      this.add(R.PR_FEED, this.speed, cut.rpm, "The spindle does not turn at the cut's speed.");
  }

  private arc(motion: string, words: Words, from: readonly number[]): void {
    const [a, b] = this.plane === 0 ? [0, 1] : this.plane === 1 ? [2, 0] : [1, 2];
    const offset = (axis: number): number => words.get("IJK"[axis]) ?? 0;
    const centre = [from[0] + offset(0), from[1] + offset(1), from[2] + offset(2)];
    const start = [from[a] - centre[a], from[b] - centre[b]];
    const end = [this.at[a] - centre[a], this.at[b] - centre[b]];
    const r = Math.hypot(start[0], start[1]);
    const off = Math.abs(Math.hypot(end[0], end[1]) - r);
    const sign = motion === "G3" ? 1 : -1;
    let swept = sign * (Math.atan2(end[1], end[0]) - Math.atan2(start[1], start[0]));
    if (swept <= 0) swept += 2 * Math.PI;
    // Half a turn and the rounding of its ends.
    const most = Math.PI + NEAR / Math.max(r, NEAR);
    if (!(off <= END_RADIUS)) this.add(R.PR_ARC, off, END_RADIUS, "The arc's radii at both ends differ.");
    if (!(swept <= most)) this.add(R.PR_ARC, swept, Math.PI, "The arc turns more than half a turn, or ends where it began.");
    const a0 = Math.atan2(start[1], start[0]);
    for (let q = 0; q < 4; q++) {
      let turned = sign * ((q * Math.PI) / 2 - a0);
      while (turned < 0) turned += 2 * Math.PI;
      turned %= 2 * Math.PI;
      if (turned < swept) this.visit(q % 2 === 0 ? a : b, centre[q % 2 === 0 ? a : b] + (q < 2 ? r : -r));
    }
  }

  private visit(axis: number, v: number): void {
    if (v < this.lo[axis]) this.lo[axis] = v;
    if (v > this.hi[axis]) this.hi[axis] = v;
  }

  private end(): void {
    const { input } = this;
    if (!this.ended || this.turning || !(this.at[2] >= input.safeZ - NEAR)) {
      this.add(R.PR_END, this.spot(), input.safeZ, "The program does not end with a stopped spindle at the safe height and M2.");
    }
    const wanted = input.cuts.map((_, k) => `CUT ${k + 1} OF ${input.cuts.length}`);
    if (wanted.join() !== this.announced.join())
      this.add(R.PR_CUTS, this.announced.length, wanted.length, "The cuts announced are not the cuts asked for, in order.");
    this.header();
    const asked = joinBoxes(input.cuts.map((c) => bounds(c.moves)));
    for (let axis = 0; axis < 3; axis++) {
      const name = "XYZ"[axis];
      const lo = axis === 2 ? Math.min(asked.min[2], input.safeZ) : asked.min[axis];
      const hi = axis === 2 ? Math.max(asked.max[2], input.safeZ) : asked.max[axis];
      const said = / (-?[\d.]+) to (-?[\d.]+)$/.exec(this.comments.get(`BOUNDS ${name}`) ?? "");
      const pairs = [this.lo[axis] - lo, this.hi[axis] - hi, Number(said?.[1]) - lo, Number(said?.[2]) - hi];
      for (const off of pairs) if (!(Math.abs(off) <= NEAR)) this.add(R.PR_BOUNDS, off, NEAR, `The bounds in ${name} disagree.`);
    }
  }

  private header(): void {
    const { input } = this;
    const wanted: [string, string][] = [
      ["PROGRAM", input.file],
      ["ORDER", input.orderName],
      ["ORDER HASH", input.orderHash],
      ["SIDE", input.side],
      ["CUTTER", `${input.cutter.number}, ${input.cutter.name}`],
      ["ZERO", input.zeroSays],
      ...input.cuts.map((c, k): [string, string] => [`WORK ${k + 1}`, c.id]),
    ];
    for (const label of HEADER_LABELS)
      if ((this.comments.get(label) ?? "").trim() === "") this.add(R.PR_HEADER, label, null, `The header does not say ${label}.`);
    const bare = (s: string): string => s.replaceAll(" ", "");
    for (const [label, value] of wanted) {
      if (!bare(this.comments.get(label) ?? "").includes(bare(plainAscii(value))))
        this.add(R.PR_HEADER, label, plainAscii(value), `The header does not name its ${label}.`);
    }
  }

  private spot(): string {
    return `X${this.at[0]} Y${this.at[1]} Z${this.at[2]}`;
  }

  private add(rule: Rule, value: number | string, limit: number | string | null, says: string): void {
    if (this.out.length >= MOST_FINDINGS) return;
    const unit = typeof value === "number" && typeof limit === "number" && rule !== R.PR_LINES && rule !== R.PR_CUTS ? "mm" : "";
    const tryThis = "Do not run this program; make it again from the order, and report it if the finding stays.";
    this.out.push(finding(rule, { where: `${this.input.file}:${this.line}`, value, limit, unit, says, tryThis }));
  }
}
