import { profileOf, radiusAtHeight, tipHeight, whatIsWrong } from "../cutting/shape.ts";
import type { Cutter } from "../cutting/types.ts";
import { type EngagementBox, EngagementField } from "../kernel/engagement.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { type Finding, finding } from "../units/index.ts";
import { chords } from "./probe.ts";
import type { ProgramEvent } from "./reader/machine.ts";
import { ENGAGEMENT } from "./rules.ts";
import type { EngagementFigure, EngagementLimit } from "./types.ts";

/*
 * How much wood every roughing cut meets, from the moves that a program's text describes and from nothing else: the rim is
 * measured against the wood as it stands at that moment, starts, ramps and links included.
 *
 *   angle   of the rim, in the direction of travel, that stands in wood
 *   load    the same weighed by the height of that wood over the depth asked: a ramp meets the full width at little depth
 *
 * On a level pass through wood as high as the depth asked both are the same. The load is what is held against the limit.
 */

/** A program of a side, with what is asked of its cuts; null: only stamped. */
export interface AuditedProgram {
  readonly file: string;
  readonly moves: MoveList;
  readonly events: readonly Pick<ProgramEvent, "kind" | "text" | "move">[];
  readonly cutter: Cutter;
  readonly cuts: readonly { readonly id: string; readonly asked: EngagementLimit | null }[];
}

/** Wood that a hand step puts back. */
export interface AuditedFill {
  readonly box: EngagementBox;
  readonly distance: (x: number, y: number) => number;
  /** Its height; absent: the blank's. */
  readonly top?: number;
}

export type AuditedStep = AuditedProgram | { readonly fills: readonly AuditedFill[] };

export interface Audit {
  /** By program file. */
  readonly figures: ReadonlyMap<string, readonly EngagementFigure[]>;
  /** By program file: the largest load (rad) met along each of its moves; only of programs with figures. */
  readonly along: ReadonlyMap<string, Float32Array>;
  readonly findings: readonly Finding[];
}

/** The rim is measured at least this often along the path, mm. */
export const AUDIT_STEP = 0.4;
/** Cells for cutters of 4 mm and more; finer ones in proportion. */
export const AUDIT_CELL = 0.2;
/** Beyond the limit by the auditor's own error and this share of it, a cut meets more wood than asked. */
export const MOST_BEYOND = 0.1;
/** Chord error of arcs, mm. */
const CHORD = 0.002;
/** Chord error of arcs where it is only asked which part of the wood they come near, mm. */
const NEAR = 0.05;
/** A turn of the path beyond which the wood is looked at anew, rad. */
const TURN = 0.1;
const BINS = 36;
const DEGREES = 180 / Math.PI;

/**
 * Audits the steps of one side in their order. `wood`: the blank, seen from above; `top`: its upper face. What goes beyond is looked at again
 * in a field twice, and four times, as fine before anything is said: a cell remembers two heights of the walls beside it, and where more meet in a corner the
 * coarser one may take a wall that the cutter slides along for wood ahead of it.
 */
export function auditEngagement(wood: EngagementBox, top: number, steps: readonly AuditedStep[], cell: number = AUDIT_CELL): Audit {
  let audit = auditOnce(wood, top, steps, cell);
  for (const finer of [2, 4]) if (audit.findings.length > 0) audit = auditOnce(wood, top, steps, cell / finer);
  return audit;
}

function auditOnce(wood: EngagementBox, top: number, steps: readonly AuditedStep[], cell: number): Audit {
  const programs = steps.filter((s): s is AuditedProgram => "moves" in s);
  const asked = programs.filter((p) => p.cuts.some((c) => c.asked !== null) && whatIsWrong(p.cutter) === null);
  const figures = new Map<string, readonly EngagementFigure[]>();
  const along = new Map<string, Float32Array>();
  const findings: Finding[] = [];
  const part = reachOf(asked, wood);
  if (part === null) return { figures, along, findings };
  const smallest = Math.min(...asked.map((p) => p.cutter.diameter));
  // where each cut will look is told before anything is stamped: what nobody looks at later is left out
  const field = new EngagementField(wood, top, part, Math.min(cell, smallest / 20), true);
  const last = steps.indexOf(asked[asked.length - 1]);
  let turn = 0;
  const runs = steps.slice(0, last + 1).map((step) => {
    if (!("moves" in step) || whatIsWrong(step.cutter) !== null) return null;
    const run = new Run(field, top, step, turn);
    turn += run.turns;
    run.tell();
    return run;
  });
  for (const [k, run] of runs.entries()) {
    const step = steps[k];
    if (!("moves" in step)) for (const f of step.fills) field.fill(f.box, f.top ?? top, f.distance);
    else if (run !== null) {
      run.go();
      const own = run.figures();
      if (own.length > 0) {
        figures.set(step.file, own);
        along.set(step.file, run.along);
      }
      for (const f of own) if (isBeyond(f)) findings.push(beyond(step.file, f));
    }
  }
  return { figures, along, findings };
}

