// How the cost grows with cells, moves, cuts and necks: `node scripts/run.mjs bench/growth.ts` measures, fits the exponents and writes
// docs/performance.md with its pictures. Processor time of one thread; the least of some runs, as a busy machine only adds.
import { readFileSync, writeFileSync } from "node:fs";
import { cpus } from "node:os";
import { planHolding } from "../src/holding/index.ts";
import { cuspsOf, engagementOf } from "../src/job/job-file.ts";
import { makeJob } from "../src/job/make.ts";
import { inProcess } from "../src/job/pool.ts";
import { groupCuts } from "../src/job/programs.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import type { HeightMap } from "../src/kernel/heightmap.ts";
import { makeStock } from "../src/kernel/make-stock.ts";
import { MoveBuilder, MoveKind, type MoveList } from "../src/kernel/moves.ts";
import { ballProfile } from "../src/kernel/profile.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import { prove } from "../src/proof/index.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";
import { NX, NY, neckMap, stressProgram } from "./data.ts";

interface Series {
  readonly id: string;
  readonly title: string;
  /** What grows, and what was measured. */
  readonly along: string;
  readonly does: string;
  readonly points: readonly (readonly [n: number, seconds: number])[];
}

async function spent(f: () => unknown, times: number): Promise<number> {
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < times; k++) {
    const t = process.cpuUsage();
    await f();
    const { user, system } = process.cpuUsage(t);
    best = Math.min(best, (user + system) / 1e6);
  }
  return best;
}

/** Slope and factor of the straight line through the logarithms: seconds = factor * n ** exponent. */
function lineThrough(points: Series["points"]): { readonly exponent: number; readonly factor: number } {
  const xs = points.map(([n]) => Math.log(n));
  const ys = points.map(([, s]) => Math.log(s));
  const mean = (v: readonly number[]): number => v.reduce((a, b) => a + b, 0) / v.length;
  const [mx, my] = [mean(xs), mean(ys)];
  const exponent = xs.reduce((s, x, k) => s + (x - mx) * (ys[k] - my), 0) / xs.reduce((s, x) => s + (x - mx) ** 2, 0);
  return { exponent, factor: Math.exp(my - exponent * mx) };
}

const bytes = (path: string): { path: string; bytes: Uint8Array } => ({ path, bytes: readFileSync(path) });
const guitar = bytes("examples/loan-guitar.order.json");
const ukulele = bytes("examples/loan-ukulele.order.json");
const stiff = bytes("examples/stiff-router.shop.json");
const order = parseOrder(guitar.bytes).value;
const shop = parseShop(stiff.bytes).value;
if (!order || !shop) throw new Error("run this from the project's root folder");
const neck = makeNeck(order);
const holding = planHolding(neck, shop.machine);

function proofInput(again: readonly string[], cell: number): Parameters<typeof prove>[0] {
  const o = { ...order!, cutting: { ...order!.cutting, work: { ...order!.cutting.work, again } } };
  const n = makeNeck(o);
  const plan = planCuts(n, holding, shop!);
  const { groups, steps } = groupCuts(plan);
  const { programs } = writePrograms(groups, o, "0".repeat(64), shop!, holding);
  const sides = [holding.sides.board, holding.sides.carve];
  return {
    neck: n,
    machine: shop!.machine,
    cutters: shop!.cutters,
    sides,
    programs,
    steps,
    cusps: cuspsOf(plan),
    engagement: engagementOf(plan),
    cell,
  };
}

async function cells(): Promise<Series> {
  const input = proofInput([], 0.4);
  const points: [number, number][] = [];
  for (const cell of [0.4, 0.2, 0.1, 0.05]) {
    const seconds = await spent(() => prove({ ...input, cell }), cell < 0.1 ? 1 : 2);
    const { min, max } = holding.sides.board.stock;
    points.push([Math.round(((max[0] - min[0]) * (max[1] - min[1])) / cell ** 2), seconds]);
  }
  return {
    id: "cells",
    title: "Proof of both sides, by cells of one map",
    along: "cells",
    does: "proof of the demo order, 0.4 to 0.05 mm",
    points,
  };
}

/** Every move as `parts` equal ones on the same line. */
function split(m: MoveList, from: number, parts: number): MoveList {
  const start: [number, number, number] = [m.x[from - 1], m.y[from - 1], m.z[from - 1]];
  const b = new MoveBuilder(start, (m.count - from) * parts);
  for (let k = from; k < m.count; k++) {
    const [px, py, pz] = [b.px, b.py, b.pz];
    if (m.kind[k] !== MoveKind.line) b.rapid(m.x[k], m.y[k], m.z[k]);
    else
      for (let i = 1; i <= parts; i++) {
        const t = i / parts;
        b.lineTo(px + (m.x[k] - px) * t, py + (m.y[k] - py) * t, pz + (m.z[k] - pz) * t, 1);
      }
  }
  return b.list();
}

async function moves(): Promise<Series> {
  const map = neckMap();
  const { moves: all, roughing } = stressProgram(map);
  const points: [number, number][] = [];
  for (const parts of [1, 2, 4]) {
    const list = split(all, roughing, parts);
    const seconds = await spent(() => {
      const stock: HeightMap = { ...map, z: new Float32Array(NX * NY).fill(40) };
      makeStock(stock).cut(ballProfile(8.0014), list, 0, list.count);
    }, 2);
    points.push([list.count, seconds]);
  }
  return {
    id: "moves",
    title: "Removal of one program, its moves split",
    along: "moves",
    does: "the same finishing path in 1, 2, 4 times the moves",
    points,
  };
}

