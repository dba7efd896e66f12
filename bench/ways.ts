// Every example order that the plan cuts whole, held in every way, both sides: planned, written and proved. `node scripts/run.mjs bench/ways.ts --cell 0.5 --orders 6 --from 0 --every 1 --skip 0` (every 7: a seventh of the jobs, spread over ways and orders)
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { contactsOf, planHolding, planningForce, worstBow } from "../src/holding/index.ts";
import { apply, inverse } from "../src/holding/transform.ts";
import { readOrder } from "../src/job/source.ts";
import { makeNeck } from "../src/neck/index.ts";
import { prove } from "../src/proof/index.ts";
import { parseShop } from "../src/spec/index.ts";
import type { OrderSpec, ShopSpec } from "../src/spec/types.ts";
import { degToRad, isStop } from "../src/units/index.ts";
import { orderSource } from "../test/examples.ts";
import { CUT_ORDERS, plannedOf } from "../test/jobs.ts";
import { root } from "../test/sources.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const cell = option("cell", 0.5);
const orders = CUT_ORDERS.slice(0, option("orders", CUT_ORDERS.length));

type Way = (o: OrderSpec, s: ShopSpec) => readonly [OrderSpec, ShopSpec];
const held =
  (holding: Partial<OrderSpec["holding"]>, blank: Partial<OrderSpec["blank"]> = {}): Way =>
  (o, s) => [{ ...o, holding: { ...o.holding, ...holding }, blank: { ...o.blank, ...blank } }, s];
const grid = { holes: "threaded", first: { x: 12, y: 12 }, diameter: 6 } as const;
const onGrid =
  (way: Way, pitch: number): Way =>
  (o, s) => {
    const [order, shop] = way(o, s);
    return [order, { ...shop, machine: { ...shop.machine, grid: { ...grid, pitch } } }];
  };
const WAYS: Readonly<Record<string, Way>> = {
  "datum edge": held({}),
  "datum edge, turned about y": held({ turn: "y" }),
  "datum edge and screws": held({ screw: { count: 2, head: 8, height: 3 } }),
  "0.8 degrees askew": held({}, { rotation: degToRad(0.8) }),
  "-0.8 degrees askew": held({}, { rotation: degToRad(-0.8) }),
  "pins through the waste": held({ way: "waste-pins" }),
  "grid of holes": onGrid(held({}), 25),
  "grid, pins, askew": onGrid(held({ way: "waste-pins", turn: "y" }, { rotation: degToRad(-0.8) }), 20),
  "vacuum under the board side": held({ press: { kind: "vacuum", kPa: 60, friction: 0.3, side: "board" } }),
};

/** Largest distance of a corner of the blank, taken through both sides' transforms, from where half a turn about the bed's axis lays it. */
function turnError(order: OrderSpec, machine: ShopSpec["machine"]): number {
  const { sides } = planHolding(makeNeck(order), machine);
  const back = inverse(sides.board.neckToProgram);
  const { min, max } = sides.board.stock;
  const aboutBedX = (order.holding.turn === "x") === (machine.along === "x");
  let worst = 0;
  for (const x of [min[0], max[0]])
    for (const y of [min[1], max[1]])
      for (const z of [min[2], max[2]]) {
        const [u, v, w] = apply(sides.carve.neckToProgram, ...apply(back, x, y, z));
        const [p, q] = aboutBedX ? [x, -y] : [-x, y];
        worst = Math.max(worst, Math.abs(u - p), Math.abs(v - q), Math.abs(w - (sides.carve.stock.max[2] - z + min[2])));
      }
  return worst;
}

let bad = 0;
let jobs = 0;
let slowest = 0;
let worstTurn = 0;
let worstBowed = 0;
const from = option("from", 0);
const every = option("every", 1);
const skip = option("skip", 0);
let turn = 0;
for (const name of orders)
  for (const [k, [way, make]] of Object.entries(WAYS).entries()) {
    if (k < from || turn++ % every !== skip) continue;
    const shopName = k % 2 === 0 ? "stiff-router" : "light-router";
    const given = readOrder(orderSource(join(root, `examples/${name}.order.json`))).value;
    const shopGiven = parseShop(readFileSync(join(root, `examples/${shopName}.shop.json`))).value;
    if (!given || !shopGiven) throw new Error(`${name}, ${shopName}: the examples must be readable`);
    const [order, shop] = make(given, shopGiven);
    const neck = makeNeck(order);
    // of the processor: other work on the machine says nothing about the plan
    const before = process.cpuUsage();
    const holding = planHolding(neck, shop.machine, shop.cutters);
    const used = process.cpuUsage(before);
    const seconds = (used.user + used.system) / 1e6;
    const bow = worstBow(neck, contactsOf(holding.sides.carve), planningForce(shop.machine))?.bow ?? 0;
    const error = turnError(order, shop.machine);
    const { input, findings } = plannedOf(order, shop, cell);
    const proof = prove(input);
    const wrong = [...findings, ...proof.findings].filter(isStop);
    const contact = proof.findings.filter((f) => /^PF-23[1-6]$/.test(f.rule));
    jobs++;
    slowest = Math.max(slowest, seconds);
    worstTurn = Math.max(worstTurn, error);
    worstBowed = Math.max(worstBowed, bow);
    const good = wrong.length === 0 && contact.length === 0 && error <= 1e-9 && bow < 0.05 && seconds < 2;
    if (!good) bad++;
    console.log(
      `${good ? "good" : "BAD "}  ${name}, ${way}, ${shopName}: placed in ${seconds.toFixed(2)} s, turn ${error.toExponential(1)} mm, bow ${bow.toFixed(3)} mm${wrong.length + contact.length === 0 ? "" : `; ${[...wrong, ...contact].map((f) => `${f.rule} ${f.where}: ${f.says}`).join(" | ")}`}`,
    );
  }
console.log(
  `${jobs} jobs, both sides each: ${jobs - bad} proved without contact; slowest placement ${slowest.toFixed(2)} s, largest error of the turn ${worstTurn.toExponential(1)} mm, largest bow ${worstBowed.toFixed(3)} mm`,
);
process.exitCode = bad > 0 ? 1 : 0;
