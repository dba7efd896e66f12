import type { Neck } from "../../neck/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { NoBody } from "./body.ts";
import { type Built, buildBody } from "./build.ts";
import { meshBody } from "./mesh.ts";
import { SH_NO_SOLID, SH_SOLID_LEFT_OUT } from "./rules.ts";
import { SPLINE_TOLERANCE, stepOf } from "./step.ts";
import { stlOf } from "./stl.ts";
import { threeMfOf } from "./three-mf.ts";
import type { Mesh } from "./types.ts";

export { SOLID_RULES } from "./rules.ts";

export interface SolidOptions {
  /** Largest distance between the mesh and the exact surface; absent: 0.01 mm. Without meaning for STEP, which has surfaces. */
  readonly tolerance?: Mm;
  /** The outer body alone: no slots, bores, recesses or openings. Absent: with them. */
  readonly plain?: boolean;
}

/** A file, or the findings that say why there is none (`bytes` is null exactly when one of them is a stop). Notes name what is left out. */
export interface SolidFile {
  readonly bytes: Uint8Array | null;
  readonly findings: readonly Finding[];
}

/** Of the mesh, mm. */
export const TOLERANCE: Mm = 0.01;

/** The finished neck as a closed body on exact surfaces, with what is left out of it; or the finding that says where it does not close. */
export function bodyOf(neck: Neck, plain: boolean): { readonly built: Built | null; readonly findings: readonly Finding[] } {
  const known = bodies.get(neck)?.get(plain);
  if (known) return known;
  const made = makeBody(neck, plain);
  bodies.set(neck, (bodies.get(neck) ?? new Map()).set(plain, made));
  return made;
}

/** A neck never changes, so its body and its mesh are made once for all the kinds of file. */
const bodies = new WeakMap<Neck, Map<boolean, ReturnType<typeof makeBody>>>();
const meshes = new WeakMap<Built, Map<Mm, Mesh>>();

function makeBody(neck: Neck, plain: boolean): { readonly built: Built | null; readonly findings: readonly Finding[] } {
  try {
    const built = buildBody(neck, plain);
    const reasons = new Map<string, string[]>();
    for (const { id, why } of built.leftOut) reasons.set(why, [...(reasons.get(why) ?? []), id]);
    const findings = [...reasons].map(([why, ids]) =>
      finding(SH_SOLID_LEFT_OUT, {
        where: "solid",
        value: ids.length,
        limit: 0,
        unit: "",
        says: `The solid leaves out ${ids.join(", ")}: ${why}.`,
        tryThis: "Take it from the drawings.",
      }),
    );
    return { built, findings };
  } catch (e) {
    return { built: null, findings: [refusal(e)] };
  }
}

/** What a body or a mesh that does not close says; any other error is passed on. */
function refusal(e: unknown): Finding {
  if (!(e instanceof NoBody)) throw e;
  const { x, y } = e.at;
  return finding(SH_NO_SOLID, {
    where: e.where,
    value: null,
    limit: null,
    unit: "",
    says: `The neck does not close to a solid at x ${x.toFixed(2)}, y ${y.toFixed(2)} mm: ${e.message}`,
    tryThis: "Move what meets there apart, or take the drawings, which need no solid.",
  });
}

/** The triangles of a body, each within the tolerance of its surface. */
export function meshOf(built: Built, tolerance: Mm): Mesh {
  const known = meshes.get(built)?.get(tolerance);
  if (known) return known;
  const made = meshBody(built.body, tolerance);
  meshes.set(built, (meshes.get(built) ?? new Map()).set(tolerance, made));
  return made;
}

const PLAIN = "The outer body alone: no slots, bores, recesses or openings.";

const describe = (findings: readonly Finding[], plain: boolean | undefined, tolerance: Mm): string =>
  [
    `Finished neck in the neck frame, mm; triangles within ${tolerance} mm of its surfaces.`,
    ...(plain ? [PLAIN] : []),
    ...findings.map((f) => f.says),
  ].join(" ");

function written(neck: Neck, options: SolidOptions, write: (mesh: Mesh, says: string, tolerance: Mm) => Uint8Array): SolidFile {
  const { built, findings } = bodyOf(neck, options.plain ?? false);
  if (!built) return { bytes: null, findings };
  const tolerance = options.tolerance ?? TOLERANCE;
  let mesh: Mesh;
  try {
    mesh = meshOf(built, tolerance);
  } catch (e) {
    return { bytes: null, findings: [...findings, refusal(e)] };
  }
  if (mesh.deviation > tolerance) {
    const stop = finding(SH_NO_SOLID, {
      where: "solid",
      value: mesh.deviation,
      limit: tolerance,
      unit: "mm",
      says: `The triangles stray ${mesh.deviation.toFixed(4)} mm from the surfaces, more than the ${tolerance} mm asked for.`,
      tryThis: "Ask for a wider tolerance.",
    });
    return { bytes: null, findings: [...findings, stop] };
  }
  return { bytes: write(mesh, describe(findings, options.plain, tolerance), tolerance), findings };
}

/** The finished neck as a binary STL: triangles alone, in mm by custom. Synchronous, the same bytes for the same neck. */
export function stlBytes(neck: Neck, options: SolidOptions = {}): SolidFile {
  return written(neck, options, (mesh, _says, tolerance) =>
    stlOf(mesh, `Neck ${neck.order.name.slice(0, 40)}, unit mm, within ${tolerance} mm`),
  );
}

/** The finished neck as a 3MF package, in mm. Synchronous, the same bytes for the same neck. */
export function threeMfBytes(neck: Neck, options: SolidOptions = {}): SolidFile {
  return written(neck, options, (mesh, says) => threeMfOf(mesh, { Title: neck.order.title, Description: says }));
}

/** The finished neck as a STEP file of real surfaces. Synchronous, the same bytes for the same neck. */
export function stepBytes(neck: Neck, options: SolidOptions = {}): SolidFile {
  const { built, findings } = bodyOf(neck, options.plain ?? false);
  if (!built) return { bytes: null, findings };
  const says = [
    `Finished neck in the neck frame, mm; lines and arcs exact, every other curve and surface a spline within ${SPLINE_TOLERANCE} mm.`,
    ...(options.plain ? [PLAIN] : []),
    ...findings.map((f) => f.says),
  ].join(" ");
  try {
    return { bytes: stepOf(built.body, neck.order.name, says), findings };
  } catch (e) {
    return { bytes: null, findings: [...findings, refusal(e)] };
  }
}
