import { describe, expect, test } from "vitest";
import { makeDropper } from "../../src/kernel/drop.ts";
import { makeMap, sampleMap } from "../../src/kernel/heightmap.ts";
import { ballProfile, bullProfile, flatProfile, type Profile } from "../../src/kernel/profile.ts";

// Source: Chuang et al. 2002, the generalised end mill of radius R and corner radius r on a facet; the values follow from the
// closed forms and were worked out by hand again.
// On a plane of slope phi the tip stands above the plane, at the tool's axis, by (R - r) tan(phi) + r (1 / cos(phi) - 1).
const TABLE: readonly (readonly [phi: number, flat: number, bull: number, ball: number])[] = [
  [0, 0, 0, 0],
  [15, 0.803848, 0.571175, 0.105829],
  [30, 1.732051, 1.309401, 0.464102],
  [45, 3.0, 2.414214, 1.242641],
  [60, 5.196152, 4.464102, 3.0],
];

/** How far below the true surface a map of cell h can put the tip: the contact lies at most h / sqrt(2) from a cell centre. */
const sampling = (h: number, curvature: number): number => (h * h * curvature) / 4;

describe("a cutter let down on a tilted plane (R = 3, r = 1 for the bull)", () => {
  for (const [phi, flat, bull, ball] of TABLE) {
    const slope = Math.tan((phi * Math.PI) / 180);
    for (const turn of [0, 0.3, 1.1]) {
      test(`${phi} degrees, turned ${turn} rad to the grid`, () => {
        const h = 0.02;
        const map = makeMap(-3.5, -3.5, 3.5, 3.5, h);
        sampleMap(map, (x, y) => slope * (x * Math.cos(turn) + y * Math.sin(turn)));
        const at = (p: Profile, refine = false): number => makeDropper(map, p, { refine }).dropAt(0, 0);
        // curvature of the tool's profile at the contact, 1 / (r cos^3), times the cell: sampling errs low, never high
        const cos = Math.cos((phi * Math.PI) / 180);
        const low = sampling(h, 1 / (1 * cos ** 3)) + 2e-6;
        expect(at(ballProfile(6)) - ball).toBeLessThan(2e-6);
        expect(ball - at(ballProfile(6))).toBeLessThan(low);
        // flat and bull touch at the rim of their flat: sideways the centre may be missed by h / 2
        expect(at(flatProfile(6)) - flat).toBeLessThan(2e-6);
        expect(flat - at(flatProfile(6))).toBeLessThan(slope * h + 2e-6);
        expect(at(bullProfile(6, 1)) - bull).toBeLessThan(2e-6);
        expect(bull - at(bullProfile(6, 1))).toBeLessThan(low + 2e-6);
        if (phi < 50) expect(Math.abs(at(ballProfile(6), true) - ball)).toBeLessThan(3e-6);
      });
    }
  }
});

// Source: elementary geometry. A ball of radius R on a convex cylinder of radius Rc touches where the centres' line is normal to
// both: tip = sqrt((Rc + R)^2 - y^2) - Rc - R from the crown; in a concave one of radius Rb > R: tip = Rb - R - sqrt((Rb - R)^2 - y^2).
describe("a ball on cylinders turned 17 degrees to the grid, 0.1 mm cells", () => {
  const c = Math.cos((17 * Math.PI) / 180);
  const s = Math.sin((17 * Math.PI) / 180);
  const R = 4;
  const cases = [
    {
      name: "convex 241.3",
      reach: 24,
      top: (v: number) => Math.sqrt(241.3 ** 2 - v * v) - 241.3,
      tip: (v: number) => Math.sqrt((241.3 + R) ** 2 - v * v) - 241.3 - R,
    },
    {
      name: "convex 30",
      reach: 20,
      top: (v: number) => Math.sqrt(Math.max(0, 900 - v * v)) - 30,
      tip: (v: number) => Math.sqrt(34 ** 2 - v * v) - 34,
    },
    {
      name: "concave 20",
      reach: 8,
      top: (v: number) => 20 - Math.sqrt(Math.max(0, 400 - v * v)),
      tip: (v: number) => 16 - Math.sqrt(16 ** 2 - v * v),
    },
  ];
  for (const { name, reach, top, tip } of cases)
    test(`${name}: within 1 um as sampled, within 0.1 um refined`, () => {
      const map = makeMap(-30, -30, 30, 30, 0.1);
      sampleMap(map, (x, y) => top(-x * s + y * c));
      const raw = makeDropper(map, ballProfile(2 * R));
      const fine = makeDropper(map, ballProfile(2 * R), { refine: true });
      let worstRaw = 0;
      let worstFine = 0;
      for (let k = 0; k < 400; k++) {
        const v = -reach + (2 * reach * k) / 399;
        const u = 2 * Math.sin(k);
        const x = u * c - v * s;
        const y = u * s + v * c;
        const want = tip(v);
        const low = want - raw.dropAt(x, y);
        expect(low).toBeGreaterThan(-4e-6);
        worstRaw = Math.max(worstRaw, low);
        worstFine = Math.max(worstFine, Math.abs(want - fine.dropAt(x, y)));
      }
      expect(worstRaw).toBeLessThan(0.001);
      expect(worstFine).toBeLessThan(0.0001);
    });
});
