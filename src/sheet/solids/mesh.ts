import type { Mm } from "../../units/index.ts";
import { NoBody } from "./body.ts";
import { type Triangulation, triangulate } from "./triangulate.ts";
import type { Body, Edge, Face, Group, Mesh, Strip, Use, XYZ } from "./types.ts";

/** Parameters at which all edges of a group are sampled: none strays farther than `tolerance` from its chords. */
function samplesOf(group: Group, tolerance: Mm): number[] {
  const out = [0];
  const { edges } = group;
  const off = (e: Edge, t0: number, t1: number): number => {
    const a = e.at(t0);
    const b = e.at(t1);
    const [dx, dy, dz] = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    const q = dx * dx + dy * dy + dz * dz;
    let most = 0;
    for (const f of [0.25, 0.5, 0.75]) {
      const p = e.at(t0 + (t1 - t0) * f);
      const [px, py, pz] = [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
      const s = q > 0 ? (px * dx + py * dy + pz * dz) / q : 0;
      most = Math.max(most, Math.hypot(px - s * dx, py - s * dy, pz - s * dz));
    }
    return most;
  };
  const go = (t0: number, t1: number, depth: number): void => {
    if (depth < 14 && edges.some((e) => e.form.kind !== "line" && off(e, t0, t1) > tolerance)) {
      const m = (t0 + t1) / 2;
      go(t0, m, depth + 1);
      go(m, t1, depth + 1);
    } else out.push(t1);
  };
  const steps = edges.every((e) => e.form.kind === "line") ? 1 : 4;
  for (let k = 0; k < steps; k++) go(k / steps, (k + 1) / steps, 0);
  return out;
}

/**
 * Triangles of a body, each within `tolerance` of its surface. Every edge is sampled once and both faces beside it take the
 * same vertices, so the mesh is closed because the body is.
 */
export function meshBody(body: Body, tolerance: Mm): Mesh {
  const positions: number[] = [];
  const add = (p: XYZ): number => {
    positions.push(p[0], p[1], p[2]);
    return positions.length / 3 - 1;
  };
  const vertexNumbers = body.vertices.map((v) => add(v.p));
  const groups = new Map<Group, number[]>();
  const chains = body.edges.map((e) => {
    let ts = [0, 1];
    if (e.group) {
      ts = groups.get(e.group) ?? samplesOf(e.group, tolerance * 0.7);
      groups.set(e.group, ts);
    }
    return ts.map((t, k) => (k === 0 ? vertexNumbers[e.a.id] : k === ts.length - 1 ? vertexNumbers[e.b.id] : add(e.at(t))));
  });
  const chain = (u: Use): number[] => (u.forward ? chains[u.edge.id] : [...chains[u.edge.id]].reverse());
  const triangles: number[] = [];
  const faceOf: number[] = [];
  let deviation = 0;
  body.faces.forEach((face, f) => {
    const before = triangles.length;
    if (face.strip) strip(face.strip, chain, positions, triangles);
    else deviation = Math.max(deviation, area(face, chain, positions, add, triangles, tolerance * 0.7));
    for (let k = before; k < triangles.length; k += 3) faceOf.push(f);
  });
  return {
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles),
    faceOf: Uint32Array.from(faceOf),
    deviation: Math.max(deviation, tolerance * 0.7),
  };
}

/** A wall: columns from its low edge to its high edge, joined pair by pair; the end columns hold all their uprights' vertices. */
function strip(s: Strip, chain: (u: Use) => number[], positions: readonly number[], out: number[]): void {
  const low = chain(s.low);
  const high = chain(s.high);
  const tower = (edges: readonly Edge[], single: number): number[] =>
    edges.length === 0
      ? [single]
      : [...chain({ edge: edges[0], forward: true }).slice(0, 1), ...edges.map((edge) => chain({ edge, forward: true })[1])];
  const n = low.length;
  const columns = low.map((v, k) => (k === 0 ? tower(s.start, v) : k === n - 1 ? tower(s.end, v) : [v, high[k]]));
  const tri = (a: number, b: number, c: number): void => {
    if (a === b || b === c || c === a) return;
    if (s.right) out.push(a, b, c);
    else out.push(a, c, b);
  };
  // how far up its own column a vertex stands
  const share = (column: readonly number[], k: number): number => {
    const z = (j: number): number => positions[3 * column[j] + 2];
    const span = z(column.length - 1) - z(0);
    return span > 0 ? (z(k) - z(0)) / span : 0;
  };
  for (let k = 1; k < n; k++) {
    const a = columns[k - 1];
    const b = columns[k];
    let i = 0;
    let j = 0;
    while (i < a.length - 1 || j < b.length - 1) {
      const right = j < b.length - 1 && (i === a.length - 1 || share(b, j + 1) <= share(a, i + 1));
      if (right) {
        tri(a[i], b[j], b[j + 1]);
        j++;
      } else {
        tri(a[i], b[j], a[i + 1]);
        i++;
      }
    }
  }
}

