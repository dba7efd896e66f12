import type { Mm } from "../../units/index.ts";
import { type SplineCurve, splineCurve, splineSurface } from "./spline.ts";
import type { Body, Edge, Face, Patch, Surface, XYZ } from "./types.ts";

/** Lines and arcs are exact; every other curve and surface is a spline within this of it. */
export const SPLINE_TOLERANCE: Mm = 2e-4;
/** What the file states as its uncertainty: an edge may lie this far from the two surfaces it joins. */
const UNCERTAINTY: Mm = 1e-3;

const real = (v: number): string => {
  const s = v.toFixed(10).replace(/0+$/, "");
  return s === "-0." ? "0." : s;
};
const reals = (vs: readonly number[]): string => `(${vs.map(real).join(",")})`;

/** A string of ISO 10303-21: apostrophes and backslashes doubled, everything beyond ASCII as \X2\. */
const text = (s: string): string =>
  `'${[...s]
    .map((c) => {
      const n = c.codePointAt(0) ?? 63;
      if (c === "'" || c === "\\") return c + c;
      if (n >= 32 && n < 127) return c;
      return n < 0x10000 ? `\\X2\\${n.toString(16).toUpperCase().padStart(4, "0")}\\X0\\` : "?";
    })
    .join("")}'`;

const minus = (a: XYZ, b: XYZ): XYZ => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: XYZ, b: XYZ): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const unit = (a: XYZ): XYZ => {
  const n = Math.hypot(a[0], a[1], a[2]);
  return [a[0] / n, a[1] / n, a[2] / n];
};
const square = (a: XYZ, axis: XYZ): XYZ => {
  const k = dot(a, axis);
  return [a[0] - k * axis[0], a[1] - k * axis[1], a[2] - k * axis[2]];
};

/**
 * A body as a STEP file (ISO 10303-21, schema AUTOMOTIVE_DESIGN): one MANIFOLD_SOLID_BREP in millimetres, its faces bounded by
 * edges that both neighbours share.
 */
