import { MoveKind, type MoveList } from "../kernel/moves.ts";
import type { Stock } from "../kernel/stock.ts";
import { type Finding, finding, type Mm, type Rule } from "../units/index.ts";
import { chords } from "./probe.ts";
import * as PF from "./rules.ts";
import { type Footprint, touch } from "./solids.ts";
import type { Tool } from "./tool.ts";
import type { ProofSide } from "./types.ts";

/** Where something is touched that should not be: the lines of the program, and the worst of them. */
export interface Touch {
  /** Id of the rule. */
  readonly rule: string;
  /** What is touched, where the rule is of more than one thing. */
  readonly subject: string;
  readonly lines: readonly number[];
  readonly depth: Mm;
  readonly line: number;
  readonly at: readonly [Mm, Mm, Mm];
}

/** A rapid with wood in its way. */
export interface WoodInWay {
  /** Of the moves that were run. */
  readonly move: number;
  readonly depth: Mm;
  /** What the cutter takes on that way, mm3. */
  readonly removed: number;
  readonly line: number;
  readonly at: readonly [Mm, Mm, Mm];
}

/** All that one program touches of one band of the wood; plain data. */
export interface Touched {
  readonly touches: readonly Touch[];
  readonly rapids: readonly WoodInWay[];
}

interface Worst {
  readonly rule: Rule;
  readonly subject: string;
  readonly lines: Set<number>;
  depth: number;
  line: number;
  at: readonly [number, number, number];
}

/** Runs one program over the stock and remembers the worst of every kind of contact. */
export class Contact {
  private readonly file: string;
  private readonly side: ProofSide;
  private readonly tool: Tool;
  private readonly solids: readonly Footprint[];
  private readonly stock: Stock;
  private readonly top: number;
  private readonly shift: readonly [number, number];
  private readonly looks: boolean;
  private readonly worst = new Map<string, Worst>();
  private readonly rapids: WoodInWay[] = [];
  /** Moves of earlier runs. */
  private before = 0;

  /** `looks`: at the bed and the holding too, which no band of the wood says anything of. */
  constructor(
    file: string,
    side: ProofSide,
    tool: Tool,
    solids: readonly Footprint[],
    stock: Stock,
    shift: readonly [number, number],
    looks = true,
  ) {
    this.file = file;
    this.side = side;
    this.tool = tool;
    this.solids = solids;
    this.stock = stock;
    this.top = side.stock.max[2];
    this.shift = shift;
    this.looks = looks;
  }

  /** Cuts; gives the volume removed, mm3. */
  run(m: MoveList): number {
    let removed = 0;
    let from = 0;
    for (let k = 0; k <= m.count; k++) {
      if (k < m.count && m.kind[k] !== MoveKind.rapid) continue;
      if (k > from) removed += this.feeds(m, from, k);
      if (k < m.count) removed += this.rapid(m, k);
      from = k + 1;
    }
    this.before += m.count;
    return removed;
  }

  touched(): Touched {
    const touches = [...this.worst.values()].map((w) => ({ ...w, rule: w.rule.id, lines: [...w.lines] }));
    return { touches, rapids: this.rapids };
  }

  findings(): Finding[] {
    return contactFindings(this.file, this.side, this.stock.map.cell, this.shift, [this.touched()]);
  }

  private note(rule: Rule, subject: string, depth: number, line: number, x: number, y: number, z: number): void {
    const key = `${rule.id} ${subject}`;
    const w = this.worst.get(key);
    if (w === undefined) this.worst.set(key, { rule, subject, lines: new Set([line]), depth, line, at: [x, y, z] });
    else {
      w.lines.add(line);
      if (depth > w.depth) Object.assign(w, { depth, line, at: [x, y, z] });
    }
  }

  /** Straight pieces of move k. */
  private pieces(m: MoveList, k: number, put: (ax: number, ay: number, az: number, bx: number, by: number, bz: number) => void): void {
    const ax = k > 0 ? m.x[k - 1] : m.start[0];
    const ay = k > 0 ? m.y[k - 1] : m.start[1];
    const az = k > 0 ? m.z[k - 1] : m.start[2];
    if (m.kind[k] === MoveKind.dwell) return;
    if (m.kind[k] === MoveKind.arc) chords(m, k, ax, ay, az, 0.002, put);
    else put(ax, ay, az, m.x[k], m.y[k], m.z[k]);
  }