export const isBeyond = (f: EngagementFigure): boolean => f.maxDegrees > f.limitDegrees * (1 + MOST_BEYOND) + f.errorDegrees;

function beyond(file: string, f: EngagementFigure): Finding {
  const place = `x ${f.at[0].toFixed(2)}, y ${f.at[1].toFixed(2)}, z ${f.at[2].toFixed(2)}`;
  return finding(ENGAGEMENT, {
    where: `${file}:${f.line}`,
    value: f.maxDegrees,
    limit: f.limitDegrees,
    unit: "deg",
    says: `The cutter meets ${f.maxDegrees.toFixed(0)} degrees of wood at ${place}; ${f.cut} was planned for ${f.limitDegrees.toFixed(0)} at a depth of ${f.depth.toFixed(2)} mm.`,
    tryThis: "Look at the program there; lower the feed by hand when it must be run as it is.",
    at: { x: f.at[0], y: f.at[1], z: f.at[2] },
  });
}

/** The part of the blank that the cuts with a limit can touch, or null. */
function reachOf(programs: readonly AuditedProgram[], wood: EngagementBox): EngagementBox | null {
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const p of programs) {
    const { moves: m, cutter } = p;
    const reach = cutter.diameter / 2 + 1;
    let [px, py] = m.start;
    for (let k = 0; k < m.count; k++) {
      const arc = m.kind[k] === MoveKind.arc ? Math.hypot(px - m.cx[k], py - m.cy[k]) : 0;
      [px, py] = [m.x[k], m.y[k]];
      if (m.kind[k] !== MoveKind.line && m.kind[k] !== MoveKind.arc) continue;
      const far = reach + 2 * arc;
      xMin = Math.min(xMin, px - far);
      xMax = Math.max(xMax, px + far);
      yMin = Math.min(yMin, py - far);
      yMax = Math.max(yMax, py + far);
    }
  }
  const box = {
    xMin: Math.max(xMin, wood.xMin - 1),
    yMin: Math.max(yMin, wood.yMin - 1),
    xMax: Math.min(xMax, wood.xMax + 1),
    yMax: Math.min(yMax, wood.yMax + 1),
  };
  return box.xMin < box.xMax && box.yMin < box.yMax ? box : null;
}

/** What one cut has met so far. */
class Tally {
  readonly id: string;
  readonly asked: EngagementLimit;
  readonly error: number;
  /** A cut that may have the full width is judged by the middle of the rim: how high the wood ahead of it stands. */
  readonly part: "front" | "middle";
  readonly bins = new Float64Array(BINS);
  air = 0;
  max = 0;
  widest = 0;
  line = 0;
  widestLine = 0;
  at: readonly [number, number, number] = [0, 0, 0];

  constructor(id: string, asked: EngagementLimit, error: number) {
    this.id = id;
    this.asked = asked;
    this.error = error;
    this.part = asked.limit >= Math.PI - 1e-9 ? "middle" : "front";
  }

  add(angle: number, load: number, length: number, line: number, x: number, y: number, z: number): void {
    if (angle > 0) this.bins[Math.min(BINS - 1, Math.floor((load * DEGREES) / 10))] += length;
    else this.air += length;
    if (load > this.max) {
      this.max = load;
      this.line = line;
      this.at = [x, y, z];
    }
    if (angle > this.widest) {
      this.widest = angle;
      this.widestLine = line;
    }
  }
}

