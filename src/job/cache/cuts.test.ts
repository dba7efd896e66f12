import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, test } from "vitest";
import { planHolding } from "../../holding/index.ts";
import type { SideName } from "../../holding/types.ts";
import { makeNeck } from "../../neck/index.ts";
import type { Neck } from "../../neck/types.ts";
import { planCuts } from "../../paths/index.ts";
import type { CutPlan } from "../../paths/types.ts";
import { parseOrder, parseShop } from "../../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../../spec/types.ts";
import { FEATURES_ONLY, rememberCuts, surfacesOf } from "./cuts.ts";
import { digest } from "./digest.ts";
import { keeperOf } from "./keeper.ts";
import type { Cache } from "./store.ts";

const example = (name: string): Uint8Array => readFileSync(new URL(`../../../examples/${name}`, import.meta.url));
const ukulele: OrderSpec = parseOrder(example("loan-ukulele.order.json")).value!;
const stiff: ShopSpec = parseShop(example("stiff-router.shop.json")).value!;

/** In memory; counts what is put. */
class Memory implements Cache {
  readonly folder = "";
  readonly limit = 1e9;
  readonly map = new Map<string, Uint8Array>();
  puts = 0;
  get(key: string): Uint8Array | null {
    return this.map.get(key) ?? null;
  }
  put(key: string, bytes: Uint8Array): void {
    this.puts++;
    this.map.set(key, bytes);
  }
  trim(): void {}
}

const plan = (
  order: OrderSpec,
  memory: Memory | null,
  shop: ShopSpec = stiff,
  sides: readonly SideName[] = ["board", "carve"],
): { readonly plan: CutPlan; readonly made: string[] } => {
  const neck = makeNeck(order);
  const made: string[] = [];
  const remember = memory === null ? undefined : rememberCuts(keeperOf(memory));
  const planned = planCuts(neck, planHolding(neck, shop.machine), shop, {
    sides,
    ...(remember && {
      remember: (name, ctx, side, make) =>
        remember(name, ctx, side, (c) => {
          const one = make(c);
          if (one.cut) made.push(one.cut.id);
          return one;
        }),
    }),
  });
  return { plan: planned, made };
};

describe("cuts that were planned before", () => {
  const memory = new Memory();
  let cold: CutPlan;
  beforeAll(() => {
    cold = plan(ukulele, null).plan;
  });

  test("are to the byte what they were, from the first planning and from the cache", () => {
    const first = plan(ukulele, memory);
    expect(digest(first.plan)).toBe(digest(cold));
    expect(first.made.length).toBe(cold.cuts.length);
    const second = plan(structuredClone(ukulele), memory);
    expect(second.made).toEqual([]);
    expect(digest(second.plan)).toBe(digest(cold));
  });

  test("change with a tuner's bore and a slot's depth, and no others with them; with a name none", () => {
    const tuners = { ...ukulele.headstock.tuners, post: ukulele.headstock.tuners.post + 0.4 };
    const frets = { ...ukulele.frets, depth: ukulele.frets.depth - 0.1 };
    const order = { ...ukulele, name: "another", title: "Another", frets, headstock: { ...ukulele.headstock, tuners } };
    const kept = plan(order, memory);
    expect(kept.made).toEqual(["board-tuner-bores", "board-fret-slots"]);
    expect(digest(kept.plan)).toBe(digest(plan(order, null).plan));
    expect(digest(kept.plan.cuts)).not.toBe(digest(cold.cuts));
    expect(plan({ ...order, name: "a third" }, memory).made).toEqual([]);
  });

  test("are all made anew by another machine", () => {
    const carve = cold.cuts.filter((c) => c.side === "carve").length;
    const slower = { ...stiff, machine: { ...stiff.machine, acceleration: { ...stiff.machine.acceleration, x: 1 } } };
    expect(plan(ukulele, memory, slower, ["carve"]).made.length).toBe(carve);
  });
});

/** Every answer of a neck's functions at many places. */
function surfaces(neck: Neck): unknown {
  const { tip, end } = neck.places;
  const out: number[] = [];
  for (let k = 0; k <= 60; k++) {
    const x = tip + ((end - tip) * k) / 60;
    const [lo, hi] = neck.edges(x);
    out.push(lo, hi, ...neck.boardEdges(x), neck.boardRadius(x), neck.stringAt(1, x), ...Object.values(neck.section(x)));
    for (let j = 0; j <= 6; j++) {
      const y = lo + ((hi - lo) * j) / 6;
      const [top, back] = [neck.top(x, y), neck.back(x, y)];
      out.push(top, back, neck.boardTop(x, y), neck.topDistance(x, y, top + 0.1), neck.backDistance(x, y, back + 0.1));
      out.push(...neck.backNormal(x, y, back));
    }
  }
  for (let n = -1; n < 30; n++) out.push(neck.fretAt(n), neck.fretSlope(n));
  return [out, neck.scaleOf(1), neck.neckAngle, neck.outline, neck.board, neck.places];
}

describe("what shapes no surface", () => {
  const names = ["loan-ukulele", "loan-guitar", "loan-bass-five", "loan-guitar-set", "loan-guitar-seven", "loan-guitar-twelve"];
  const orders = names.map((n) => parseOrder(example(`${n}.order.json`)).value!);
  const at = (o: unknown, path: string): unknown => path.split(".").reduce((v, k) => (v as Record<string, unknown> | undefined)?.[k], o);
  const withAt = (o: unknown, keys: readonly string[], v: unknown): unknown =>
    keys.length === 0 ? v : { ...(o as object), [keys[0]]: withAt((o as Record<string, unknown>)[keys[0]], keys.slice(1), v) };

  test.each(orders.map((o) => [o.name, o] as const))(
    "leaves every surface of %s as it is when it becomes that of any other order",
    (_n, order) => {
      const was = digest(surfaces(makeNeck(order)));
      for (const other of orders) {
        const changed = FEATURES_ONLY.reduce<unknown>((o, path) => withAt(o, path.split("."), at(other, path)), order) as OrderSpec;
        expect(digest(surfacesOf(changed))).toBe(digest(surfacesOf(order)));
        expect(digest(surfaces(makeNeck(changed))), other.name).toBe(was);
      }
    },
  );
});
