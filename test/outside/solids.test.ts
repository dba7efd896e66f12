/*
 * Solids read back by code that is not ours.
 * STL: the layout of binary STL as commonly described (80 bytes, count, 50 bytes a triangle; no standard exists).
 * 3MF: 3MF Core Specification 1.3 (packaging, unit, object of type model, "manifold", "consistent triangle orientation"), the
 *   package by APPNOTE.TXT of the ZIP format through Node's zlib, the XML by fast-xml-parser.
 * Closedness, genus and volume: manifold-3d 3.2.1, an independent geometry core; volume again by quadrature of the exact
 *   top and back over the plan.
 * STEP: ISO 10303-21 (exchange structure: sections, instances named once, references that lead somewhere), read by Open CASCADE
 *   (occt-import-js 0.0.23), a geometry kernel of another design, whose own triangles of the surfaces are measured.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { inflateRawSync } from "node:zlib";
import { XMLParser } from "fast-xml-parser";
import manifold from "manifold-3d";
import { beforeAll, describe, expect, test } from "vitest";
import { closestOnCurve, curveBounds } from "../../src/kernel/contour.ts";
import { makeNeck } from "../../src/neck/index.ts";
import type { Neck } from "../../src/neck/types.ts";
import { stepBytes, stlBytes, threeMfBytes } from "../../src/sheet/solids/index.ts";
import { parseOrder } from "../../src/spec/index.ts";

const NAMES = ["loan-guitar-set", "loan-guitar-seven", "loan-guitar-twelve"] as const;
/** Read as STEP: the outer body corner by corner, one neck with all its features. */
const STEPS = [
  ["loan-guitar-set", true],
  ["loan-ukulele", false],
] as const;
const neckOf = (name: string): Neck => makeNeck(parseOrder(readFileSync(`examples/${name}.order.json`)).value!);

interface Triangles {
  /** x, y, z of each place once. */
  readonly places: Float32Array;
  readonly corners: Uint32Array;
}

/** Binary STL; corners with the same bits are the same place. */
function readStl(bytes: Uint8Array): Triangles {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const n = view.getUint32(80, true);
  expect(bytes.length).toBe(84 + 50 * n);
  expect(new TextDecoder().decode(bytes.subarray(0, 5))).not.toBe("solid");
  const known = new Map<string, number>();
  const places: number[] = [];
  const corners = new Uint32Array(3 * n);
  let wrong = 0;
  for (let t = 0; t < n; t++) {
    const at = 84 + 50 * t;
    const f = Array.from({ length: 12 }, (_, k) => view.getFloat32(at + 4 * k, true));
    if (view.getUint16(at + 48, true) !== 0 || !f.every(Number.isFinite)) wrong++;
    for (let c = 0; c < 3; c++) {
      const [x, y, z] = f.slice(3 + 3 * c);
      const key = `${x + 0},${y + 0},${z + 0}`;
      let k = known.get(key);
      if (k === undefined) {
        k = places.length / 3;
        places.push(x, y, z);
        known.set(key, k);
      }
      corners[3 * t + c] = k;
    }
    const [a, b, c] = [f.slice(3, 6), f.slice(6, 9), f.slice(9, 12)];
    const u = b.map((v, k) => v - a[k]);
    const w = c.map((v, k) => v - a[k]);
    const m = [u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], u[0] * w[1] - u[1] * w[0]];
    // right-hand rule: the normal goes with the order of the corners
    if (m[0] * f[0] + m[1] * f[1] + m[2] * f[2] < 0) wrong++;
  }
  expect(wrong).toBe(0);
  return { places: Float32Array.from(places), corners };
}

/** Entries of a ZIP package by its central directory. */
function readZip(bytes: Uint8Array): Map<string, string> {
  const v = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let end = bytes.length - 22;
  while (v.getUint32(end, true) !== 0x06054b50) end--;
  const out = new Map<string, string>();
  let at = v.getUint32(end + 16, true);
  for (let k = v.getUint16(end + 10, true); k > 0; k--) {
    expect(v.getUint32(at, true)).toBe(0x02014b50);
    const [method, size] = [v.getUint16(at + 10, true), v.getUint32(at + 20, true)];
    const [n, extra, comment] = [28, 30, 32].map((o) => v.getUint16(at + o, true));
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + n));
    const local = v.getUint32(at + 42, true);
    const from = local + 30 + v.getUint16(local + 26, true) + v.getUint16(local + 28, true);
    const data = bytes.subarray(from, from + size);
    out.set(name, new TextDecoder().decode(method === 8 ? inflateRawSync(data) : data));
    at += 46 + n + extra + comment;
  }
  return out;
}

