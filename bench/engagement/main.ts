import { mkdirSync, writeFileSync } from "node:fs";
import type { Cutter } from "../../src/cutting/types.ts";
import { timeOf } from "../../src/kernel/clock.ts";
import { EngagementField } from "../../src/kernel/engagement.ts";
import { MoveBuilder, MoveKind, type MoveList } from "../../src/kernel/moves.ts";
import { offsetPolygon } from "../../src/kernel/offset.ts";
import { type Polygon, polygonBounds, regionArea } from "../../src/kernel/polygon.ts";
import { clear } from "../../src/paths/strategies/clear.ts";
import { auditEngagement } from "../../src/proof/engagement.ts";
import type { EngagementFigure } from "../../src/proof/types.ts";
import { exampleFigures, most95 } from "./examples.ts";
import { type Shape, shapes } from "./shapes.ts";

/*
 * npm run engagement: clears twelve regions with three cutters, with bounded engagement and by plain offsets of the wall, has
 * the proof's auditor measure both, and writes docs/engagement.md with pictures. Nothing is entered by hand.
 */

const DIAMETERS = [8, 6, 3] as const;
const STEP = 0.4;
const DEPTH = 5;
const FEED = 40;
const MOTION = { feed: FEED, ramp: 0.6 * FEED, plunge: 0.3 * FEED, safeZ: 15, approachZ: 3 };
const PER_AXIS = (v: number, z: number): { x: number; y: number; z: number } => ({ x: v, y: v, z });
const CLOCK = { feed: PER_AXIS(80, 20), rapid: PER_AXIS(80, 25), acceleration: PER_AXIS(500, 250), junctionDeviation: 0.02 };
const PICTURED: readonly (readonly [string, number])[] = [
  ["open strip", 8],
  ["closed pocket", 8],
  ["island", 8],
];
const FAR = 60;

const cutter = (diameter: number): Cutter => ({
  number: 1,
  name: `${diameter} mm flat`,
  shape: "flat",
  diameter,
  cornerRadius: 0,
  tipDiameter: 0,
  tipAngle: 0,
  flutes: 2,
  fluteLength: 30,
  reach: 40,
  shankDiameter: diameter,
  chip: { min: 0.02, max: 0.1 },
  maxDepth: 8,
  maxRpm: 24000,
  holder: [],
  modulus: 580000,
});

const boxOf = (rings: readonly Polygon[], by: number): { xMin: number; yMin: number; xMax: number; yMax: number } => {
  const b = rings.map(polygonBounds);
  return {
    xMin: Math.min(...b.map((q) => q.xMin)) - by,
    yMin: Math.min(...b.map((q) => q.yMin)) - by,
    xMax: Math.max(...b.map((q) => q.xMax)) + by,
    yMax: Math.max(...b.map((q) => q.yMax)) + by,
  };
};

/** On a closed region there is wood beyond the wall. */
const woodOf = (s: Shape): ReturnType<typeof boxOf> => boxOf(s.area, s.room === s.area ? FAR : 0);

function bounded(s: Shape, d: number): { moves: MoveList; left: number } {
  const b = new MoveBuilder([0, 0, MOTION.safeZ]);
  const w = woodOf(s);
  const wood = [Float64Array.from([w.xMin, w.yMin, w.xMax, w.yMin, w.xMax, w.yMax, w.xMin, w.yMax])];
  const centres = offsetPolygon(s.room, -d / 2 - 0.001, { arcTolerance: 0.001 });
  const limit = Math.acos(1 - 2 * STEP);
  const o = { ...MOTION, cutterDiameter: d, top: 0, depth: DEPTH, floor: -DEPTH, limit, wood, linkFeed: 80 };
  const { left } = clear(b, centres, () => -DEPTH, o);
  return { moves: b.list(), left };
}

