import { afterEach, expect, test } from "vitest";
import { numbers } from "./brute.ts";
import { makeMap } from "./heightmap.ts";
import { makeStock } from "./make-stock.ts";
import { MoveBuilder } from "./moves.ts";
import { flatProfile } from "./profile.ts";
import { useKernel } from "./wasm/load.ts";

afterEach(() => useKernel("wasm"));

const TOP = 12;

test("a flat cutter's helix leaves what its places leave one by one: up and down, both ways round, less than a turn and more", () => {
  const r = numbers(3);
  for (let n = 0; n < 24; n++) {
    const R = 1 + 2 * r();
    const rho = n % 3 === 0 ? 0.3 * R : 0.6 + 4 * r();
    const [cx, cy, a0] = [9 + 2 * r(), 8 + 2 * r(), 6 * r()];
    const sweep = (n % 2 ? -1 : 1) * (n % 4 < 2 ? 0.4 + 5 * r() : 7 + 12 * r());
    const [az, bz] = n % 5 < 3 ? [10, 8 + r()] : [8, 9 + r()];
    const b = new MoveBuilder([cx + rho * Math.cos(a0), cy + rho * Math.sin(a0), az]);
    b.arcTo(cx + rho * Math.cos(a0 + sweep), cy + rho * Math.sin(a0 + sweep), bz, cx, cy, 0, sweep, 30);
    const moves = b.list();
    const run = (kernel: "wasm" | "plain"): Float32Array => {
      useKernel(kernel);
      const map = makeMap(0, 0, 20, 18, 0.125, TOP);
      makeStock(map).cut(flatProfile(2 * R), moves, 0, 1);
      return map.z.slice();
    };
    const ours = run("wasm");
    expect(Buffer.compare(Buffer.from(ours.buffer), Buffer.from(run("plain").buffer))).toBe(0);
    const map = makeMap(0, 0, 20, 18, 0.125, TOP);
    const steps = 1500;
    // a place that covers a cell by less than this, or misses it by less, may count either way
    const slack = 1e-3 + (Math.abs(sweep) * rho) / steps;
    for (let j = 0; j < map.ny; j += 5)
      for (let i = 0; i < map.nx; i += 5) {
        const x = map.x0 + i * map.cell;
        const y = map.y0 + j * map.cell;
        let sure = TOP;
        let may = TOP;
        for (let k = 0; k <= steps; k++) {
          const t = k / steps;
          const d = Math.hypot(x - cx - rho * Math.cos(a0 + sweep * t), y - cy - rho * Math.sin(a0 + sweep * t));
          const z = az + (bz - az) * t;
          if (d <= R + slack && z < may) may = z;
          if (d <= R - slack && z < sure) sure = z;
        }
        const step = Math.abs(bz - az) / steps + 2e-6;
        const z = ours[j * map.nx + i];
        expect(z).toBeLessThanOrEqual(sure + step);
        expect(z).toBeGreaterThanOrEqual(may - step);
      }
  }
});
