import { type ReactElement, useEffect, useRef } from "react";
import type { Plane } from "../long-view.tsx";
import type { AtMoment, PathSeries, PlayedSide } from "./protocol.ts";
import type { Light } from "./shade.ts";

/* What is laid over a plan of the long view: the wood, the cutter in it, a cut's way in the colours of a quantity. */

/** Program x, y of a side -> dots of a strip, as the six numbers of a CSS matrix. */
function matrixOf(side: PlayedSide, plane: Plane): readonly [number, number, number, number, number, number] {
  const m = side.neckToProgram;
  const [tx, ty] = [m[3], m[7]];
  // the inverse of a turn is its transpose; heights do not move plans of sides that lie flat
  const a = plane.sx * m[0];
  const c = plane.sx * m[4];
  const b = plane.sy * m[1];
  const d = plane.sy * m[5];
  return [a, b, c, d, plane.ox - a * tx - c * ty, plane.oy - b * tx - d * ty];
}

/** Which way a side's columns and rows run on the screen, for the light to come from the upper left. */
export function lightOf(side: PlayedSide, up: 1 | -1): Light {
  return [side.neckToProgram[0] >= 0 ? 1 : -1, side.neckToProgram[5] * up >= 0 ? 1 : -1];
}

const place = (m: readonly [number, number, number, number, number, number], x: number, y: number): readonly [number, number] => [
  m[0] * x + m[2] * y + m[4],
  m[1] * x + m[3] * y + m[5],
];

/** A picture of a side's cells where they lie on the neck. */
export function CellLayer(p: { readonly side: PlayedSide; readonly pixels: ArrayBuffer; readonly plane: Plane }): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { map } = p.side;
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    c?.putImageData(new ImageData(new Uint8ClampedArray(p.pixels), map.nx, map.ny), 0, 0);
  }, [p.pixels, map]);
  const m = matrixOf(p.side, p.plane);
  const [e, f] = place(m, map.x0 - map.cell / 2, map.y0 - map.cell / 2);
  const [a, b, c, d] = m.map((v) => v * map.cell);
  return (
    <canvas
      ref={canvas}
      width={map.nx}
      height={map.ny}
      aria-hidden
      style={{ transformOrigin: "0 0", transform: `matrix(${a},${b},${c},${d},${e},${f})` }}
    />
  );
}

/** The cutter from above, its holder round it. */
export function CutterLayer(p: { readonly side: PlayedSide; readonly moment: AtMoment; readonly plane: Plane }): ReactElement {
  const [x, y] = place(matrixOf(p.side, p.plane), p.moment.tip[0], p.moment.tip[1]);
  const program = p.side.programs.find((q) => q.file === p.moment.file);
  const scale = Math.abs(p.plane.sx);
  const widest = Math.max(0, ...p.moment.outline.map(([, r]) => r));
  return (
    <svg aria-hidden width={p.plane.width} height={p.plane.height}>
      <circle className="holder" cx={x} cy={y} r={widest * scale} />
      <circle className="cutter" cx={x} cy={y} r={((program?.cutter.diameter ?? 0) / 2) * scale} />
    </svg>
  );
}

/** A way in the colours of a quantity between 0 and `most`; rapids thin and in one tone. */
export function WayLayer(p: {
  readonly side: PlayedSide;
  readonly series: PathSeries;
  readonly value: Float32Array;
  readonly most: number;
  readonly from: number;
  readonly to: number;
  readonly table: Uint8Array;
  readonly plane: Plane;
  /** Second of the program at which a mark stands; null: none. */
  readonly mark: number | null;
}): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { series: s, plane, side, value, most, table } = p;
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (!c) return;
    c.clearRect(0, 0, plane.width, plane.height);
    const m = matrixOf(side, plane);
    c.lineWidth = 1.2;
    c.lineCap = "round";
    // one stroke for each run of one colour
    let colour = -2;
    for (let k = 1; k < s.x.length; k++) {
      if (s.t[k] < p.from || s.t[k] > p.to) continue;
      const now = s.feed[k] === 0 ? -1 : Math.min(255, Math.round((value[k] / most) * 255));
      if (Math.abs(now - colour) > 3 || now < 0 !== colour < 0) {
        if (colour > -2) c.stroke();
        colour = now;
        c.beginPath();
        c.globalAlpha = now < 0 ? 0.25 : 1;
        const o = 3 * Math.max(0, now);
        c.strokeStyle = now < 0 ? "gray" : `rgb(${table[o]},${table[o + 1]},${table[o + 2]})`;
        c.moveTo(...place(m, s.x[k - 1], s.y[k - 1]));
      }
      c.lineTo(...place(m, s.x[k], s.y[k]));
    }
    if (colour > -2) c.stroke();
    c.globalAlpha = 1;
  }, [s, plane, side, value, most, table, p.from, p.to]);
  const at = p.mark === null ? -1 : s.t.findIndex((t) => t >= (p.mark as number));
  const spot = at < 0 ? null : place(matrixOf(side, plane), s.x[at], s.y[at]);
  return (
    <>
      <canvas ref={canvas} width={plane.width} height={plane.height} aria-hidden />
      {spot !== null && (
        <svg aria-hidden width={plane.width} height={plane.height}>
          <circle className="cutter" cx={spot[0]} cy={spot[1]} r={6} />
        </svg>
      )}
    </>
  );
}