/** Rings parallel to the wall, the innermost first, each begun by a plunge: what clearing is without a thought of the rim. */
function offsets(s: Shape, d: number): MoveList {
  const b = new MoveBuilder([0, 0, MOTION.safeZ]);
  const rings: Polygon[][] = [];
  for (let k = 0; k < 200; k++) {
    const r = offsetPolygon(s.area, -d / 2 - 0.001 - k * STEP * d, { arcTolerance: 0.005 });
    if (r.length === 0) break;
    rings.push(r);
  }
  for (const r of rings.reverse().flat()) {
    b.rapid(b.px, b.py, MOTION.safeZ);
    b.rapid(r[0], r[1], MOTION.safeZ);
    b.rapid(r[0], r[1], 1);
    b.lineTo(r[0], r[1], -DEPTH, MOTION.plunge);
    for (let k = 2; k < r.length; k += 2) b.lineTo(r[k], r[k + 1], -DEPTH, MOTION.feed);
    b.lineTo(r[0], r[1], -DEPTH, MOTION.feed);
  }
  b.rapid(b.px, b.py, MOTION.safeZ);
  return b.list();
}

function audited(s: Shape, d: number, moves: MoveList): EngagementFigure {
  const asked = { limit: Math.acos(1 - 2 * STEP), depth: DEPTH };
  const a = auditEngagement(woodOf(s), 0, [{ file: "a", moves, events: [], cutter: cutter(d), cuts: [{ id: "a", asked }] }]);
  return (a.figures.get("a") as readonly EngagementFigure[])[0];
}

/** Dark blue to yellow in even steps of lightness (viridis, five stops). */
const STOPS = [
  [68, 1, 84],
  [59, 82, 139],
  [33, 145, 140],
  [94, 201, 98],
  [253, 231, 37],
] as const;
function colour(share: number): string {
  const u = Math.max(0, Math.min(1, share)) * 4;
  const i = Math.min(3, Math.floor(u));
  return `rgb(${[0, 1, 2].map((c) => Math.round(STOPS[i][c] + (STOPS[i + 1][c] - STOPS[i][c]) * (u - i))).join(",")})`;
}

