import type { Mesh } from "./types.ts";

/**
 * Binary STL: 80 bytes of header, the count, and 50 bytes a triangle (normal, three corners as 32-bit floats, little-endian; two
 * bytes of zero). The format has no unit: mm by custom, and the header says so.
 */
export function stlOf(mesh: Mesh, header: string): Uint8Array {
  const { positions, triangles } = mesh;
  const p = Float32Array.from(positions);
  const n = triangles.length / 3;
  const out = new DataView(new ArrayBuffer(84 + 50 * n));
  // a header that begins with "solid" would be taken for the text form
  for (let k = 0; k < 80; k++) {
    const c = k < header.length ? header.charCodeAt(k) : 32;
    out.setUint8(k, c >= 32 && c < 127 ? c : 63);
  }
  out.setUint32(80, n, true);
  for (let t = 0; t < n; t++) {
    const at = 84 + 50 * t;
    const [a, b, c] = [3 * triangles[3 * t], 3 * triangles[3 * t + 1], 3 * triangles[3 * t + 2]];
    const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const [nx, ny, nz] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const length = Math.hypot(nx, ny, nz) || 1;
    const values = [nx / length, ny / length, nz / length];
    for (const v of [a, b, c]) values.push(p[v], p[v + 1], p[v + 2]);
    for (let k = 0; k < 12; k++) out.setFloat32(at + 4 * k, values[k], true);
  }
  return new Uint8Array(out.buffer);
}
