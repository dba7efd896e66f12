import type { Holding, Side, Transform } from "../holding/types.ts";
import type { CutPlan } from "../paths/types.ts";
import type { EngagementLimit, ProofProgram } from "../proof/types.ts";
import type { CutterSpec, ShopSpec } from "../spec/types.ts";
import { degToRad, radToDeg } from "../units/index.ts";
import { tidy } from "./features.ts";
import type { JobClearance, JobCutter, JobFile, JobProgram, JobSide } from "./files.ts";

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
    ...(side.sections === undefined ? {} : { sections: side.sections }),
    ...(side.real === undefined ? {} : { real: side.real.map(tidy) as unknown as Transform }),
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

/** A shop's cutters as a job states those that it uses. */
export const cuttersOf = (job: Pick<JobFile, "cutters">, shop: Pick<ShopSpec, "cutters">): readonly CutterSpec[] =>
  shop.cutters.map((c) => {
    const stated = job.cutters.find((j) => j.number === c.number);
    return stated === undefined ? c : cutterOf(stated, c);
  });

/** A program of a job with its text, as the proof takes it. */
export const programOf = (p: JobProgram, text: Uint8Array): ProofProgram => ({
  file: p.file,
  side: p.side,
  cutter: p.cutter,
  cuts: p.cuts,
  text,
  ...(p.section === undefined ? {} : { section: p.section }),
});

/** How near what turns comes to what holds, on each side: of what stands and of the strips under the piece. Never more than it is. */
export const clearOf = (plan: Pick<CutPlan, "clear">): JobClearance[] =>
  (plan.clear ?? []).flatMap(({ side, standing, under }) =>
    [standing, under].flatMap((c) =>
      c === undefined ? [] : [{ side, of: c.name, role: c.role, mm: Math.floor(c.mm * 100) / 100, part: c.part, cut: c.cut }],
    ),
  );

/** Allowed cusp of every cut that leaves finished surface. */
export function cuspsOf(plan: Pick<CutPlan, "cuts">): Record<string, number> {
  const cusps: Record<string, number> = {};
  for (const cut of plan.cuts) if (cut.cusp !== null) cusps[cut.id] = cut.cusp;
  return cusps;
}

/** How much wood every cut that bounds it may meet: for the proof's audit. */
export function engagementOf(plan: Pick<CutPlan, "cuts">): Record<string, EngagementLimit> {
  const limits: Record<string, EngagementLimit> = {};
  for (const cut of plan.cuts) if (cut.engagement !== undefined) limits[cut.id] = cut.engagement;
  return limits;
}
