import { readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { cli as inProcess } from "../src/cli/ran.test-data.ts";
import { apply, inverse } from "../src/holding/transform.ts";
import { realDisk } from "../src/job/disk.ts";
import { openMade } from "../src/job/made.ts";
import { interpretProgram } from "../src/proof/index.ts";
import { madeFolder, ORDER } from "./made.ts";

/* Marks by which a side that was turned shows where it came to lie. */

let dir: string;
let job: string;
beforeAll(async () => {
  ({ dir, job } = await madeFolder("witness"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

test("witness marks of both sides are one place of the blank, in its waste, and their readings go where they belong", async () => {
  const shop: { number: number; shape: string; diameter: number }[] = JSON.parse(readFileSync(join(job, "shop.json"), "utf8")).cutters;
  const flat = shop.find((c) => c.shape === "flat" && c.diameter === 6)!;
  const out = join(dir, "witness");
  const ran = await inProcess("correct", job, "witness", "--cutter", String(flat.number), "--out", out, "--json");
  const said = JSON.parse(ran.out);
  expect(ran.code).toBe(0);
  const { job: file } = await openMade(job, realDisk);
  const [board, carve] = file.sides;
  // from the text alone: the middle of what the holes' deepest moves and the rings' moves go round
  const middles = (name: string): [number, number][] => {
    const { moves } = interpretProgram(readFileSync(join(out, name)), { start: [0, 0, 99] });
    const low = Math.min(...moves.z);
    const runs: { x: number[]; y: number[] }[] = [];
    for (let k = 0; k < moves.count; k++) {
      if (moves.kind[k] < 1 || moves.z[k] > low + 1e-9) continue;
      const last = runs.at(-1);
      if (last === undefined || Math.hypot(last.x[0] - moves.x[k], last.y[0] - moves.y[k]) > 40)
        runs.push({ x: [moves.x[k]], y: [moves.y[k]] });
      else {
        last.x.push(moves.x[k]);
        last.y.push(moves.y[k]);
      }
    }
    return runs.map((r) => [(Math.min(...r.x) + Math.max(...r.x)) / 2, (Math.min(...r.y) + Math.max(...r.y)) / 2]);
  };
  const [holes, rings] = [middles("witness-board.ngc"), middles("witness-carve.ngc")];
  expect([holes.length, rings.length]).toEqual([2, 2]);
  holes.forEach(([x, y], k) => {
    const n = apply(inverse(board.neckToProgram), x, y, 0);
    const c = apply(carve.neckToProgram, n[0], n[1], 0);
    expect(Math.abs(c[0] - said.places[k].carve[0])).toBeLessThan(0.01);
    expect(Math.abs(c[1] - said.places[k].carve[1])).toBeLessThan(0.01);
    // half circles end on a line through the middle: along one axis only
    expect(Math.abs(rings[k][0] - c[0])).toBeLessThan(0.01);
    expect(Math.abs(rings[k][1] - c[1])).toBeLessThan(0.01);
  });
  expect(Math.hypot(rings[0][0] - rings[1][0], rings[0][1] - rings[1][1])).toBeGreaterThan(150);
  // the form's command is understood
  const marks = said.places.map((p: { carve: number[] }) => `--mark=${p.carve[0].toFixed(2)}:${p.carve[1].toFixed(2)}:0.2:-0.3`);
  const read = await inProcess("correct", ORDER, "turn", ...marks, "--json");
  expect(JSON.parse(read.out).correction).toMatchObject({ kind: "turn", x: 0.2, y: -0.3 });
  const ball = shop.find((c) => c.shape === "ball")!;
  expect((await inProcess("correct", job, "witness", "--cutter", String(ball.number), "--out", out)).err).toMatch(
    /neither a drill nor flat/,
  );
});