function picture(s: Shape, d: number, m: MoveList): string {
  const b = boxOf(s.room, 4);
  const f = new EngagementField(woodOf(s), 0, boxOf(s.room, 2), Math.min(0.2, d / 40));
  const runs: { colour: string; d: string }[] = [];
  const add = (c: string, ax: number, ay: number, bx: number, by: number): void => {
    const last = runs[runs.length - 1];
    const from = `${ax.toFixed(1)} ${ay.toFixed(1)}`;
    if (last?.colour === c && last.d.endsWith(from)) last.d += `L${bx.toFixed(1)} ${by.toFixed(1)}`;
    else runs.push({ colour: c, d: `M${from}L${bx.toFixed(1)} ${by.toFixed(1)}` });
  };
  let [px, py] = m.start;
  for (let k = 0; k < m.count; k++) {
    const [x, y] = [m.x[k], m.y[k]];
    const L = Math.hypot(x - px, y - py);
    if (m.kind[k] === MoveKind.line && L > 1e-6 && m.z[k] < 0) {
      const link = m.z[k] > -DEPTH + 0.01;
      const n = Math.ceil(L / 0.6);
      for (let i = 1; i <= n; i++) {
        f.measure(px + ((x - px) * i) / n, py + ((y - py) * i) / n, -DEPTH, (x - px) / L, (y - py) / L, d / 2, DEPTH);
        const degrees = Math.round((f.angle * 180) / Math.PI / 10) * 10;
        const [ax, ay] = [px + ((x - px) * (i - 1)) / n, py + ((y - py) * (i - 1)) / n];
        add(link ? "#b8b8b8" : colour(degrees / 180), ax, ay, px + ((x - px) * i) / n, py + ((y - py) * i) / n);
      }
      if (!link) f.stamp(px, py, -DEPTH, x, y, -DEPTH, d / 2, false);
    } else if (m.kind[k] === MoveKind.arc && m.z[k] < 0) {
      const n = 48;
      const r = Math.hypot(px - m.cx[k], py - m.cy[k]);
      const a0 = Math.atan2(py - m.cy[k], px - m.cx[k]);
      for (let i = 0; i < n; i++) {
        const at = (j: number): [number, number] => {
          const a = a0 + (m.sweep[k] * j) / n;
          return [m.cx[k] + r * Math.cos(a), m.cy[k] + r * Math.sin(a)];
        };
        f.stamp(...at(i), -DEPTH, ...at(i + 1), -DEPTH, d / 2, false);
      }
    }
    [px, py] = [x, y];
  }
  const h = b.yMax - b.yMin + 12;
  const w = Math.max(b.xMax - b.xMin, 100);
  const legend = Array.from(
    { length: 19 },
    (_, k) => `<rect x="${b.xMin + 4 + k * 4}" y="${-b.yMin + 1}" width="4.05" height="3" fill="${colour(k / 18)}"/>`,
  ).join("");
  const words = [0, 90, 180].map((v) => `<text x="${b.xMin + 4 + (v / 10) * 4}" y="${-b.yMin + 8}">${v}</text>`).join("");
  const rings = s.area.map(
    (p) => `M${Array.from({ length: p.length / 2 }, (_, k) => `${p[2 * k].toFixed(2)} ${p[2 * k + 1].toFixed(2)}`).join("L")}Z`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${b.xMin} ${-b.yMax} ${w} ${h}" width="900" font-family="sans-serif" font-size="3.4">
<title>${s.name}, ${d} mm cutter: the rim's angle in wood along the way, degrees; ways over cleared ground in grey</title>
<rect x="${b.xMin}" y="${-b.yMax}" width="${w}" height="${h}" fill="#fff"/>
<g transform="scale(1,-1)" fill="none" stroke-width="0.35"><path d="${rings.join("")}" fill="#f1ece4" fill-rule="evenodd" stroke="#777"/>
${runs.map((r) => `<path d="${r.d}" stroke="${r.colour}"/>`).join("\n")}</g>
${legend}${words}<text x="${b.xMin + 84}" y="${-b.yMin + 8}">degrees</text></svg>
`;
}

const row = (cells: readonly (string | number)[]): string => `| ${cells.join(" | ")} |`;
const head = [
  "region",
  "cutter, mm",
  "limit",
  "most, bounded",
  "most, offsets",
  "over the limit, offsets",
  "min, bounded",
  "min, offsets",
  "cut length over area / step",
  "left, mm²",
  "lifts",
];
const lines: string[] = [];
let worst = 0;
for (const s of shapes()) {
  for (const d of DIAMETERS) {
    const plan = bounded(s, d);
    const a = audited(s, d, plan.moves);
    const plain = offsets(s, d);
    const p = audited(s, d, plain);
    const limit = a.limitDegrees;
    worst = Math.max(worst, a.maxDegrees / limit);
    const over = p.histogram.reduce((t, v, k) => (k * 10 >= limit ? t + v : t), 0);
    const all = p.histogram.reduce((t, v) => t + v, 0);
    const minutes = (m: MoveList): string => (timeOf(m, CLOCK).seconds / 60).toFixed(1);
    let lifts = -1;
    for (let k = 0; k < plan.moves.count; k++)
      if (plan.moves.kind[k] === MoveKind.rapid && plan.moves.z[k] === MOTION.safeZ && (k === 0 || plan.moves.z[k - 1] < 0)) lifts++;
    const inWood = a.histogram.reduce((t, v) => t + v, 0);
    lines.push(
      row([
        s.name,
        d,
        limit.toFixed(1),
        `${a.maxDegrees.toFixed(1)} ± ${a.errorDegrees.toFixed(1)}`,
        p.maxDegrees.toFixed(0),
        `${((100 * over) / all).toFixed(0)} %`,
        minutes(plan.moves),
        minutes(plain),
        (inWood / (regionArea(s.area) / (STEP * d))).toFixed(2),
        plan.left.toFixed(1),
        lifts,
      ]),
    );
    console.log(lines[lines.length - 1]);
    if (PICTURED.some(([n, q]) => n === s.name && q === d)) {
      mkdirSync("docs/pictures", { recursive: true });
      writeFileSync(`docs/pictures/engagement-${s.name.replace(/ /g, "-")}.svg`, picture(s, d, plan.moves));
    }
  }
}
const { figures, notCut } = exampleFigures();
const examples = figures.map(({ order, shop, figure: f }) =>
  row([
    order,
    shop,
    f.cut,
    f.depth.toFixed(2),
    f.limitDegrees.toFixed(1),
    `${f.maxDegrees.toFixed(1)} ± ${f.errorDegrees.toFixed(1)}`,
    (f.maxDegrees / f.limitDegrees).toFixed(3),
    most95(f),
    (f.histogram.reduce((t, v) => t + v, 0) / 1000).toFixed(1),
    (f.air / 1000).toFixed(1),
  ]),
);
for (const l of examples) console.log(l);
const exampleHead = ["order", "shop", "cut", "depth", "limit", "most", "most / limit", "95 % below", "m in wood", "m in air"];
const text = `# Engagement

Written by \`npm run engagement\`. Twelve regions are cleared with three flat cutters, once with bounded engagement
(\`src/kernel/clearing\`, \`src/paths/strategies/clear.ts\`) and once by plain offsets of the wall, each ring begun by a plunge. Both are
measured by the proof's own auditor (\`src/proof/engagement.ts\`), which shares nothing with the planner. A step of ${STEP} of the diameter
asks for acos(1 - step / radius) = ${((Math.acos(1 - 2 * STEP) * 180) / Math.PI).toFixed(1)} degrees of the rim; depth ${DEPTH} mm; feed ${FEED * 60} mm/min, acceleration ${CLOCK.acceleration.x} mm/s².

*Most* is the largest angle of the rim in wood, weighed by the wood's height over the depth asked, over the whole program, starts,
helices and ways over cleared ground included; beside it the auditor's error. *Over the limit* is the share of the offsets' length in
wood. *Left* is what stands within the cutter's reach: corners sharper than 180 degrees less the limit cannot be entered within it, and lanes hardly wider than the
cutter neither; both are left to the passes that follow. *Lifts* are those of the bounded way.

The largest, over all: ${worst.toFixed(3)} of the limit.

${row(head)}
${row(head.map(() => "---"))}
${lines.join("\n")}

## The example orders

Roughing of the example orders, read back from the programs' text and audited in the order of work. A cut with a limit of 180 degrees is
cut at full width: its loads are those of a slot, its depth is what a slot may have on that machine, and the audit holds the height of the
wood ahead against that depth (by the middle five sixths of the rim; its ends slide along walls that the layers above have cut). The back's
levels and the outline's channel are such cuts: their lanes are hardly two cutters wide. Clearing them along the front with a bounded rim was
tried on the loan guitar: 203 minutes on the light router and 73 on the stiff one, against 23 and 4 in rows at full width. The clean laps of
the outline are held to twice the strip that roughing leaves. The board's radius is roughed by a ball from the crown outward, one side of every
row open; its ball counts as the cylinder it is at the depth of a layer. A neck longer than the bed is cut in sections, s1 and s2. Angles in
degrees, depth in mm. No programs are written for ${notCut.join(", ")}.

${row(exampleHead)}
${row(exampleHead.map(() => "---"))}
${examples.join("\n")}

${PICTURED.map(([n]) => `![${n}](pictures/engagement-${n.replace(/ /g, "-")}.svg)`).join("\n\n")}
`;
writeFileSync("docs/engagement.md", text);
console.log(`docs/engagement.md: most ${worst.toFixed(3)} of the limit`);