/** Every edge is used once in each direction, by two triangles: closed, manifold at its edges, consistently oriented. */
function openEdges({ corners }: Triangles): number {
  const uses = new Set<number>();
  const n = 4e6;
  let bad = 0;
  for (let t = 0; t < corners.length; t += 3)
    for (let k = 0; k < 3; k++) {
      const key = corners[t + k] * n + corners[t + ((k + 1) % 3)];
      if (uses.has(key)) bad++;
      uses.add(key);
    }
  for (const key of uses) if (!uses.has((key % n) * n + Math.floor(key / n))) bad++;
  return bad;
}

/** Of top over back, on a grid between the places where either steps. */
function quadrature(neck: Neck, height: (x: number, y: number) => number, extra: readonly number[] = []): number {
  const { places: p } = neck;
  const stops = [p.tip, p.headBack, p.carveStart, p.carveEnd, p.heelFront, p.shaftEnd, p.boardEnd, p.end, ...extra];
  const xs = [...new Set(stops)].filter((x) => x >= p.tip && x <= p.end).sort((a, b) => a - b);
  let sum = 0;
  for (let i = 1; i < xs.length; i++) {
    const n = Math.ceil((xs[i] - xs[i - 1]) / 0.3);
    const dx = (xs[i] - xs[i - 1]) / n;
    for (let k = 0; k < n; k++) {
      const x = xs[i - 1] + (k + 0.5) * dx;
      const [lo, hi] = neck.edges(x);
      const m = 64;
      // y = middle - half cos(a): many places near the edges, where the back is steep
      for (let j = 0; j < m; j++) {
        const a = ((j + 0.5) * Math.PI) / m;
        const h = height(x, (lo + hi) / 2 - ((hi - lo) / 2) * Math.cos(a));
        sum += h * ((hi - lo) / 2) * Math.sin(a) * (Math.PI / m) * dx;
      }
    }
  }
  return sum;
}

/** What the features take from the outer body (or the tenon leaves), each by its own formula. */
function featureVolume(neck: Neck): number {
  const { features: f, order } = neck;
  const area = (d: number): number => (Math.PI * d * d) / 4;
  const obround = (length: number, w: number): number => (length - w) * w + area(w);
  let out = 0;
  for (const s of f.frets) {
    const length = Math.hypot(s.treble.x - s.bass.x, s.treble.y - s.bass.y);
    out += s.depth * (s.ends === "through" ? length * s.kerf : obround(length, s.kerf));
  }
  for (const m of f.markers) out += area(m.diameter) * (neck.top(m.x, m.y) - m.zFloor);
  for (const s of f.screws) out += area(s.diameter) * (s.zTo - s.zFrom);
  for (const t of f.tuners) {
    let depth = 0;
    for (const [k, s] of t.steps.entries()) {
      const h = k === t.steps.length - 1 ? order.headstock.thickness - depth : s.zTop - s.zBottom;
      out += area(s.diameter) * h;
      depth += h;
    }
  }
  for (const h of f.headSlots) {
    // face and back are parallel
    const tall = neck.top(h.xMin + 20, h.y) - neck.back(h.xMin + 20, h.y);
    out += obround(h.xMax - h.xMin, h.width) * tall;
  }
  for (const c of f.rod) {
    if (c.id !== "rod-access" || c.from !== "carve") continue;
    const n = 400;
    for (let k = 0; k < n; k++) {
      const x = c.xMin + ((k + 0.5) * (c.xMax - c.xMin)) / n;
      const past = Math.max(0, c.width / 2 - Math.min(x - c.xMin, c.xMax - x));
      const w = 2 * Math.sqrt(Math.max(0, (c.width / 2) ** 2 - past ** 2));
      out += ((c.xMax - c.xMin) / n) * w * (c.zFloor - neck.back(x, c.y ?? 0));
    }
  }
  const { nut, tenon } = f;
  out += quadratureOfBand(neck, nut.xMin, nut.xMax, nut.slope, (x, y) => neck.top(x, y) - nut.zFloor);
  if (tenon) {
    const under = (x: number, y: number): number =>
      Math.abs(y) <= tenon.width / 2 && x <= tenon.xMax ? -tenon.depth + (x - tenon.xMin) * Math.tan(tenon.angle) : 0;
    const n = 800;
    const x1 = neck.places.end;
    for (let k = 0; k < n; k++) {
      const x = tenon.xMin + ((k + 0.5) * (x1 - tenon.xMin)) / n;
      const [lo, hi] = neck.edges(x);
      for (let j = 0; j < 400; j++) {
        const y = lo + ((j + 0.5) * (hi - lo)) / 400;
        out += (under(x, y) - neck.back(x, y)) * ((hi - lo) / 400) * ((x1 - tenon.xMin) / n);
      }
    }
  }
  return out;
}

