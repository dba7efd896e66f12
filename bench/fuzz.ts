// Random orders through the parser, its checks and the neck: `npm run fuzz -- --count 1000000 --seed 1 [--neck 20]`
// Every crash is printed with its input and ends the run with exit code 1. The same count and seed give the same run.
import fc from "fast-check";
import { makeNeck } from "../src/neck/neck.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";
import { writeOrder } from "../src/spec/write.ts";
import type { Finding } from "../src/units/index.ts";
import { anyOrder, anyShop, hostileText, likelyOrder } from "../test/arbitrary.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  if (at < 0) return fallback;
  const value = Number(process.argv[at + 1]);
  if (!Number.isSafeInteger(value) || value < 0) {
    console.error(`--${name} wants a whole number, not ${process.argv[at + 1]}`);
    process.exit(2);
  }
  return value;
};
const count = option("count", 100_000);
const seed = option("seed", 1);
/** One order in so many goes through the neck, too; 0 for none. */
const neckEvery = option("neck", 20);

const outcomes = new Map<string, number>();
const rules = new Map<string, number>();
const add = (map: Map<string, number>, key: string): void => void map.set(key, (map.get(key) ?? 0) + 1);
/** FNV-1a over what happened, so that two runs can be compared. */
let checksum = 0x811c9dc5;
const mix = (text: string): void => {
  for (let i = 0; i < text.length; i++) checksum = Math.imul(checksum ^ text.charCodeAt(i), 0x01000193) >>> 0;
};

function tally(kind: string, findings: readonly Finding[], hasValue: boolean): void {
  const outcome = !hasValue
    ? "refused"
    : findings.some((f) => f.severity === "stop")
      ? "stopped"
      : findings.length > 0
        ? "with findings"
        : "sound";
  add(outcomes, `${kind}: ${outcome}`);
  for (const rule of new Set(findings.map((f) => f.rule))) add(rules, rule);
  mix(kind + outcome + findings.map((f) => f.rule).join(""));
}

/** The first place where two values differ. */
function difference(a: unknown, b: unknown, path: string): string | null {
  if (typeof a !== "object" || a === null || typeof b !== "object" || b === null)
    return Object.is(a, b) ? null : `${path}: ${a} is not ${b}`;
  for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) {
    const found = difference((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key], `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

let neckTurn = 0;
function tryOrder(kind: string, doc: unknown): void {
  const parsed = parseOrder(JSON.stringify(doc));
  tally(kind, parsed.findings, parsed.value !== undefined);
  if (parsed.value === undefined) return;
  const again = parseOrder(JSON.stringify(writeOrder(parsed.value)));
  if (JSON.stringify(again.value) !== JSON.stringify(parsed.value)) {
    const where = difference(parsed.value, again.value, "") ?? "the same values, their keys in another order";
    throw new Error(`Written out in full, the order reads back differently: ${where}`);
  }
  if (neckEvery > 0 && neckTurn++ % neckEvery === 0) {
    const neck = makeNeck(parsed.value);
    tally(`${kind}, neck`, neck.findings, true);
  }
}

const valid = JSON.stringify(
  { neckwright: "order/1", name: "loan", instrument: "guitar", scale: "25 1/2 in", board: { radius: [1, 2], width: { nut: 43, end: 56 } } },
  null,
  1,
);
const kinds: readonly [string, number, fc.Arbitrary<unknown>, (input: never) => void][] = [
  ["any order", 0.4, anyOrder(), (doc) => tryOrder("any order", doc)],
  ["likely order", 0.4, likelyOrder(), (doc) => tryOrder("likely order", doc)],
  [
    "any shop",
    0.05,
    anyShop(),
    (doc) => {
      const p = parseShop(JSON.stringify(doc));
      tally("any shop", p.findings, p.value !== undefined);
    },
  ],
  [
    "hostile text",
    0.15,
    hostileText(valid),
    (text: string | Uint8Array) => {
      const p = parseOrder(text);
      tally("hostile text", p.findings, p.value !== undefined);
    },
  ],
];

const CHUNK = 500;
let done = 0;
let crashes = 0;
let nextReport = 0.1;
const started = performance.now();
console.log(`${count} inputs, seed ${seed}, every ${neckEvery === 0 ? "-" : `${neckEvery}th`} order through the neck`);
for (const [kind, share, arbitrary, run] of kinds) {
  const total = Math.round(count * share);
  for (let from = 0; from < total; from += CHUNK) {
    const inputs = fc.sample(arbitrary, { seed: seed * 1_000_003 + done, numRuns: Math.min(CHUNK, total - from) });
    for (const input of inputs) {
      try {
        run(input as never);
      } catch (error) {
        crashes++;
        add(outcomes, `${kind}: CRASH`);
        if (crashes <= 20)
          console.error(`crash with ${kind}: ${JSON.stringify(input)}\n${error instanceof Error ? error.stack : String(error)}`);
      }
    }
    done += inputs.length;
    if (done / count >= nextReport) {
      console.log(
        `${Math.round((done / count) * 100)} %  ${done} inputs  ${Math.round(done / ((performance.now() - started) / 1000))} per second`,
      );
      nextReport += 0.1;
    }
  }
}

for (const [title, map] of [
  ["outcome", outcomes],
  ["rule", rules],
] as const) {
  console.log(`\n${title.padEnd(32)}     count`);
  for (const [key, n] of [...map].sort()) console.log(`${key.padEnd(32)} ${String(n).padStart(9)}`);
}
console.log(
  `\nchecksum ${checksum.toString(16).padStart(8, "0")}, ${crashes} crashes, ${((performance.now() - started) / 1000).toFixed(1)} s`,
);
process.exit(crashes === 0 ? 0 : 1);
