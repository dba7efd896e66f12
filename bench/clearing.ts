import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { clearRegion, type Stretch } from "../src/kernel/clearing/index.ts";
import type { Polygon } from "../src/kernel/polygon.ts";

/*
 * One level of 200 x 60 mm cleared by an 8 mm cutter with 3 mm of the straight pass's width, open on all sides and as a pocket: how long the planning
 * takes beside the yardstick's audit of the path that came of it. The audit's own largest load is looked at before any time is.
 */

const box = (x0: number, y0: number, x1: number, y1: number): Polygon => Float64Array.from([x0, y0, x1, y0, x1, y1, x0, y1]);
const [W, H, R, STEP] = [200, 60, 4, 3];
const LIMIT = Math.acos(1 - STEP / R);
/** Cell of the planner's map, as a share of the radius: what the product's clearing takes. */
const CELL = 1 / 12;
/** What the audit may see more than the limit: its 256 places on the rim, the way of one step, and the ridge that the last pass meets from both sides. */
const MOST = 1.2;

const CASES = [
  { name: "open", wood: [box(0, 0, W, H)], centres: [box(-R - 1, -R - 1, W + R + 1, H + R + 1)] },
  { name: "closed", wood: [box(-500, -500, 500, 500)], centres: [box(R, R, W - R, H - R)] },
] as const;

type Time = (f: () => void, times?: number) => number;

/** Points x, y, kind as the yardstick reads them: 0 cut, 1 on the floor without being looked at, 2 lifted to here. */
function pathBytes(stretches: readonly Stretch[]): Uint8Array {
  const p: number[] = [];
  for (const s of stretches) {
    const xy =
      s.kind === "helix"
        ? Array.from({ length: 65 }, (_, k) => [
            s.x + s.radius * Math.cos((k * Math.PI) / 32),
            s.y + s.radius * Math.sin((k * Math.PI) / 32),
          ]).flat()
        : s.xy;
    for (let k = 0; k < xy.length; k += 2) {
      const n = p.length;
      const goesOn = n > 0 && Math.hypot(p[n - 3] - xy[0], p[n - 2] - xy[1]) < 1e-6;
      p.push(xy[k], xy[k + 1], k === 0 ? (goesOn ? 1 : 2) : s.kind === "cut" ? 0 : 1);
    }
  }
  const bytes = new Uint8Array(4 + 4 * p.length);
  new Int32Array(bytes.buffer, 0, 1)[0] = p.length / 3;
  new Float32Array(bytes.buffer, 4).set(p);
  return bytes;
}

export function clearingFigures(
  dir: string,
  time: Time,
  engage: string | null,
  run: (file: string, args: readonly string[]) => string,
  line: (what: string, ms: number, c: number | null) => void,
): void {
  for (const { name, wood, centres } of CASES) {
    const plan = (): ReturnType<typeof clearRegion> =>
      clearRegion(centres, wood, { radius: R, limit: LIMIT, cell: CELL * R, longestLink: 150 });
    const { stretches, left, target } = plan();
    const file = join(dir, `clearing-${name}.bin`);
    writeFileSync(file, pathBytes(stretches));
    let c: number | null = null;
    let ours = Number.POSITIVE_INFINITY;
    if (engage !== null) {
      const most = Number(/max ([\d.]+) deg/.exec(run(engage, [file, name, "0.1"]))?.[1]);
      const limit = (LIMIT * 180) / Math.PI;
      if (!(most > 0.5 * limit && most <= MOST * limit)) throw new Error(`clearing, ${name}: audited ${most} degrees, limit ${limit}`);
      console.log(
        `clearing ${name}: ${stretches.length} stretches, ${((100 * left) / target).toFixed(2)} % left; the yardstick's audit sees ${most.toFixed(1)} degrees of ${limit.toFixed(1)} at most`,
      );
    }
    for (let turn = 0; turn < 3; turn++) {
      ours = Math.min(ours, time(plan, 2));
      if (engage !== null) c = Math.min(c ?? Number.POSITIVE_INFINITY, Number(/points ([\d.]+) ms/.exec(run(engage, [file, name]))?.[1]));
    }
    line(`clearing one level, ${name}, beside the audit of its path`, ours, c);
  }
}