  /** A run of feed moves: collars against the wood as it was before the run; move by move only where that touches. */
  private feeds(m: MoveList, from: number, to: number): number {
    const { stock, tool } = this;
    if (this.looks) this.places(m, from, to, false);
    let close = false;
    for (let k = from; k < to && !close; k++) close = this.collars(m, k, null);
    if (!close) return stock.cut(tool.profile, m, from, to);
    let removed = 0;
    for (let k = from; k < to; k++) {
      this.collars(m, k, m.line[k]);
      removed += stock.cut(tool.profile, m, k, k + 1);
    }
    return removed;
  }

  /** Whether shank or holder meets wood during move k; noted when a line is given. Wood within one cell of the shank counts. */
  private collars(m: MoveList, k: number, line: number | null): boolean {
    const { stock, tool, top } = this;
    const clearance = stock.map.cell;
    let any = false;
    this.pieces(m, k, (ax, ay, az, bx, by, bz) => {
      for (const c of tool.collars) {
        if (Math.min(az, bz) + c.from >= top) break;
        const depth = stock.penetration(c.radius + clearance, ax, ay, az + c.from, bx, by, bz + c.from);
        if (depth <= 0.01) continue;
        any = true;
        if (line !== null) this.note(c.part === "shank" ? PF.SHANK_STOCK : PF.HOLDER_STOCK, "", depth, line, bx, by, bz);
      }
    });
    return any;
  }

  /** Bed and holding, for the moves of a run. */
  private places(m: MoveList, from: number, to: number, rapid: boolean): void {
    const { solids, tool, side } = this;
    const reach = tool.widest;
    for (let k = from; k < to; k++) {
      if (m.kind[k] === MoveKind.dwell) continue;
      if (m.z[k] < side.bed - 1e-6) this.note(PF.BED, "", side.bed - m.z[k], m.line[k], m.x[k], m.y[k], m.z[k]);
      const line = m.line[k];
      this.pieces(m, k, (ax, ay, az, bx, by, bz) => {
        if (m.kind[k] === MoveKind.arc && bz < side.bed - 1e-6) this.note(PF.BED, "", side.bed - bz, line, bx, by, bz);
        for (const s of solids) {
          if (Math.min(az, bz) >= s.zMax || Math.max(ax, bx) + reach < s.xMin || Math.min(ax, bx) - reach > s.xMax) continue;
          const t = touch(tool, s, ax, ay, az, bx, by, bz);
          if (t !== null && t.depth > 1e-6)
            this.note(rapid ? PF.RAPID_HOLDING : PF.FEED_HOLDING, s.solid.name, t.depth, line, t.x, t.y, t.z);
        }
      });
    }
  }

  /** A rapid: nothing may be in its way. Straight up is always free: what is above was cleared on the way in. */
  private rapid(m: MoveList, k: number): number {
    const { stock, tool, top } = this;
    const ax = k > 0 ? m.x[k - 1] : m.start[0];
    const ay = k > 0 ? m.y[k - 1] : m.start[1];
    const az = k > 0 ? m.z[k - 1] : m.start[2];
    const [bx, by, bz] = [m.x[k], m.y[k], m.z[k]];
    if (this.looks) this.places(m, k, k + 1, true);
    if (ax === bx && ay === by && bz >= az) return 0;
    if (Math.min(az, bz) >= top) return 0;
    this.collars(m, k, m.line[k]);
    const depth = stock.penetration(tool.radius, ax, ay, az, bx, by, bz);
    if (depth <= 1e-3) return 0;
    // the disc at the tip says more than the cutter's own shape: sweep that shape, and see whether wood would go
    const one: MoveList = { ...m, count: 1, start: [ax, ay, az], kind: Uint8Array.of(MoveKind.line) };
    const at = { x: Float64Array.of(bx), y: Float64Array.of(by), z: Float64Array.of(bz) };
    const removed = stock.cut(tool.profile, { ...one, ...at }, 0, 1);
    this.rapids.push({ move: this.before + k, depth, removed, line: m.line[k], at: [bx, by, bz] });
    return removed;
  }
}

