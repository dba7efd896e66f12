import { type Finding, finding, type Rule } from "../units/index.ts";
import { boxIn, type SideFrame } from "./place.ts";
import type { Probe } from "./probe.ts";
import type { Measure } from "./types.ts";

/** Heights of the wood, program z, over places of the neck's plan. */
export type Ground = (x: number, y: number, enough?: number) => number;

/** Collects measures; one that misses its tolerance becomes a finding. */
export class Gauge {
  readonly measures: Measure[] = [];
  readonly findings: Finding[] = [];
  readonly frame: SideFrame;
  private readonly probe: Probe;

  constructor(frame: SideFrame, probe: Probe) {
    this.frame = frame;
    this.probe = probe;
  }

  /** The ground within `reach` of a place of the neck, after the steps before `until`. */
  ground(x: number, y: number, reach: number, until?: number): Ground {
    return this.groundOver(x - reach, y - reach, x + reach, y + reach, until);
  }

  groundOver(xMin: number, yMin: number, xMax: number, yMax: number, until?: number): Ground {
    const { xy } = this.frame;
    const box = boxIn(this.frame, { xMin, yMin, xMax, yMax });
    const spot = this.probe.near(box.xMin, box.yMin, box.xMax, box.yMax, until);
    return (x, y, enough) => {
      const [px, py] = xy(x, y);
      return spot.height(px, py, enough);
    };
  }

  measure(rule: Rule, m: Measure, at: { readonly x: number; readonly y: number }): void {
    this.measures.push(m);
    const off = m.measured - m.ordered;
    // NaN is no measure within tolerance either
    if (Math.abs(off) <= m.tolerance) return;
    const digits = m.unit === "mm" ? 3 : 2;
    this.findings.push(
      finding(rule, {
        where: m.id,
        value: m.measured,
        limit: m.tolerance,
        unit: m.unit,
        says: Number.isFinite(off)
          ? `${m.id}, ${m.what}: ${m.measured.toFixed(digits)} ${m.unit} instead of ${m.ordered.toFixed(digits)} ${m.unit}, off by ${off.toFixed(digits)}; ${m.tolerance.toFixed(digits)} is allowed.`
          : `${m.id}, ${m.what}: it cannot be measured.`,
        tryThis: "Find the program that cuts it and mend it, or make the programs again.",
        at: { x: at.x, y: at.y },
      }),
    );
  }

  missing(rule: Rule, id: string, says: string, at: { readonly x: number; readonly y: number }): void {
    this.findings.push(
      finding(rule, {
        where: id,
        value: null,
        limit: null,
        unit: "",
        says,
        tryThis: "See whether its cut is missing or lies elsewhere.",
        at: { x: at.x, y: at.y },
      }),
    );
  }
}

export interface Round {
  readonly x: number;
  readonly y: number;
  readonly diameter: number;
}

/** Centre and diameter of a round wall at a height, from 24 rays; null where it is not cut. */
export function roundAt(height: Ground, x: number, y: number, radius: number, level: number, wall: Wall): Round | null {
  const n = 24;
  let sum = 0;
  let sx = 0;
  let sy = 0;
  for (let k = 0; k < n; k++) {
    const a = (2 * Math.PI * (k + 0.5)) / n;
    const [c, s] = [Math.cos(a), Math.sin(a)];
    const r = wall((t, enough) => height(x + t * c, y + t * s, enough), level, radius * 1.3 + 0.6, radius * 0.8, 0.12);
    if (Number.isNaN(r)) return null;
    sum += r;
    sx += r * c;
    sy += r * s;
  }
  return { x: x + (2 * sx) / n, y: y + (2 * sy) / n, diameter: (2 * sum) / n };
}

type Wall = (height: (s: number, enough: number) => number, level: number, inside: number, outside: number, stride?: number) => number;
