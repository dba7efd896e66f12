import { clockLimits } from "../src/cutting/clock-limits.ts";
import { profileOf } from "../src/cutting/shape.ts";
import { planHolding } from "../src/holding/index.ts";
import type { SideName } from "../src/holding/types.ts";
import { groupCuts } from "../src/job/programs.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { secondsOf } from "../src/kernel/clock.ts";
import { makeDropper } from "../src/kernel/drop.ts";
import { makeMap } from "../src/kernel/heightmap.ts";
import { makeStock } from "../src/kernel/make-stock.ts";
import { ballProfile } from "../src/kernel/profile.ts";
import { type KernelKind, kernelInUse, useKernel } from "../src/kernel/wasm/load.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";

/** What one engine with one kind of kernels makes of an order: programs, what they leave of two blanks, drops on that, and their times. */
export interface Work {
  readonly kernel: KernelKind;
  readonly programs: readonly { readonly file: string; readonly text: string; readonly seconds: number }[];
  /** Heights after each side's programs, and a ball let down on them; numbers, so that they can be handed out of a browser. */
  readonly maps: readonly (readonly number[])[];
}

export function work(order: string, shop: string, kernel: KernelKind, cell: number): Work {
  useKernel(kernel);
  const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
  const o = parseOrder(bytes(order)).value;
  const s = parseShop(bytes(shop)).value;
  if (o === undefined || s === undefined) throw new Error("the order or the shop cannot be read");
  const neck = makeNeck(o);
  const holding = planHolding(neck, s.machine);
  const { programs } = writePrograms(groupCuts(planCuts(neck, holding, s)).groups, o, "0".repeat(64), s, holding);
  const limits = clockLimits(s.machine);
  const read = programs.map((p) => ({ ...p, moves: interpretProgram(p.text).moves }));
  const maps: number[][] = [];
  for (const side of ["board", "carve"] as SideName[]) {
    const { min, max } = holding.sides[side].stock;
    const stock = makeStock(makeMap(min[0], min[1], max[0], max[1], cell, max[2]));
    for (const p of read) {
      const cutter = s.cutters.find((c) => c.number === p.cutter);
      if (p.side === side && cutter !== undefined) stock.cut(profileOf(cutter), p.moves, 0, p.moves.count);
    }
    maps.push([...stock.map.z], [...makeDropper(stock.map, ballProfile(6)).dropMap().z]);
  }
  const inUse = kernelInUse();
  useKernel("wasm");
  return {
    kernel: inUse,
    programs: read.map((p) => ({
      file: p.file,
      text: new TextDecoder("latin1").decode(bytesOf(p.text)),
      seconds: secondsOf(p.moves, limits),
    })),
    maps,
  };
}

const bytesOf = (text: Uint8Array | string): Uint8Array => (typeof text === "string" ? new TextEncoder().encode(text) : text);