/** What all bands of the wood have seen of one program, as findings: the worst of every kind, its place in the program's own words. */
export function contactFindings(file: string, side: ProofSide, cell: Mm, shift: readonly [Mm, Mm], bands: readonly Touched[]): Finding[] {
  const worst = new Map<string, { most: Touch; readonly lines: Set<number> }>();
  const put = (t: Touch): void => {
    const key = `${t.rule} ${t.subject}`;
    const w = worst.get(key);
    if (w === undefined) {
      worst.set(key, { most: t, lines: new Set(t.lines) });
      return;
    }
    for (const line of t.lines) w.lines.add(line);
    if (t.depth > w.most.depth || (t.depth === w.most.depth && t.line < w.most.line)) w.most = t;
  };
  for (const { touches } of bands) for (const t of touches) put(t);
  // the disc at the tip says more than the cutter's own shape: only where wood would go, of all bands together
  const rapids = new Map<number, WoodInWay>();
  for (const r of bands.flatMap((b) => b.rapids)) {
    const q = rapids.get(r.move);
    rapids.set(r.move, q === undefined ? r : { ...r, depth: Math.max(q.depth, r.depth), removed: q.removed + r.removed });
  }
  const cellVolume = cell ** 2 * 1e-3;
  for (const { depth, removed, line, at } of rapids.values())
    if (removed > cellVolume) put({ rule: PF.RAPID_STOCK.id, subject: "", lines: [line], depth, line, at });
  return [...worst.values()].map(({ most: w, lines }) => {
    const [x, y, z] = w.at;
    const where = `${file}:${w.line}`;
    const more = lines.size > 1 ? ` (and on ${lines.size - 1} more)` : "";
    // in the words of the program, whatever the section
    const place = `x ${(x - shift[0]).toFixed(2)}, y ${(y - shift[1]).toFixed(2)}, z ${z.toFixed(2)}`;
    const [says, tryThis] = WORDS[w.rule](w.subject, w.depth.toFixed(2), `${place}${more}`);
    return finding(RULES[w.rule], { where, value: w.depth, limit: 0, unit: "mm", says, tryThis, at: { side: side.name, x, y, z } });
  });
}

const RULES: Readonly<Record<string, Rule>> = Object.fromEntries(
  [PF.RAPID_STOCK, PF.RAPID_HOLDING, PF.FEED_HOLDING, PF.BED, PF.SHANK_STOCK, PF.HOLDER_STOCK].map((r) => [r.id, r]),
);

type Words = (subject: string, depth: string, place: string) => readonly [string, string];
const WORDS: Readonly<Record<string, Words>> = {
  [PF.RAPID_STOCK.id]: (_, d, p) => [
    `A rapid goes up to ${d} mm deep through wood on its way to ${p}.`,
    "Raise the rapid to the safe height first.",
  ],
  [PF.RAPID_HOLDING.id]: (s, d, p) => [
    `A rapid hits the ${s} by ${d} mm at ${p}.`,
    "Raise the rapid to the safe height first, or move what holds the piece.",
  ],
  [PF.FEED_HOLDING.id]: (s, d, p) => [
    `The tool cuts ${d} mm into the ${s} at ${p}.`,
    "Move what holds the piece, or use a slimmer or longer cutter.",
  ],
  [PF.BED.id]: (_, d, p) => [`The tip goes ${d} mm below the bed at ${p}.`, "Check the sign and size of Z, and the zero."],
  [PF.SHANK_STOCK.id]: (_, d, p) => [
    `Wood beside the cutter stands ${d} mm above its flutes at ${p}: the shank would rub.`,
    "Use a cutter with longer flutes, or clear the wood beside it first.",
  ],
  [PF.HOLDER_STOCK.id]: (_, d, p) => [
    `The holder runs ${d} mm into wood at ${p}.`,
    "Let the cutter stick out further, or clear the wood first.",
  ],
};
