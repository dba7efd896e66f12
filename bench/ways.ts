// Every example order, held in every way, on every router, both sides: planned, written and proved. `node scripts/run.mjs bench/ways.ts --cell 0.5 --shops light-router,stiff-router,small-router --orders loan-bass,loan-ukulele --from 0 --every 1 --skip 0` (every 7: a seventh of the jobs, spread over ways and orders)
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { contactsOf, planHolding, planningForce, worstBow } from "../src/holding/index.ts";
import { settingOf, settingsOf } from "../src/holding/sections/setting.ts";
import { apply, inverse } from "../src/holding/transform.ts";
import type { Holding, Side } from "../src/holding/types.ts";
import { readOrder } from "../src/job/source.ts";
import { makeNeck } from "../src/neck/index.ts";
import type { Neck } from "../src/neck/types.ts";
import { prove } from "../src/proof/index.ts";
import { parseShop } from "../src/spec/index.ts";
import type { OrderSpec, ShopSpec } from "../src/spec/types.ts";
import { degToRad, type Finding, isStop } from "../src/units/index.ts";
import { orderSource } from "../test/examples.ts";
import { plannedOf } from "../test/jobs.ts";
import { root } from "../test/sources.ts";

const said = (name: string): string | undefined => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
};
const option = (name: string, fallback: number): number => Number(said(name) ?? fallback);
const cell = option("cell", 0.5);
const ALL = readdirSync(join(root, "examples"))
  .flatMap((f) => (f.endsWith(".order.json") ? [f.slice(0, -".order.json".length)] : []))
  .sort();
const orders = said("orders")?.split(",") ?? ALL;
const shops = said("shops")?.split(",") ?? ["light-router", "stiff-router", "small-router"];

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

/**
 * The largest distance of a corner of the blank, taken through both sides' transforms, from where half a turn about the bed's axis lays it; in
 * sections, of a pin on either side from the hole that was bored for it, both in the neck's own plan.
 */
function turnError(order: OrderSpec, machine: ShopSpec["machine"], { sides, sections }: Holding): number {
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
  if (sections === undefined) return worst;
  // where the board side's text bores them is the proof's to see; here the pins of both sides are held against each other
  const places = (side: Side, number: number): readonly (readonly [number, number])[] =>
    settingOf(side, number).holding.flatMap((s) => {
      if (s.role !== "index pin" || s.kind !== "cylinder") return [];
      const [x, y] = apply(inverse(side.neckToProgram), s.x, s.y, 0);
      return [[x, y] as const];
    });
  for (const { number } of sides.carve.sections ?? []) {
    const there = places(sides.board, Math.max(2, number));
    places(sides.carve, number).forEach(([x, y], k) => {
      worst = Math.max(worst, Math.hypot(x - (there[k]?.[0] ?? Infinity), y - (there[k]?.[1] ?? Infinity)));
    });
  }
  return worst;
}

const bowOf = (neck: Neck, { sides }: Holding, machine: ShopSpec["machine"]): number =>
  Math.max(
    ...settingsOf(sides.carve).map(
      ({ holding }) => worstBow(neck, contactsOf({ holding, neckToProgram: sides.carve.neckToProgram }), planningForce(machine))?.bow ?? 0,
    ),
  );

/** A holding that cannot be on this bed is no fault of the plan when it says so: safe height, holes of a grid, a press that holds too little. */
const CANNOT = new Set(["HO-005", "HO-022", "HO-024"]);
/** With a grid that no pair of holes fits the bed's own finding stays. */
const WITH = new Set(["HO-004"]);
const NOT_YET = "PA-008";
/** A shop without a cutter long enough for a deep blank: the finding names its length. */
const NO_CUTTER = "PA-001";

interface Row {
  readonly order: string;
  readonly shop: string;
  readonly way: string;
  readonly sections: number;
  readonly state: "proved" | "cannot" | "not yet" | "BAD";
  readonly why: readonly Finding[];
}
const rows: Row[] = [];
let slowest = 0;
let worstTurn = 0;
let worstBowed = 0;
const from = option("from", 0);
const every = option("every", 1);
const skip = option("skip", 0);
let turn = 0;
for (const name of orders)
  for (const shopName of shops)
    for (const [k, [way, make]] of Object.entries(WAYS).entries()) {
      if (k < from || turn++ % every !== skip) continue;
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
      const bow = bowOf(neck, holding, shop.machine);
      const error = turnError(order, shop.machine, holding);
      let why: readonly Finding[] = holding.findings.filter(isStop);
      let state: Row["state"] = "proved";
      if (why.some((f) => CANNOT.has(f.rule)) && why.every((f) => CANNOT.has(f.rule) || WITH.has(f.rule))) state = "cannot";
      else {
        const { input, findings } = plannedOf(order, shop, cell);
        why = findings.filter(isStop);
        if (why.length > 0 && why.every((f) => f.rule === NOT_YET)) state = "not yet";
        else if (why.length > 0 && why.every((f) => f.rule === NO_CUTTER || CANNOT.has(f.rule))) state = "cannot";
        else {
          const proof = prove(input);
          why = [...why, ...proof.findings.filter((f) => isStop(f) || /^PF-23[1-6]$/.test(f.rule))];
          if (why.length > 0) state = "BAD";
        }
        slowest = Math.max(slowest, seconds);
        worstTurn = Math.max(worstTurn, error);
        worstBowed = Math.max(worstBowed, bow);
        if (!(error <= 1e-9 && bow < 0.05 && seconds < 2)) state = "BAD";
      }
      rows.push({ order: name, shop: shopName, way, sections: holding.sections?.count ?? 1, state, why });
      console.log(
        `${state.padEnd(7)}  ${name}, ${shopName}, ${way}, ${holding.sections?.count ?? 1} setting${holding.sections ? "s" : ""} a side: placed in ${seconds.toFixed(2)} s, turn ${error.toExponential(1)} mm, bow ${bow.toFixed(3)} mm${why.length === 0 ? "" : `; ${why.map((f) => `${f.rule} ${f.where}: ${f.says} ${f.tryThis}`).join(" | ")}`}`,
      );
    }
const count = (state: Row["state"]): number => rows.filter((r) => r.state === state).length;
console.log(
  `\n| order | ${shops.map((s) => s.replace("-router", " router")).join(" | ")} |\n|---|${shops.map(() => "---").join("|")}|\n${orders
    .map((o) => {
      const cells = shops.map((s) => {
        const mine = rows.filter((r) => r.order === o && r.shop === s);
        if (mine.length === 0) return "";
        const good = mine.filter((r) => r.state === "proved").length;
        const settings = [...new Set(mine.map((r) => r.sections))].sort();
        const rest = mine.filter((r) => r.state !== "proved").map((r) => `${r.way}: ${r.state === "cannot" ? r.why[0].rule : r.state}`);
        return `${good} of ${mine.length}${settings.some((n) => n > 1) ? `, in ${settings.join(" or ")} sections` : ""}${rest.length === 0 ? "" : `; ${rest.join("; ")}`}`;
      });
      return `| ${o} | ${cells.join(" | ")} |`;
    })
    .join("\n")}\n`,
);
console.log(
  `${rows.length} jobs, both sides each: ${count("proved")} proved without contact, ${count("cannot")} that cannot be and say so, ${count("not yet")} of orders whose cuts are not all planned yet, ${count("BAD")} bad; slowest placement ${slowest.toFixed(2)} s, largest error of the turn ${worstTurn.toExponential(1)} mm, largest bow ${worstBowed.toFixed(3)} mm`,
);
process.exitCode = count("BAD") > 0 ? 1 : 0;
