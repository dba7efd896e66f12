import type { JobFile } from "../../job/files.ts";
import { type Neck, Playback, simulationOf } from "../../job/played.ts";
import { leftOver } from "./left-over.ts";
import type { Answer, Ask, PlayedSide, SideName } from "./protocol.ts";
import { seriesOf } from "./series.ts";
import { shade } from "./shade.ts";
import { blockOfWood } from "./solid.ts";

/* The thread that plays a made folder back. One folder at a time; questions are answered in the order they come. */

const scope = globalThis as unknown as {
  onmessage: ((e: { readonly data: Ask }) => void) | null;
  postMessage: (answer: Answer, transfer?: readonly ArrayBuffer[]) => void;
};

let sides: ReadonlyMap<SideName, Playback> = new Map();
let neck: Neck | null = null;
let cusps: JobFile["cusps"] = {};

async function read(url: string): Promise<Response> {
  const r = await fetch(url);
  if (!r.ok) throw new Error(`${url}: ${r.status}`);
  return r;
}

async function open(ask: Extract<Ask, { kind: "open" }>): Promise<void> {
  const at = (file: string): string => `${ask.base}${file.split("/").map(encodeURIComponent).join("/")}?${ask.id}`;
  const job = (await (await read(at("job.json"))).json()) as JobFile;
  const [order, shop] = await Promise.all(["order.json", "shop.json"].map(async (f) => (await read(at(f))).text()));
  const drawing = job.order.drawing === undefined ? null : new Uint8Array(await (await read(at(job.order.drawing.file))).arrayBuffer());
  const programs = new Map(
    await Promise.all(job.programs.map(async (p) => [p.file, new Uint8Array(await (await read(at(p.file))).arrayBuffer())] as const)),
  );
  const { input, limits } = simulationOf({ job, order: order!, shop: shop!, drawing, programs }, ask.cell);
  const made = new Map<SideName, Playback>();
  job.sides.forEach((side, n) => {
    const progress = (share: number): void => scope.postMessage({ kind: "progress", share: (n + share) / job.sides.length });
    made.set(side.name, new Playback(input, side.name, limits, { cell: ask.cell, progress }));
  });
  sides = made;
  neck = input.neck;
  cusps = job.cusps;
  scope.postMessage({ kind: "opened", sides: [...made].map(([name, p]) => described(name, p)) });
}

function described(side: SideName, p: Playback): PlayedSide {
  const { nx, ny, x0, y0, cell } = p.stock.map;
  return {
    side,
    seconds: p.seconds,
    neckToProgram: p.side.neckToProgram,
    map: { nx, ny, x0, y0, cell },
    bed: p.side.stock.min[2],
    top: p.side.stock.max[2],
    programs: p.programs.map((q) => ({
      file: q.file,
      from: q.from,
      seconds: q.ends.at(-1) ?? 0,
      cutter: { number: q.cutter.number, name: q.cutter.name, diameter: q.cutter.diameter },
      cuts: q.cuts.flatMap((id, k) => {
        const move = q.cutFrom[k];
        return Number.isFinite(move) ? [{ id, from: q.from + (move > 0 ? q.ends[move - 1] : 0) }] : [];
      }),
    })),
  };
}

function seek(ask: Extract<Ask, { kind: "seek" }>): void {
  const p = sides.get(ask.side);
  if (p === undefined) return;
  const m = p.seek(ask.seconds);
  const { nx, ny } = p.stock.map;
  const pixels = new Uint8ClampedArray(4 * nx * ny);
  shade(p.stock.map, p.side.stock.min[2], p.side.stock.max[2], ask.tone, ask.light, pixels);
  const played = m.program < 0 ? null : p.programs[m.program];
  const rings =
    played === null ? [] : Array.from(played.tool.rings, (h, k) => [h, (played.tool.radius * k) / (played.tool.rings.length - 1)] as const);
  const collars = (played?.tool.collars ?? []).flatMap((c) => [
    [c.from, c.radius] as const,
    [Math.min(c.to, c.from + 40), c.radius] as const,
  ]);
  scope.postMessage(
    {
      kind: "at",
      side: ask.side,
      moment: { seconds: m.seconds, file: played?.file ?? "", line: m.line, tip: m.tip, outline: [...rings, ...collars] },
      pixels: pixels.buffer,
    },
    [pixels.buffer],
  );
}

/** The wood about the neck: the board side as it is (or as it ended, while the carve side is at work) above, the other below. */
function solid(ask: Extract<Ask, { kind: "solid" }>): void {
  const [board, carve] = [sides.get("board"), sides.get("carve")];
  const p = sides.get(ask.side);
  if (p === undefined || board === undefined || carve === undefined) return;
  if (ask.side === "carve") board.seek(board.seconds);
  else carve.seek(0);
  p.seek(ask.seconds);
  const block = blockOfWood(board, carve, ask.step);
  scope.postMessage({ kind: "solid", side: ask.side, block }, [
    block.x.buffer,
    block.y.buffer,
    block.top.buffer,
    block.bottom.buffer,
  ] as ArrayBuffer[]);
}

function left(ask: Extract<Ask, { kind: "left" }>): void {
  const p = sides.get(ask.side);
  if (p === undefined || neck === null) return;
  p.seek(p.seconds);
  const found = leftOver(neck, p, cusps);
  scope.postMessage({ kind: "left", side: ask.side, left: found }, [found.pixels]);
}

function line(ask: Extract<Ask, { kind: "line" }>): void {
  scope.postMessage({ kind: "line", seconds: sides.get(ask.side)?.secondOf(ask.file, ask.line) ?? null });
}

function path(ask: Extract<Ask, { kind: "path" }>): void {
  for (const p of sides.values()) {
    const n = p.programs.findIndex((q) => q.file === ask.file);
    if (n < 0) continue;
    const series = seriesOf(p, n);
    const parts = [series.x, series.y, series.z, series.feed, series.t, series.line, series.chip, series.wood].map(
      (a) => a.buffer as ArrayBuffer,
    );
    scope.postMessage({ kind: "path", series }, parts);
    return;
  }
}

const ANSWERS: { readonly [K in Ask["kind"]]: (ask: Extract<Ask, { kind: K }>) => unknown } = { open, seek, solid, left, line, path };

let turn: Promise<unknown> = Promise.resolve();
scope.onmessage = ({ data }) => {
  turn = turn
    .then(() => (ANSWERS[data.kind] as (ask: Ask) => unknown)(data))
    .catch((error: unknown) => scope.postMessage({ kind: "failed", says: error instanceof Error ? error.message : String(error) }));
};