function quadratureOfBand(neck: Neck, x0: number, x1: number, slope: number, h: (x: number, y: number) => number): number {
  let sum = 0;
  for (let k = 0; k < 60; k++) {
    const x = x0 + ((k + 0.5) * (x1 - x0)) / 60;
    const [lo, hi] = neck.edges(x);
    for (let j = 0; j < 200; j++) {
      const y = lo + ((j + 0.5) * (hi - lo)) / 200;
      sum += Math.max(0, h(x + slope * y, y)) * ((hi - lo) / 200) * ((x1 - x0) / 60);
    }
  }
  return sum;
}

/**
 * Distance of a point from top or back: the least by the neck's own normal distances, and none where one of them passes its
 * height within a hair to the side. 32-bit floats put a corner 3e-5 mm aside, at the rim the back is upright, and some lines are steps.
 */
function off(neck: Neck, x: number, y: number, z: number, hair: number): number {
  const [lo, hi] = neck.edges(Math.min(neck.places.end - 1e-6, Math.max(neck.places.tip + 1e-6, x)));
  let best = Infinity;
  for (const [height, distance] of [
    [neck.top, neck.topDistance],
    [neck.back, neck.backDistance],
  ] as const) {
    let [least, most] = [Infinity, -Infinity];
    for (const dx of [0, -hair, hair])
      for (const dy of [0, -hair, hair]) {
        const v = Math.min(hi - 1e-9, Math.max(lo + 1e-9, y + dy));
        const h = height(x + dx, v);
        if (!Number.isFinite(h)) continue;
        least = Math.min(least, h);
        most = Math.max(most, h);
        const d = Math.abs(distance(x + dx, v, z));
        if (d < best) best = d;
      }
    best = Math.min(best, Math.max(0, least - z, z - most));
    if (best < 1e-4) break;
  }
  return best;
}

type Kernel = Awaited<ReturnType<typeof manifold>>;
let kernel: Kernel;
beforeAll(async () => {
  kernel = await manifold();
  kernel.setup();
});
const volumeByManifold = (t: Triangles): number => {
  const solid = new kernel.Manifold(new kernel.Mesh({ numProp: 3, vertProperties: t.places, triVerts: t.corners }));
  expect(String(solid.status())).toBe("NoError");
  const v = solid.volume();
  solid.delete();
  return v;
};