export function stepOf(body: Body, name: string, description: string): Uint8Array {
  const data: string[] = [];
  const add = (s: string): string => {
    data.push(s);
    return `#${data.length}`;
  };
  const list = (ids: readonly string[]): string => `(${ids.join(",")})`;
  const point = (p: XYZ): string => add(`CARTESIAN_POINT('',${reals(p)})`);
  const direction = (p: XYZ): string => add(`DIRECTION('',${reals(unit(p))})`);
  const placement = (origin: XYZ, axis: XYZ, ref: XYZ): string =>
    add(`AXIS2_PLACEMENT_3D('',${point(origin)},${direction(axis)},${direction(ref)})`);
  const across = (axis: XYZ): XYZ => square(Math.abs(axis[0]) < 0.8 ? [1, 0, 0] : [0, 1, 0], axis);
  const multiples = (knots: readonly number[]): string => `(${knots.map((_, k) => (k === 0 || k === knots.length - 1 ? 4 : 2)).join(",")})`;
  const bspline = ({ points, knots }: SplineCurve): string =>
    add(
      `B_SPLINE_CURVE_WITH_KNOTS('',3,${list(points.map(point))},.UNSPECIFIED.,.F.,.F.,${multiples(knots)},${reals(knots)},.UNSPECIFIED.)`,
    );

  const vertices = body.vertices.map((v) => add(`VERTEX_POINT('',${point(v.p)})`));
  const curveOf = (e: Edge): string => {
    const { form } = e;
    if (form.kind === "line") return add(`LINE('',${point(e.a.p)},${add(`VECTOR('',${direction(minus(e.b.p, e.a.p))},1.)`)})`);
    if (form.kind === "circle")
      return add(`CIRCLE('',${placement(form.centre, form.axis, square(minus(e.a.p, form.centre), form.axis))},${real(form.radius)})`);
    return bspline(splineCurve(e.at, SPLINE_TOLERANCE));
  };
  const edges = body.edges.map((e) => add(`EDGE_CURVE('',${vertices[e.a.id]},${vertices[e.b.id]},${curveOf(e)},.T.)`));

  const splines = new Map<Patch, string>();
  const uprights = new Map<unknown, string>();
  /** The surface, and whether its own normal points out of the wood. */
  const surfaceOf = (face: Face, s: Surface): readonly [string, boolean] => {
    if (s.kind === "plane") return [add(`PLANE('',${placement(s.origin, s.normal, across(s.normal))})`), true];
    if (s.kind === "cylinder") {
      // the seam lies opposite to the face
      const mean = pointsOf(face).reduce<XYZ>(
        (m, p, _, all) => [m[0] + p[0] / all.length, m[1] + p[1] / all.length, m[2] + p[2] / all.length],
        [0, 0, 0],
      );
      const axis = unit(s.axis);
      return [
        add(`CYLINDRICAL_SURFACE('',${placement(s.origin, axis, square(minus(s.origin, mean), axis))},${real(s.radius)})`),
        !s.hollow,
      ];
    }
    if (s.kind === "upright") {
      const { piece } = s;
      const plan = (t: number): XYZ => {
        const p = piece.at(t);
        return [p.x, p.y, 0];
      };
      let id = uprights.get(piece);
      if (!id) {
        id = add(
          `SURFACE_OF_LINEAR_EXTRUSION('',${bspline(splineCurve(plan, SPLINE_TOLERANCE))},${add(`VECTOR('',${direction([0, 0, 1])},1.)`)})`,
        );
        uprights.set(piece, id);
      }
      return [id, s.left];
    }
    const own = s.crowd.length === 0 ? { ...s, box: boxOf(face, s) } : s;
    let id = splines.get(s);
    if (!id || own !== s) {
      const b = splineSurface(own.at, own.box, own.crowd, SPLINE_TOLERANCE);
      const rows = b.points.map((row) => list(row.map(point)));
      id = add(
        `B_SPLINE_SURFACE_WITH_KNOTS('',3,3,${list(rows)},.UNSPECIFIED.,.F.,.F.,.F.,${multiples(b.uKnots)},${multiples(b.vKnots)},${reals(b.uKnots)},${reals(b.vKnots)},.UNSPECIFIED.)`,
      );
      splines.set(s, id);
    }
    return [id, s.outward];
  };
  const faces = body.faces.map((face) => {
    const [surface, outward] = surfaceOf(face, face.surface);
    const bounds = face.loops.map((loop, k) => {
      const uses = loop.map((u) => add(`ORIENTED_EDGE('',*,*,${edges[u.edge.id]},${u.forward ? ".T." : ".F."})`));
      return add(`${k === 0 ? "FACE_OUTER_BOUND" : "FACE_BOUND"}('',${add(`EDGE_LOOP('',${list(uses)})`)},.T.)`);
    });
    return add(`ADVANCED_FACE(${text(face.name)},${list(bounds)},${surface},${outward ? ".T." : ".F."})`);
  });
  const brep = add(`MANIFOLD_SOLID_BREP(${text(name)},${add(`CLOSED_SHELL('',${list(faces)})`)})`);

  const length = add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
  const angle = add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
  const solidAngle = add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
  const near = add(
    `UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(${real(UNCERTAINTY)}),${length},'distance_accuracy_value','edges to surfaces')`,
  );
  const context = add(
    `(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((${near}))GLOBAL_UNIT_ASSIGNED_CONTEXT((${length},${angle},${solidAngle}))REPRESENTATION_CONTEXT('neck frame','3D'))`,
  );
  const shape = add(`ADVANCED_BREP_SHAPE_REPRESENTATION('',(${placement([0, 0, 0], [0, 0, 1], [1, 0, 0])},${brep}),${context})`);
  const application = add("APPLICATION_CONTEXT('core data for automotive mechanical design processes')");
  add(`APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,${application})`);
  const product = add(
    `PRODUCT(${text(name)},${text(name)},${text(description)},(${add(`PRODUCT_CONTEXT('',${application},'mechanical')`)}))`,
  );
  add(`PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(${product}))`);
  const formation = add(`PRODUCT_DEFINITION_FORMATION('','',${product})`);
  const definition = add(
    `PRODUCT_DEFINITION('design','',${formation},${add(`PRODUCT_DEFINITION_CONTEXT('part definition',${application},'design')`)})`,
  );
  add(`SHAPE_DEFINITION_REPRESENTATION(${add(`PRODUCT_DEFINITION_SHAPE('','',${definition})`)},${shape})`);

  const lines = [
    "ISO-10303-21;",
    "HEADER;",
    `FILE_DESCRIPTION((${text(description)}),'2;1');`,
    `FILE_NAME(${text(name)},'1980-01-01T00:00:00',(''),(''),'','','');`,
    "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));",
    "ENDSEC;",
    "DATA;",
    ...data.map((s, k) => `#${k + 1}=${s};`),
    "ENDSEC;",
    "END-ISO-10303-21;",
    "",
  ];
  // ASCII by construction
  const whole = lines.join("\n");
  return Uint8Array.from(whole, (c) => c.charCodeAt(0));
}

const pointsOf = (face: Face): XYZ[] => face.loops[0].flatMap((u) => Array.from({ length: 8 }, (_, k) => u.edge.at((k + 0.5) / 8)));

/** The part of a patch that a face uses, with room around it. */
function boxOf(face: Face, patch: Patch): readonly [number, number, number, number] {
  let [u0, u1, v0, v1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const use of face.loops[0])
    for (let k = 0; k <= 16; k++) {
      const p = use.edge.at(k / 16);
      const [u, v] = patch.uv(p[0], p[1]);
      u0 = Math.min(u0, u);
      u1 = Math.max(u1, u);
      v0 = Math.min(v0, v);
      v1 = Math.max(v1, v);
    }
  return [u0 - 0.5, u1 + 0.5, v0 - 0.5, v1 + 0.5];
}
