import { readFileSync } from "node:fs";
import { planHolding } from "../src/holding/index.ts";
import { neckOf } from "../src/job/live.ts";
import { readOrder, readShop } from "../src/job/source.ts";
import { figuresOf } from "../src/neck/figures/index.ts";
import { makeNeck } from "../src/neck/index.ts";
import { drawingsOf, svg } from "../src/sheet/index.ts";
import { checkHardware } from "../src/spec/index.ts";
import { sectionPicture, stripPictures, windowOf } from "../src/web/drawer/pictures.ts";
import { CELL, NX, NY, neckMap } from "./data.ts";

/** One change of a number to new geometry, checks and drawings shall stay below this on one core, ms. */
const GOAL = 50;
/** And to what a screen needs to redraw its long view while the value moves, ms. */
const SCREEN_GOAL = 16;
const TURNS = 120;
/** A dragged value comes some sixty times a second: after a second everything is warm. */
const WARM = 60;

const bytes = (path: string): { path: string; bytes: Uint8Array } => ({ path, bytes: readFileSync(path) });

/** Processor time of this process, ms. */
const spent = (): number => {
  const t = process.cpuUsage();
  return (t.user + t.system) / 1000;
};

/**
 * What a screen does while a number is dragged: the demo order is read anew with another thickness at the first fret, then comes geometry,
 * every design and holding check, the figures, and all drawings as SVG text. No paths. Median of processor time, by stage.
 */
export function runChangeBench(): void {
  const shop = readShop(bytes("examples/stiff-router.shop.json")).value;
  if (!shop?.hardware) throw new Error("the shop of the examples cannot be read");
  const text = readFileSync("examples/loan-guitar.order.json", "utf8");
  const thick = /("fret 1", "thickness": )(\d+(?:\.\d+)?)/;
  const was = Number(thick.exec(text)?.[2]);
  if (!(was > 0)) throw new Error("the demo order has no thickness to change");
  const laps = new Map<string, number[]>();
  let size = 0;
  for (let turn = 0; turn < TURNS; turn++) {
    const changed = new TextEncoder().encode(text.replace(thick, `$1${(was + 0.01 * (turn % 10)).toFixed(2)}`));
    const begun = spent();
    let last = begun;
    const lap = (name: string): void => {
      const now = spent();
      const list = laps.get(name) ?? [];
      list.push(now - last);
      laps.set(name, list);
      last = now;
    };
    const order = readOrder({ path: "order", bytes: changed }).value;
    if (order === null) throw new Error("the changed order cannot be read");
    lap("read and check the order");
    const neck = makeNeck(order);
    checkHardware(order, shop.hardware);
    lap("geometry and its checks");
    const holding = planHolding(neck, shop.machine);
    lap("holding and its checks");
    figuresOf(neck);
    lap("figures");
    const drawings = drawingsOf({ orderName: order.name, orderHash: "", neck, holding, shop, programs: [] });
    lap("drawings");
    size = drawings.reduce((sum, d) => sum + svg(d).length, 0);
    lap("drawings as SVG");
    last = begun;
    lap("all");
    const moved = JSON.parse(new TextDecoder().decode(changed)) as unknown;
    last = spent();
    const live = neckOf(moved);
    if (live === null) throw new Error("the changed order cannot be read");
    const look = { width: 1000, height: 420, tall: 2, zoom: 1, from: null };
    const { shown } = windowOf(live, look, true);
    stripPictures(live, shown, false, "en");
    sectionPicture(live, 0, true, "en");
    lap("for the screen, while it is dragged");
  }
  const map = neckMap();
  const copy = copyTime(map.z);
  const median = (v: readonly number[]): number => v.slice(WARM).sort((a, b) => a - b)[Math.floor((v.length - WARM) / 2)] ?? 0;
  console.log(
    `\none changed number of the demo order, one core, median of ${TURNS - WARM} after ${WARM} to warm up; ${(size / 1000).toFixed(0)} kB of SVG`,
  );
  for (const [name, v] of laps)
    console.log(`${name.padEnd(44)} ${median(v).toFixed(1).padStart(7)} ms  ${(median(v) / copy).toFixed(1).padStart(5)} x copy`);
  const all = median(laps.get("all") ?? []);
  console.log(
    `goal ${GOAL} ms: ${all <= GOAL ? "kept" : `missed by ${(all - GOAL).toFixed(1)} ms`} (copy: ${NX} x ${NY} cells of ${CELL} mm)`,
  );
  const screen = median(laps.get("for the screen, while it is dragged") ?? []);
  console.log(
    `goal ${SCREEN_GOAL} ms for the screen (order read, neck made and checked, strips and section as they are drawn while it moves): ${screen <= SCREEN_GOAL ? "kept" : `missed by ${(screen - SCREEN_GOAL).toFixed(1)} ms`}`,
  );
}

function copyTime(z: Float32Array): number {
  const spare = new Float32Array(z.length);
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 7; k++) {
    const t = spent();
    spare.set(z);
    best = Math.min(best, spent() - t);
  }
  return Math.max(best, 0.1);
}