describe.each(NAMES)("%s", (name) => {
  const neck = neckOf(name);
  const stl = readStl(stlBytes(neck).bytes!);
  const plain = readStl(stlBytes(neck, { plain: true }).bytes!);

  test("STL: closed and consistently oriented by its corners alone", () => {
    expect(openEdges(stl)).toBe(0);
    expect(openEdges(plain)).toBe(0);
  });

  test("volume: manifold-3d agrees with the quadrature of top over back, and with the features' own formulas, within 0.05 %", () => {
    const outer = quadrature(neck, (x, y) => neck.top(x, y) - neck.back(x, y));
    expect(Math.abs(volumeByManifold(plain) / outer - 1)).toBeLessThan(5e-4);
    expect(Math.abs(volumeByManifold(stl) / (outer - featureVolume(neck)) - 1)).toBeLessThan(5e-4);
  });

  test("3MF: the package and the model by the core specification, the same triangles as the STL", () => {
    const parts = readZip(threeMfBytes(neck).bytes!);
    expect([...parts.keys()].sort()).toEqual(["3D/3dmodel.model", "[Content_Types].xml", "_rels/.rels"]);
    const xml = new XMLParser({ ignoreAttributes: false, attributeNamePrefix: "" });
    const types = xml.parse(parts.get("[Content_Types].xml")!).Types.Default as { Extension: string; ContentType: string }[];
    expect(types.find((t) => t.Extension === "model")?.ContentType).toBe("application/vnd.ms-package.3dmanufacturing-3dmodel+xml");
    const rel = xml.parse(parts.get("_rels/.rels")!).Relationships.Relationship;
    expect(rel).toMatchObject({ Target: "/3D/3dmodel.model", Type: "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" });
    const text = parts.get("3D/3dmodel.model")!;
    expect(text).toContain('unit="millimeter"');
    const vertices = [...text.matchAll(/<vertex x="([-\d.]+)" y="([-\d.]+)" z="([-\d.]+)"\/>/g)].map((m) => m.slice(1).map(Number));
    const triangles = [...text.matchAll(/<triangle v1="(\d+)" v2="(\d+)" v3="(\d+)"\/>/g)].map((m) => m.slice(1).map(Number));
    const model = xml.parse(text.replace(/<(?:vertex|triangle) [^>]*>/g, "")).model;
    expect(model.xmlns).toBe("http://schemas.microsoft.com/3dmanufacturing/core/2015/02");
    expect(model.resources.object).toMatchObject({ id: "1", type: "model" });
    expect(model.build.item.objectid).toBe("1");
    expect(triangles.every((t) => new Set(t).size === 3 && t.every((k) => k < vertices.length))).toBe(true);
    expect(new Set(vertices.map((v) => v.join())).size).toBe(vertices.length);
    const read = { places: Float32Array.from(vertices.flat()), corners: Uint32Array.from(triangles.flat()) };
    expect(openEdges(read)).toBe(0);
    expect(Math.abs(volumeByManifold(read) / volumeByManifold(stl) - 1)).toBeLessThan(1e-6);
  });

  test("every corner of the outer body within 0.001 mm of top, back or rim; every middle of a triangle that is no wall within 0.01 mm", () => {
    const { places: p, corners } = plain;
    const stray: string[] = [];
    for (let k = 0; k < p.length; k += 3) {
      const d = off(neck, p[k], p[k + 1], p[k + 2], 5e-5);
      if (!(d < 1e-3)) stray.push(`${p[k].toFixed(3)} ${p[k + 1].toFixed(3)} ${p[k + 2].toFixed(3)}: ${d.toFixed(5)}`);
    }
    expect(stray).toEqual([]);
    for (let t = 0; t < corners.length; t += 3) {
      const at = [0, 1, 2].map((c) => [0, 1, 2].map((k) => p[3 * corners[t + c] + k]));
      const [a, b, c] = at;
      const nz = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
      const u = b.map((v, k) => v - a[k]);
      const w = c.map((v, k) => v - a[k]);
      const size = Math.hypot(u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], nz);
      if (Math.abs(nz) < 1e-3 * size || size < 1e-6) continue;
      const m = [0, 1, 2].map((k) => (a[k] + b[k] + c[k]) / 3);
      // where the back is steep it passes the point's height within a hundredth to the side
      const d = off(neck, m[0], m[1], m[2], 0.007);
      if (!(d < 0.01)) stray.push(`middle ${m.map((q) => q.toFixed(3)).join(" ")}: ${d.toFixed(5)}`);
    }
    expect(stray).toEqual([]);
  });
});

interface Read {
  readonly success: boolean;
  readonly meshes: readonly {
    readonly attributes: { readonly position: { readonly array: number[] } };
    readonly index: { readonly array: number[] };
    readonly brep_faces: readonly { readonly first: number; readonly last: number }[];
  }[];
}
interface Reader {
  ReadStepFile(bytes: Uint8Array, options: Readonly<Record<string, string | number>>): Read;
}

/** Corners nearer than a thousandth are one place; triangles that shrink to a line between two of them are dropped. */
function welded(p: readonly number[], t: readonly number[]): Triangles {
  const known = new Map<string, number>();
  const places: number[] = [];
  const at = (k: number): number => {
    const key = [0, 1, 2].map((c) => Math.round(p[3 * k + c] * 1e3)).join();
    let n = known.get(key);
    if (n === undefined) {
      n = places.length / 3;
      known.set(key, n);
      places.push(p[3 * k], p[3 * k + 1], p[3 * k + 2]);
    }
    return n;
  };
  const corners: number[] = [];
  for (let k = 0; k < t.length; k += 3) {
    const c = [at(t[k]), at(t[k + 1]), at(t[k + 2])];
    if (new Set(c).size === 3) corners.push(...c);
  }
  return { places: Float32Array.from(places), corners: Uint32Array.from(corners) };
}

/** Edges walked more often one way than the other: none, where the triangles bound a closed body. */
function unmatched({ corners }: Triangles): number {
  const walks = new Map<number, number>();
  const n = 4e6;
  for (let t = 0; t < corners.length; t += 3)
    for (let k = 0; k < 3; k++) {
      const [a, b] = [corners[t + k], corners[t + ((k + 1) % 3)]];
      const [key, step] = a < b ? [a * n + b, 1] : [b * n + a, -1];
      walks.set(key, (walks.get(key) ?? 0) + step);
    }
  return [...walks.values()].filter((w) => w !== 0).length;
}