/** Runs one program over the field. */
class Run {
  private readonly field: EngagementField;
  private readonly top: number;
  private readonly program: AuditedProgram;
  private readonly tallies: readonly (Tally | null)[];
  /** Largest load met along each move, rad. */
  readonly along: Float32Array;
  private move = 0;
  private readonly first: number;
  private readonly owner: readonly { readonly from: number; readonly tally: Tally | null }[];
  /** Radius of the audited cylinder and its height above the tip. */
  private readonly radius: number;
  private readonly lift: number;
  /** Straight pieces not yet stamped: ax, ay, az, bx, by, bz. */
  private pending: number[] = [];
  private pendingLength = 0;
  private turned = 0;
  private joined = false;
  private ux = 0;
  private uy = 0;

  /** `turn`: of the program's first cut; every further one has the next. */
  constructor(field: EngagementField, top: number, program: AuditedProgram, turn: number) {
    this.field = field;
    this.top = top;
    this.first = turn;
    this.program = program;
    this.along = new Float32Array(program.moves.count);
    const profile = profileOf(program.cutter);
    const depth = Math.max(0, ...program.cuts.map((c) => c.asked?.depth ?? 0));
    const full = tipHeight(profile);
    // a rounded tip counts as the cylinder it is at the depth asked; where nothing is asked, only what is surely cut is stamped
    this.lift = depth > 0 ? 0 : full;
    this.radius = Math.max(1e-3, radiusAtHeight(profile, depth > 0 ? Math.min(depth, full) : full));
    const error = field.error(this.radius, AUDIT_STEP);
    this.tallies = program.cuts.map((c) => (c.asked === null ? null : new Tally(c.id, c.asked, error)));
    this.owner = ownersOf(program, this.tallies);
  }

  figures(): EngagementFigure[] {
    return this.tallies.flatMap((t) => {
      if (t === null) return [];
      const round = (v: number, grain: number): number => Math.round(v / grain) * grain;
      const histogram = Array.from(t.bins, (v) => Math.round(v * 10) / 10);
      while (histogram.length > 0 && histogram[histogram.length - 1] === 0) histogram.pop();
      return [
        {
          cut: t.id,
          limitDegrees: t.asked.limit * DEGREES,
          depth: t.asked.depth,
          maxDegrees: round(t.max * DEGREES, 0.01),
          errorDegrees: round(t.error * DEGREES, 0.01),
          line: t.line,
          at: t.at,
          widestDegrees: round(t.widest * DEGREES, 0.01),
          widestLine: t.widestLine,
          histogram,
          air: Math.round(t.air * 10) / 10,
        },
      ];
    });
  }

  get turns(): number {
    return this.owner.length;
  }

  /** Tells the field where and when rims will be measured. */
  tell(): void {
    if (this.tallies.every((t) => t === null)) return;
    const { moves: m } = this.program;
    const { field, top, lift, radius } = this;
    let [px, py, pz] = m.start;
    let o = 0;
    const put = (ax: number, ay: number, az: number, bx: number, by: number, bz: number): void => {
      if (az + lift < top || bz + lift < top) field.willLook(this.first + o, ax, ay, bx, by, radius + NEAR);
    };
    for (let k = 0; k < m.count; k++) {
      while (o + 1 < this.owner.length && this.owner[o + 1].from <= k) o++;
      if (this.owner[o].tally !== null) {
        if (m.kind[k] === MoveKind.line) put(px, py, pz, m.x[k], m.y[k], m.z[k]);
        else if (m.kind[k] === MoveKind.arc) chords(m, k, px, py, pz, NEAR, put);
      }
      px = m.x[k];
      py = m.y[k];
      pz = m.z[k];
    }
  }

  go(): void {
    const { moves: m } = this.program;
    let [px, py, pz] = m.start;
    let o = 0;
    this.field.begin(this.first);
    for (let k = 0; k < m.count; k++) {
      while (o + 1 < this.owner.length && this.owner[o + 1].from <= k) this.field.begin(this.first + ++o);
      const { tally } = this.owner[o];
      const line = m.line[k];
      this.move = k;
      if (m.kind[k] === MoveKind.line) this.straight(px, py, pz, m.x[k], m.y[k], m.z[k], line, tally);
      else if (m.kind[k] === MoveKind.arc)
        chords(m, k, px, py, pz, CHORD, (ax, ay, az, bx, by, bz) => this.straight(ax, ay, az, bx, by, bz, line, tally));
      else if (m.kind[k] === MoveKind.rapid) {
        this.flush();
        this.joined = false;
      }
      px = m.x[k];
      py = m.y[k];
      pz = m.z[k];
    }
    this.flush();
  }