/** A face over the plan. Returns the largest distance found from its surface. */
function area(face: Face, chain: (u: Use) => number[], positions: number[], add: (p: XYZ) => number, out: number[], tolerance: Mm): number {
  const { surface } = face;
  const patch = surface.kind === "patch" ? surface : null;
  const uvOf = (x: number, y: number): readonly [number, number] => (patch ? patch.uv(x, y) : [x, y]);
  const points: number[] = [];
  const numbers: number[] = [];
  const loops = face.loops.map((loop) => {
    const own: number[] = [];
    for (const use of loop)
      for (const v of chain(use).slice(0, -1)) {
        own.push(numbers.length);
        numbers.push(v);
        points.push(...uvOf(positions[3 * v], positions[3 * v + 1]));
      }
    return own;
  });
  const heights = surfaceHeights(face);
  const domain = heights && { at: heights, stretch: stretchOf(heights, points), tolerance };
  let t: Triangulation;
  try {
    t = triangulate(points, loops, domain);
  } catch {
    // the only way for the triangulation to fail: two of the face's lines cross
    const [u, v] = [positions[3 * numbers[0]], positions[3 * numbers[0] + 1]];
    throw new NoBody(face.name, { x: u, y: v }, "The lines around this face cross each other.");
  }
  if (heights) for (let k = 0; k < t.added.length; k += 2) numbers.push(add(heights(t.added[k], t.added[k + 1])));
  for (let k = 0; k < t.triangles.length; k += 3) {
    const [a, b, c] = [numbers[t.triangles[k]], numbers[t.triangles[k + 1]], numbers[t.triangles[k + 2]]];
    if (face.side === "top") out.push(a, b, c);
    else out.push(a, c, b);
  }
  return t.deviation;
}

/** The surface over its parameters; null for a plane, which any triangles meet. */
function surfaceHeights(face: Face): ((u: number, v: number) => XYZ) | null {
  const s = face.surface;
  if (s.kind === "patch") return s.at;
  if (s.kind !== "cylinder") return null;
  // over the plan: z from the circle about the axis, on the side the normal shows
  const [ox, oy, oz] = s.origin;
  const [ax, ay] = s.axis;
  const up = s.hollow ? -1 : 1;
  return (x, y) => {
    const d = (x - ox) * ay - (y - oy) * ax;
    return [x, y, oz + up * Math.sqrt(Math.max(0, s.radius * s.radius - d * d))];
  };
}

/** How much closer together triangles have to stand along v than along u: from second differences over the area. */
function stretchOf(at: (u: number, v: number) => XYZ, points: readonly number[]): number {
  let [u0, u1, v0, v1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let k = 0; k < points.length; k += 2) {
    u0 = Math.min(u0, points[k]);
    u1 = Math.max(u1, points[k]);
    v0 = Math.min(v0, points[k + 1]);
    v1 = Math.max(v1, points[k + 1]);
  }
  const bend = (du: number, dv: number): number => {
    let most = 0;
    for (let i = 1; i < 8; i++)
      for (let j = 1; j < 8; j++) {
        const u = u0 + ((u1 - u0) * i) / 8;
        const v = v0 + ((v1 - v0) * j) / 8;
        const [p, q, r] = [at(u - du, v - dv), at(u, v), at(u + du, v + dv)];
        most = Math.max(most, Math.hypot(p[0] + r[0] - 2 * q[0], p[1] + r[1] - 2 * q[1], p[2] + r[2] - 2 * q[2]));
      }
    return most;
  };
  const [su, sv] = [(u1 - u0) / 20, (v1 - v0) / 20];
  const cu = bend(su, 0) / (su * su);
  const cv = bend(0, sv) / (sv * sv);
  const ratio = Math.sqrt(cu / Math.max(1e-12, cv));
  // never so far that triangles lie across the whole area at once
  const least = (v1 - v0) / (u1 - u0) / 40;
  return Math.min(1e3, Math.max(ratio, least, 1e-6));
}
