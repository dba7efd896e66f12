import type { Neck } from "../../neck/types.ts";
import type { Context, PlannedCut, Remember } from "../../paths/index.ts";
import type { OrderSpec } from "../../spec/types.ts";
import { digest } from "./digest.ts";
import type { Keeper, Kept } from "./keeper.ts";

/*
 * Cuts by what they were planned from. Each cut is planned on a neck that notes what is asked of it: sections of the order, kinds of
 * features, surfaces. What was asked is kept with the cut, and the cut is taken again only when all of it has the same values; so a
 * tuner's bore makes its own cut anew and no other, without anyone keeping a list of what each cut needs.
 *
 * What cannot be noted is what a surface (a function) was made from: it counts as made from the whole order but for FEATURES_ONLY.
 */

/** Parts of an order that shape features, holding and work, and no surface, edge or fret line; a test holds this. */
export const FEATURES_ONLY: readonly string[] = [
  "name",
  "title",
  "overrides",
  "corrections",
  "markers",
  "wood",
  "blank",
  "holding",
  "cutting",
  "bars",
  "setup",
  "climate",
  "rod",
  "frets.tangWidth",
  "frets.tangDepth",
  "frets.kerf",
  "frets.depth",
  "frets.ends",
  "frets.blindMargin",
  "headstock.tuners.post",
  "headstock.tuners.bush",
  "headstock.tuners.bushDepth",
  "headstock.tuners.sideAngle",
  "headstock.tuners.clearance",
  "heel.screws",
];

/** The order without what shapes no surface. */
export const surfacesOf = (order: OrderSpec): unknown => without(order, FEATURES_ONLY);

function without(value: unknown, paths: readonly string[]): unknown {
  if (typeof value !== "object" || value === null || paths.length === 0) return value;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([key]) => !paths.includes(key))
      .map(([key, inner]) => [
        key,
        without(
          inner,
          paths.filter((p) => p.startsWith(`${key}.`)).map((p) => p.slice(key.length + 1)),
        ),
      ]),
  );
}

/** Of one cut, what different plannings of it asked for: no more lists than this are kept. */
const MOST_LISTS = 8;

/** Remembers cuts in a cache. */
export function rememberCuts(keeper: Keeper): Remember {
  return (name, ctx, side, plan) =>
    remembered<PlannedCut>(keeper, "cut", digest([name, rest(ctx), side.neckToProgram]), reader(ctx), (asked) => plan(noting(ctx, asked)));
}

/** What was made from a neck and other inputs; `make` is handed a neck that notes what is asked of it. */
export function rememberOfNeck<T>(keeper: Keeper, kind: Kept, inputs: unknown, neck: Neck, make: (neck: Neck) => T): T {
  return remembered<T>(keeper, kind, digest([kind, inputs]), reader({ neck } as Context), (asked) => make(notingNeck(neck, asked)));
}

function remembered<T>(keeper: Keeper, kind: Kept, base: string, value: (path: string) => string, make: (asked: Set<string>) => T): T {
  const lists = keeper.get<string[][]>("asked", base) ?? [];
  for (const asked of lists) {
    const found = keeper.get<T>(kind, digest([base, asked, asked.map(value)]));
    if (found !== null) return found;
  }
  const asked = new Set<string>();
  const made = make(asked);
  const list = [...asked].sort();
  keeper.put(kind, digest([base, list, list.map(value)]), made);
  if (!lists.some((l) => l.join() === list.join())) keeper.put("asked", base, [list, ...lists].slice(0, MOST_LISTS));
  return made;
}

/** What is the same for every cut of a side, whole. */
function rest(ctx: Context): unknown {
  const { neck: _neck, outline: _outline, inward: _inward, zSet: _zSet, slabs: _slabs, frame, ...others } = ctx;
  return [others, Object.fromEntries(Object.entries(frame).filter(([, v]) => typeof v !== "function"))];
}

/** Digests of what may be asked, each made once. */
function reader(ctx: Context): (path: string) => string {
  const { neck } = ctx;
  let surfaces: string | null = null;
  const known = new Map<string, string>();
  const at = (keys: readonly string[]): unknown =>
    keys.reduce<unknown>((of, key) => (of as Record<string, unknown> | undefined)?.[key], neck);
  const make = (path: string): string => {
    const [head, ...keys] = path.split(".");
    if (head !== "neck") return digest(ctx[head as keyof Context]);
    // whether a part of the order is there at all
    if (path.endsWith("?")) return typeof at(path.slice(0, -1).split(".").slice(1));
    const v = at(keys);
    if (typeof v !== "function") return digest(v);
    // the wood under the rod is the one measure that is made from features
    if (keys[0] === "woodUnderRod") return digest(neck.order);
    surfaces ??= digest(surfacesOf(neck.order));
    return surfaces;
  };
  return (path) => {
    const was = known.get(path);
    if (was !== undefined) return was;
    const d = make(path);
    known.set(path, d);
    return d;
  };
}

/** The context, its neck and its order, each noting what is taken from it. */
function noting(ctx: Context, asked: Set<string>): Context {
  const neck = notingNeck(ctx.neck, asked);
  return lazily(ctx, (key: keyof Context) => {
    if (key === "neck") return neck;
    if (key === "outline" || key === "inward" || key === "zSet") asked.add(key);
    return ctx[key];
  });
}

function notingNeck(neck: Neck, asked: Set<string>): Neck {
  return lazily(neck, (key: keyof Neck) => {
    if (key === "order") return watched(neck.order, "neck.order", asked, 2);
    if (key === "features") return watched(neck.features, "neck.features", asked, 1);
    asked.add(`neck.${key}`);
    return neck[key];
  });
}

/** A copy whose values are fetched when first asked for, and are plain properties from then on: what is asked a million times costs nothing. */
function lazily<T extends object>(like: T, fetch: (key: keyof T) => unknown): T {
  const out = {};
  for (const key of Object.keys(like) as (keyof T & string)[]) {
    Object.defineProperty(out, key, {
      configurable: true,
      enumerable: true,
      get() {
        const value = fetch(key);
        Object.defineProperty(out, key, { value, enumerable: true });
        return value;
      },
    });
  }
  return out as T;
}

/** A record that notes which of its keys are taken, absent ones too, down to `depth` levels; taken as a whole, it is noted as a whole. */
function watched<T extends object>(value: T, path: string, asked: Set<string>, depth: number): T {
  return new Proxy(value, {
    get(target, key) {
      if (typeof key === "symbol") return Reflect.get(target, key);
      const inner = (target as Record<string, unknown>)[key];
      const here = `${path}.${key}`;
      if (depth > 1 && typeof inner === "object" && inner !== null && !Array.isArray(inner)) {
        asked.add(`${here}?`);
        return watched(inner, here, asked, depth - 1);
      }
      asked.add(here);
      return inner;
    },
    has(target, key) {
      asked.add(path);
      return Reflect.has(target, key);
    },
    ownKeys(target) {
      asked.add(path);
      return Reflect.ownKeys(target);
    },
    getOwnPropertyDescriptor(target, key) {
      asked.add(path);
      return Reflect.getOwnPropertyDescriptor(target, key);
    },
  });
}
