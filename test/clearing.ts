import type { SideName, Solid } from "../src/holding/types.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import type { ProofInput } from "../src/proof/types.ts";

/*
 * How near what turns comes to what holds, seen from the programs' text by places along every move: cutter, shank and each step of the holder
 * as plain cylinders. Shares nothing with the plan's own figure but the words.
 */

/** Places are no farther apart than this, so a gap is never smaller by more than half of it. */
const APART = 1;
/** Nothing further off is looked at. */
const FAR = 60;

/** Least gaps over one side's programs: to what stands, and to strips under the piece. */
export function leastGaps(input: Pick<ProofInput, "sides" | "programs" | "cutters">, name: SideName): { standing: number; under: number } {
  const side = input.sides.find((s) => s.name === name)!;
  const { min, max } = side.stock;
  const out = { standing: FAR, under: FAR };
  for (const program of input.programs.filter((p) => p.side === name)) {
    const c = input.cutters.find((q) => q.number === program.cutter)!;
    const rings: (readonly [number, number])[] = [[c.shankDiameter / 2, c.fluteLength]];
    // of a ball its sphere, of all others the full cylinder
    if (c.shape !== "ball") rings.push([c.diameter / 2, 0]);
    let from = c.reach;
    for (const h of c.holder) {
      rings.push([h.diameter / 2, from]);
      from += h.length;
    }
    const { moves: m } = interpretProgram(program.text, { start: [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2, max[2] + 50] });
    // a program travels across at its greatest height
    const safeZ = m.z.reduce((a, b) => Math.max(a, b), 0);
    let [px, py, pz] = m.start;
    for (let k = 0; k < m.count; k++) {
      const [ax, ay, az] = [px, py, pz];
      [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
      if (az >= safeZ - 1e-3 && pz >= safeZ - 1e-3) continue;
      // arcs seen from above go round; those on edge stay within their chord seen from above
      const sweep = m.kind[k] === 2 && m.plane[k] === 0 ? m.sweep[k] : 0;
      const r = sweep === 0 ? 0 : Math.sqrt((ax - m.cx[k]) ** 2 + (ay - m.cy[k]) ** 2);
      const bulge = m.kind[k] === 2 && m.plane[k] !== 0 ? Math.abs(pz - az) + Math.abs(px - ax) + Math.abs(py - ay) : 0;
      const length = Math.sqrt((px - ax) ** 2 + (py - ay) ** 2) + Math.abs(pz - az) + r * Math.abs(sweep);
      const far = (s: Solid): boolean => {
        const d = beside(s, px, py);
        return d > length + 30 + (s.role === "support" ? out.under : out.standing);
      };
      const near = side.holding.filter((s) => !far(s));
      const n = near.length === 0 ? -1 : Math.max(1, Math.ceil(length / APART));
      const a0 = sweep === 0 ? 0 : Math.atan2(ay - m.cy[k], ax - m.cx[k]);
      for (let i = 0; i <= n; i++) {
        const t = i / n;
        const x = sweep === 0 ? ax + (px - ax) * t : m.cx[k] + r * Math.cos(a0 + sweep * t);
        const y = sweep === 0 ? ay + (py - ay) * t : m.cy[k] + r * Math.sin(a0 + sweep * t);
        const z = az + (pz - az) * t - Math.min(bulge, 0.5);
        for (const s of near) {
          const d = beside(s, x, y);
          const top = s.kind === "box" ? s.max[2] : s.zMax;
          let gap = FAR;
          for (const [radius, up] of rings) gap = Math.min(gap, Math.hypot(Math.max(0, d - radius), Math.max(0, z + up - top)));
          if (c.shape === "ball") {
            // the shaft above the sphere's middle, and the sphere
            const b = c.diameter / 2;
            const mid = z + b;
            gap = Math.min(
              gap,
              Math.hypot(Math.max(0, d - b), Math.max(0, mid - top)),
              Math.max(0, Math.hypot(d, Math.max(0, mid - top)) - b),
            );
          }
          if (s.role === "support") out.under = Math.min(out.under, gap);
          else out.standing = Math.min(out.standing, gap);
        }
      }
    }
  }
  return out;
}

function beside(s: Solid, x: number, y: number): number {
  if (s.kind === "cylinder") return Math.max(0, Math.sqrt((x - s.x) ** 2 + (y - s.y) ** 2) - s.diameter / 2);
  if (s.kind !== "box") throw new Error("no prism holds anything yet");
  const u = Math.max(0, s.min[0] - x, x - s.max[0]);
  const v = Math.max(0, s.min[1] - y, y - s.max[1]);
  return Math.sqrt(u * u + v * v);
}