  private straight(ax: number, ay: number, za: number, bx: number, by: number, zb: number, line: number, tally: Tally | null): void {
    const { field, radius, top } = this;
    const az = za + this.lift;
    const bz = zb + this.lift;
    if (az >= top && bz >= top) {
      this.flush();
      this.joined = false;
      if (tally !== null) tally.air += Math.hypot(bx - ax, by - ay);
      return;
    }
    const dx = bx - ax;
    const dy = by - ay;
    const L = Math.sqrt(dx * dx + dy * dy);
    if (L < 1e-6) {
      this.flush();
      if (tally !== null && bz < az) {
        field.measure(bx, by, bz, 1, 0, radius, tally.asked.depth, "whole");
        // straight down through wood: the rim meets no more of it than the move is deep
        const most = (field.angle * (az - bz)) / tally.asked.depth;
        this.note(Math.min(field.load, most));
        tally.add(field.angle, Math.min(field.load, most), 0, line, bx, by, zb);
      }
      field.stamp(ax, ay, az, bx, by, bz, radius, this.joined);
      this.joined = true;
      return;
    }
    const ux = dx / L;
    const uy = dy / L;
    if (this.pending.length > 0) {
      const turn = Math.abs(Math.atan2(this.ux * uy - this.uy * ux, this.ux * ux + this.uy * uy));
      this.turned += turn;
      if (this.turned > TURN || this.pendingLength >= AUDIT_STEP || L >= AUDIT_STEP) this.settle(line, tally);
    }
    this.ux = ux;
    this.uy = uy;
    if (L < AUDIT_STEP) {
      this.pending.push(ax, ay, az, bx, by, bz);
      this.pendingLength += L;
      if (this.pendingLength >= AUDIT_STEP) this.settle(line, tally);
      return;
    }
    if (tally !== null) {
      const n = Math.ceil(L / AUDIT_STEP);
      for (let k = 1; k <= n; k++) {
        const t = k / n;
        const [x, y, z] = [ax + dx * t, ay + dy * t, az + (bz - az) * t];
        field.measure(x, y, z, ux, uy, radius, tally.asked.depth, tally.part);
        this.note(field.load);
        tally.add(field.angle, field.load, L / n, line, x, y, z - this.lift);
      }
    }
    field.stamp(ax, ay, az, bx, by, bz, radius, this.joined);
    this.joined = true;
  }

  /** Measures at the end of the short pieces gathered so far, and stamps them. */
  private note(load: number): void {
    if (load > this.along[this.move]) this.along[this.move] = load;
  }

  private settle(line: number, tally: Tally | null): void {
    const { pending: p, field } = this;
    const n = p.length;
    if (n > 0 && tally !== null) {
      field.measure(p[n - 3], p[n - 2], p[n - 1], this.ux, this.uy, this.radius, tally.asked.depth, tally.part);
      this.note(field.load);
      tally.add(field.angle, field.load, this.pendingLength, line, p[n - 3], p[n - 2], p[n - 1] - this.lift);
    }
    this.flush();
  }

  private flush(): void {
    const { pending: p, field, radius } = this;
    for (let k = 0; k < p.length; k += 6) {
      field.stamp(p[k], p[k + 1], p[k + 2], p[k + 3], p[k + 4], p[k + 5], radius, this.joined);
      this.joined = true;
    }
    p.length = 0;
    this.pendingLength = 0;
    this.turned = 0;
  }
}

/** Which moves belong to which cut, by the lines that announce them; a program without such lines is judged by the largest limit. */
function ownersOf(p: AuditedProgram, tallies: readonly (Tally | null)[]): { readonly from: number; readonly tally: Tally | null }[] {
  const most = tallies.reduce<Tally | null>(
    (a, b) => (b !== null && (a === null || b.asked.limit * b.asked.depth > a.asked.limit * a.asked.depth) ? b : a),
    null,
  );
  const found = p.cuts.map((c, k) => {
    const e = p.events.find((v) => v.kind === "comment" && /^\s*CUT \d/.test(v.text) && v.text.includes(`: ${c.id} -`));
    return { from: e === undefined ? -1 : e.move, tally: tallies[k] };
  });
  if (p.cuts.length === 1 || found.some((f) => f.from < 0)) return [{ from: 0, tally: most }];
  found.sort((a, b) => a.from - b.from);
  return [{ from: 0, tally: found[0].tally }, ...found];
}
