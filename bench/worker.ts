import { parentPort } from "node:worker_threads";
import { clockLimits } from "../src/cutting/clock-limits.ts";
import { secondsOf } from "../src/kernel/clock.ts";
import { makeDropper } from "../src/kernel/drop.ts";
import { makeBlock } from "../src/kernel/make-stock.ts";
import { ballProfile, bullProfile, flatProfile } from "../src/kernel/profile.ts";
import type { Rows } from "../src/kernel/stock.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import type { ShopSpec } from "../src/spec/types.ts";
import { CELL, NX, NY, neckMap, stressProgram } from "./data.ts";
import { writeStress } from "./text.ts";

/* One of the benchmark's own threads: makes the stress program once, then does what it is told and says that it is done. */

/** What a thread is told. */
export type Told =
  | { readonly what: "ready" }
  /** Removes the program's wood from bands of the blank, one after the other. */
  | { readonly what: "remove"; readonly bands: readonly Rows[] }
  /** One side without clearing: three maps of drops, the program written, read back, its wood removed, its time planned. */
  | { readonly what: "side"; readonly shop: ShopSpec };

const neck = neckMap();
const { moves, roughing } = stressProgram(neck);
const flat = flatProfile(8.0014);
const ball = ballProfile(8.0014);
const droppers = [ballProfile(8), flatProfile(8), bullProfile(8, 1)].map((p) => makeDropper(neck, p));
const ys = Float64Array.from({ length: 440 }, (_, k) => CELL / 2 + k * 2.5 * CELL);
const out = new Float64Array(NX * ys.length);

function remove(rows?: Rows): void {
  const stock = makeBlock(0, 0, NX * CELL, NY * CELL, CELL, 40, rows);
  stock.cut(flat, moves, 0, roughing);
  stock.cut(ball, moves, roughing, moves.count);
  stock.release();
}

function side(shop: ShopSpec): void {
  for (const d of droppers) d.dropRows(ys, CELL / 2, CELL, NX, out);
  const { moves: read } = interpretProgram(writeStress(moves, shop));
  remove();
  secondsOf(read, clockLimits(shop.machine));
}

const port = parentPort;
if (port === null) throw new Error("a thread of the benchmark is started by it, not by hand");
port.on("message", (told: Told) => {
  if (told.what === "remove") for (const rows of told.bands) remove(rows);
  else if (told.what === "side") side(told.shop);
  port.postMessage(told.what);
});