const volumeOf = ({ places: p, corners: t }: Triangles): number => {
  let sum = 0;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k], 3 * t[k + 1], 3 * t[k + 2]];
    sum += p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]) + p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]);
    sum += p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
  }
  return sum / 6;
};

describe("STEP", () => {
  let reader: Reader;
  beforeAll(async () => {
    // the package has no types of its own
    const openCascade = createRequire(import.meta.url)("occt-import-js") as () => Promise<Reader>;
    reader = await openCascade();
  });

  test("the exchange structure by ISO 10303-21: every instance once, every reference leads to one, one closed shell, in mm", () => {
    const bytes = stepBytes(neckOf("loan-ukulele")).bytes!;
    expect(bytes.every((b) => b === 10 || (b >= 32 && b < 127))).toBe(true);
    const lines = new TextDecoder().decode(bytes).trimEnd().split("\n");
    expect([lines[0], lines[1], lines.at(-1)]).toEqual(["ISO-10303-21;", "HEADER;", "END-ISO-10303-21;"]);
    const instances = new Map<string, string>();
    for (const line of lines) {
      const m = /^#(\d+)=(.*);$/.exec(line);
      if (!m) continue;
      expect(instances.has(m[1])).toBe(false);
      instances.set(m[1], m[2]);
    }
    const bare = [...instances.values()].map((s) => s.replace(/'(?:[^']|'')*'/g, "''"));
    const lost = bare.flatMap((s) => [...s.matchAll(/#(\d+)/g)].map((m) => m[1])).filter((id) => !instances.has(id));
    expect(lost).toEqual([]);
    const count = (what: string): number => bare.filter((s) => s.startsWith(`${what}(`)).length;
    expect([count("MANIFOLD_SOLID_BREP"), count("CLOSED_SHELL")]).toEqual([1, 1]);
    expect(bare.some((s) => s.includes("SI_UNIT(.MILLI.,.METRE.)"))).toBe(true);
    // a closed, oriented shell uses each edge twice, once each way
    const uses = new Map<string, string[]>();
    for (const s of bare) {
      const m = /^ORIENTED_EDGE\('',\*,\*,#(\d+),\.([TF])\.\)$/.exec(s);
      if (m) uses.set(m[1], [...(uses.get(m[1]) ?? []), m[2]]);
    }
    expect(uses.size).toBe(count("EDGE_CURVE"));
    expect([...uses.values()].every((u) => u.sort().join() === "F,T")).toBe(true);
  });

  test.each(STEPS)("%s, plain %s: Open CASCADE reads one closed solid, of our volume within 0.05 %", (name, plain) => {
    const neck = neckOf(name);
    const read = reader.ReadStepFile(stepBytes(neck, { plain }).bytes!, {
      linearUnit: "millimeter",
      linearDeflectionType: "absolute_value",
      // its triangles lie inside a rounded body: coarser ones lose more volume than is allowed
      linearDeflection: 0.025,
      angularDeflection: 1,
    });
    expect(read.success).toBe(true);
    expect(read.meshes).toHaveLength(1);
    const { position } = read.meshes[0].attributes;
    const solid = welded(position.array, read.meshes[0].index.array);
    expect(unmatched(solid)).toBe(0);
    const ours = volumeByManifold(readStl(stlBytes(neck, { plain }).bytes!));
    expect(Math.abs(volumeOf(solid) / ours - 1)).toBeLessThan(5e-4);
    if (!plain) return;
    // its corners lie on the surfaces of the file
    const stray: string[] = [];
    const p = solid.places;
    const rim = neck.outline.curves.map((curve) => ({ curve, box: curveBounds(curve) }));
    for (let k = 0; k < p.length; k += 3) {
      const [x, y] = [p[k], p[k + 1]];
      let d = off(neck, x, y, p[k + 2], 5e-4);
      // or on the upright wall over the outline
      if (!(d < 1e-3))
        for (const { curve, box } of rim)
          if (x > box.xMin - 1e-3 && x < box.xMax + 1e-3 && y > box.yMin - 1e-3 && y < box.yMax + 1e-3)
            d = Math.min(d, closestOnCurve(curve, x, y).distance);
      if (!(d < 1e-3)) stray.push(`${p[k].toFixed(3)} ${p[k + 1].toFixed(3)} ${p[k + 2].toFixed(3)}: ${d.toFixed(5)}`);
    }
    expect(stray).toEqual([]);
  });
});