async function cuts(): Promise<Series> {
  const points: [number, number][] = [];
  for (const times of [0, 14, 42]) {
    const ids = ["board-tuner-bores", "board-scribe"];
    const input = proofInput(
      Array.from({ length: times }, (_, k) => ids[k % ids.length]),
      0.2,
    );
    const n = input.programs.reduce((sum, p) => sum + p.cuts.length, 0);
    points.push([n, await spent(() => prove(input), 1)]);
  }
  return { id: "cuts", title: "Proof by cuts", along: "cuts", does: "scribe and tuner bores run again and again", points };
}

async function necks(): Promise<Series> {
  const points: [number, number][] = [];
  for (const n of [1, 2, 4]) {
    const seconds = await spent(async () => {
      const pool = inProcess();
      for (let k = 0; k < n; k++) await makeJob(ukulele, stiff, { cell: 0.2, paper: "A4", pool });
    }, 1);
    points.push([n, seconds]);
  }
  return {
    id: "necks",
    title: "Whole jobs, one after the other",
    along: "necks",
    does: "the ukulele's job, planned, proved, drawn, at 0.2 mm",
    points,
  };
}

const W = 420;
const H = 300;
const PAD = { left: 62, right: 18, top: 34, bottom: 44 };

/** Both axes logarithmic; the points, and the fitted line. */
function plot(s: Series): string {
  const { exponent, factor } = lineThrough(s.points);
  const ns = s.points.map(([n]) => n);
  const line = (n: number): number => factor * n ** exponent;
  const all = [...s.points.map(([, t]) => t), line(Math.min(...ns)), line(Math.max(...ns))];
  const span = (v: readonly number[]): [number, number] => [Math.log10(Math.min(...v)) - 0.08, Math.log10(Math.max(...v)) + 0.08];
  const [x0, x1] = span(ns);
  const [y0, y1] = span(all);
  const x = (n: number): string => (PAD.left + ((Math.log10(n) - x0) / (x1 - x0)) * (W - PAD.left - PAD.right)).toFixed(1);
  const y = (t: number): string => (H - PAD.bottom - ((Math.log10(t) - y0) / (y1 - y0)) * (H - PAD.top - PAD.bottom)).toFixed(1);
  const text = (px: number | string, py: number | string, words: string, anchor = "middle"): string =>
    `<text x="${px}" y="${py}" text-anchor="${anchor}" font-size="11">${words}</text>`;
  const [a, b] = [Math.min(...ns), Math.max(...ns)];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${W} ${H}" width="${W}" height="${H}" font-family="sans-serif" fill="#222">`,
    `<title>${s.title}: exponent ${exponent.toFixed(2)}</title>`,
    `<rect width="${W}" height="${H}" fill="#fbf8f1"/>`,
    `<path d="M${PAD.left} ${PAD.top}V${H - PAD.bottom}H${W - PAD.right}" fill="none" stroke="#222" stroke-width="1"/>`,
    `<path d="M${x(a)} ${y(line(a))}L${x(b)} ${y(line(b))}" fill="none" stroke="#a33b20" stroke-width="1.2" stroke-dasharray="6 3"/>`,
    ...s.points.map(([n, t]) => `<circle cx="${x(n)}" cy="${y(t)}" r="3.5"/>`),
    ...s.points.map(
      ([n, t]) => text(x(n), H - PAD.bottom + 15, short(n)) + text(PAD.left - 6, y(t), `${t.toFixed(t < 1 ? 2 : 1)} s`, "end"),
    ),
    text((W + PAD.left) / 2, H - 10, s.along),
    text((W + PAD.left) / 2, 20, `${s.title}: exponent ${exponent.toFixed(2)}`),
    "</svg>\n",
  ].join("\n");
}

const short = (n: number): string => (n >= 1e6 ? `${(n / 1e6).toFixed(1)} M` : n >= 1e4 ? `${(n / 1e3).toFixed(0)} k` : String(n));

const [BEGIN, END] = ["<!-- written by bench/growth.ts -->", "<!-- to here -->"];

/** The page with its part between the two marks anew; what people have written around it stays. */
function page(old: string, all: readonly Series[]): string {
  const [from, to] = [old.indexOf(BEGIN), old.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`docs/performance.md lacks its marks: ${BEGIN} and ${END}`);
  const rows = all.flatMap((s) => {
    const { exponent } = lineThrough(s.points);
    const points = s.points.map(([n, t]) => `${short(n)}: ${t.toFixed(2)} s`).join(", ");
    return [`| ${s.along} | ${s.does} | ${points} | ${exponent.toFixed(2)} |`];
  });
  const part = `${BEGIN}
Measured on ${cpus().length} x ${cpus()[0]?.model.trim()}, Node ${process.version}, a machine that had other work too; exponents bear that better than seconds do.

| grows | what is done | measured | exponent |
|---|---|---|---|
${rows.join("\n")}

${all.map((s) => `![${s.title}](pictures/performance-${s.id}.svg)`).join("\n")}
`;
  return old.slice(0, from) + part + old.slice(to);
}

const all = [await cells(), await moves(), await cuts(), await necks()];
for (const s of all) {
  writeFileSync(`docs/pictures/performance-${s.id}.svg`, plot(s));
  console.log(
    `${s.title}: exponent ${lineThrough(s.points).exponent.toFixed(2)}  ${s.points.map(([n, t]) => `${short(n)} ${t.toFixed(2)} s`).join(", ")}`,
  );
}
writeFileSync("docs/performance.md", page(readFileSync("docs/performance.md", "utf8"), all));
