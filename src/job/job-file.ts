import type { Holding, Side } from "../holding/types.ts";
import { flatten } from "../kernel/contour.ts";
import type { Polygon } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { CutPlan } from "../paths/types.ts";
import type { CutterSpec } from "../spec/types.ts";
import { degToRad, radToDeg } from "../units/index.ts";
import type { JobCutter, JobFeatures, JobSide } from "./files.ts";

/** Largest distance of the outline's polygons in job.json from the exact curves. */
const CHORD = 0.005;

/** Twelve digits hold every length to a picometre and drop the last bits of an addition; integers stay as they are. */
const tidy = (v: number): number => (Number.isFinite(v) ? Number(v.toPrecision(12)) + 0 : v);

export function jobSide(side: Side): JobSide {
  return {
    name: side.name,
    neckToProgram: side.neckToProgram.map(tidy) as unknown as JobSide["neckToProgram"],
    stock: side.stock,
    bed: side.bed,
    holding: side.holding,
    safeZ: side.safeZ,
    zeroOnBed: side.zeroOnBed,
    zeroSays: side.zeroSays,
  };
}

export const jobSides = (holding: Holding): readonly JobSide[] => [jobSide(holding.sides.board), jobSide(holding.sides.carve)];

export const jobCutter = (c: CutterSpec): JobCutter => ({
  number: c.number,
  name: c.name,
  shape: c.shape,
  diameter: c.diameter,
  cornerRadius: c.cornerRadius,
  tipDiameter: c.tipDiameter,
  tipAngle: tidy(radToDeg(c.tipAngle)),
  fluteLength: c.fluteLength,
  reach: c.reach,
  shankDiameter: c.shankDiameter,
  holder: c.holder,
});

/** What the job file says of a cutter, laid over what the shop says of it: shape from the one, feeds and chips from the other. */
export const cutterOf = (job: JobCutter, shop: CutterSpec): CutterSpec => ({ ...shop, ...job, tipAngle: degToRad(job.tipAngle) });

const ring = (polygon: Polygon): (readonly [number, number])[] => {
  const points: (readonly [number, number])[] = [];
  for (let k = 0; k + 1 < polygon.length; k += 2) points.push([tidy(polygon[k]), tidy(polygon[k + 1])]);
  return points;
};

export function jobFeatures(neck: Neck): JobFeatures {
  const f = neck.features;
  return {
    outline: { neck: ring(flatten(neck.outline, CHORD)), board: ring(flatten(neck.board, CHORD)), chord: CHORD },
    frets: f.frets.map((s) => ({
      id: s.id,
      number: s.number,
      bass: [tidy(s.bass.x), tidy(s.bass.y)],
      treble: [tidy(s.treble.x), tidy(s.treble.y)],
      kerf: s.kerf,
      depth: s.depth,
      ends: s.ends,
    })),
    tuners: f.tuners.map((t) => ({
      id: t.id,
      string: t.string,
      x: tidy(t.x),
      y: tidy(t.y),
      diameter: Math.max(...t.steps.map((s) => s.diameter)),
      steps: t.steps.map((s) => ({ diameter: s.diameter, zTop: tidy(s.zTop), zBottom: tidy(s.zBottom) })),
    })),
    nut: { id: f.nut.id, kind: f.nut.kind, xMin: tidy(f.nut.xMin), xMax: tidy(f.nut.xMax), zFloor: tidy(f.nut.zFloor) },
    markers: f.markers.map((m) => ({ id: m.id, x: tidy(m.x), y: tidy(m.y), diameter: m.diameter, zFloor: tidy(m.zFloor) })),
    rod: f.rod.map((r) => ({
      id: r.id,
      from: r.from,
      xMin: tidy(r.xMin),
      xMax: tidy(r.xMax),
      width: r.width,
      zFloor: tidy(r.zFloor),
      rodHeight: r.rodHeight,
    })),
    screws: f.screws.map((s) => ({ id: s.id, x: tidy(s.x), y: tidy(s.y), diameter: s.diameter, zFrom: tidy(s.zFrom), zTo: tidy(s.zTo) })),
    sideMarkers: f.sideMarkers.map((m) => ({ id: m.id, x: tidy(m.x), y: tidy(m.y), z: tidy(m.z), diameter: m.diameter, depth: m.depth })),
  };
}

/** Allowed cusp of every cut that leaves finished surface. */
export function cuspsOf(plan: Pick<CutPlan, "cuts">): Record<string, number> {
  const cusps: Record<string, number> = {};
  for (const cut of plan.cuts) if (cut.cusp !== null) cusps[cut.id] = cut.cusp;
  return cusps;
}
