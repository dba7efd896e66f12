import { type Refound, type Rezero, rezero } from "../holding/correct/rezero.ts";
import { settingOf } from "../holding/sections/setting.ts";
import { apply } from "../holding/transform.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import { inverseAffine, mapPoint } from "../kernel/map-moves.ts";
import type { Mm } from "../units/index.ts";
import { InputError } from "./errors.ts";
import type { MadeJob } from "./made.ts";
import type { SetSide } from "./resume.ts";

/* Which features the zero of a stopped program can be found again by, and where that program has them. */

/** A feature as it is touched: a place, or one axis of it. */
interface Touchable {
  readonly name: string;
  readonly at: readonly [Mm | null, Mm | null, Mm | null];
  readonly says: string;
}

/** All that can be touched on a side at the moment; `wood` as it stands then. */
export function touchables(made: MadeJob, side: SetSide, section: number | undefined, wood: HeightMap): Touchable[] {
  const setting = settingOf(side, section);
  const back = side.real === undefined ? null : inverseAffine(side.real);
  // from the side's one frame to what the machine is told
  const told = (x: Mm, y: Mm, z: Mm): [Mm, Mm, Mm] => {
    const p: [Mm, Mm, Mm] = [x - setting.shift[0], y - setting.shift[1], z];
    return back === null ? p : mapPoint(back, ...p);
  };
  const alongX = made.shop.machine.along === "x";
  const out: Touchable[] = [];
  for (const s of setting.holding)
    if (s.kind === "cylinder" && (s.role === "fence pin" || s.role === "index pin")) {
      const [x, y] = told(s.x, s.y, 0);
      out.push({ name: s.name, at: [x, y, null], says: "middle of the pin, from both its sides along each axis" });
    }
  const zero = told(setting.shift[0], setting.shift[1], 0);
  out.push({ name: "edge", at: alongX ? [null, zero[1], null] : [zero[0], null, null], says: "the datum edge" });
  if (section === undefined || section === 1)
    out.push({ name: "end", at: alongX ? [zero[0], null, null] : [null, zero[1], null], says: "the end at the stop" });
  out.push({ name: "bed", at: [null, null, told(0, 0, side.bed)[2]], says: "the bed, with the tip of the cutter" });
  out.push({ name: "top", at: [null, null, told(0, 0, side.stock.max[2])[2]], says: "the blank's upper face where nothing has cut" });
  const features = made.neck.features;
  for (const f of [...features.tuners, ...features.screws, ...(side.name === "board" ? features.markers : [])]) {
    const [x, y] = apply(side.neckToProgram, f.x, f.y, 0);
    const through = side.name === "carve" && features.tuners.some((t) => t.id === f.id);
    if (!through && !bored(wood, x, y, "diameter" in f ? f.diameter : Math.max(...f.steps.map((s) => s.diameter)))) continue;
    const [px, py] = told(x, y, 0);
    out.push({ name: f.id, at: [px, py, null], says: "middle of the bore, from both its sides along each axis" });
  }
  return out;
}

/** Does the wood show a hole there: lower in the middle than all around? */
function bored(map: HeightMap, x: Mm, y: Mm, diameter: Mm): boolean {
  const at = (px: Mm, py: Mm): number => {
    const i = Math.round((px - map.x0) / map.cell);
    const j = Math.round((py - map.y0) / map.cell);
    return i < 0 || j < 0 || i >= map.nx || j >= map.ny ? Number.NEGATIVE_INFINITY : map.z[j * map.nx + i];
  };
  const middle = at(x, y);
  const r = diameter / 2 + 1.5;
  return [0, 1, 2, 3, 4, 5, 6, 7].every((k) => at(x + r * Math.cos((k * Math.PI) / 4), y + r * Math.sin((k * Math.PI) / 4)) > middle + 0.5);
}

export interface FoundAgain extends Rezero {
  readonly readings: readonly Refound[];
}

/**
 * Readings as they are given, NAME=X,Y for places and NAME=VALUE for an edge, the end, the bed or the top, in the machine's work offset as it
 * is now. Throws InputError on a feature that is not there, not cut yet, or on readings that cannot be.
 */
export function findZero(texts: readonly string[], can: readonly Touchable[]): FoundAgain {
  const readings = texts.map((text): Refound => {
    const parts = /^\s*(.+?)\s*=\s*(.+?)\s*$/.exec(text);
    const feature = can.find((c) => c.name === parts?.[1]);
    if (parts === null || feature === undefined)
      throw new InputError(
        `--found ${text}`,
        parts === null ? "this is not a feature with what was found" : `"${parts[1]}" cannot be touched now`,
        `write NAME=X,Y or NAME=VALUE; there are ${can.map((c) => c.name).join(", ")}`,
      );
    const axes = [0, 1, 2].filter((a) => feature.at[a] !== null);
    const values = parts[2].split(/\s*,\s*/).map((v) => (/^[-+]?\d+(?:\.\d+)?$/.test(v) ? Number(v) : Number.NaN));
    if (values.length !== axes.length || values.some((v) => !Number.isFinite(v)))
      throw new InputError(
        `--found ${text}`,
        `${feature.name} takes ${axes.length === 2 ? "two numbers, its X and its Y" : `one number, its ${"XYZ"[axes[0]]}`}`,
        `write it like "${feature.name}=${axes.map((a) => feature.at[a]!.toFixed(2)).join(",")}", in mm`,
      );
    const found: [Mm | null, Mm | null, Mm | null] = [null, null, null];
    axes.forEach((a, k) => {
      found[a] = values[k];
    });
    return { name: feature.name, told: feature.at, found };
  });
  const result = rezero(readings);
  if (!result.ok) throw new InputError("--found", result.says, result.tryThis);
  return { ...result.value, readings };
}
