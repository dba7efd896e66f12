import type { Playback } from "../../job/played.ts";
import type { PathSeries } from "./protocol.ts";

/** Longest chord of an arc, mm: short enough for a screen. */
const CHORD = 1.5;

/** A program's way as points, with chip and wood of the move that reaches each of them. */
export function seriesOf(playback: Playback, program: number): PathSeries {
  const p = playback.programs[program];
  const wood = playback.woodAlong(program);
  const { moves: m } = p;
  const [x, y, z, feed, t, line, chip, taken]: number[][] = [[], [], [], [], [], [], [], []];
  let [px, py, pz] = m.start;
  let before = 0;
  for (let k = 0; k < m.count; k++) {
    const end = p.ends[k];
    const arc = m.sweep[k] !== 0 && m.plane[k] === 0;
    const r = arc ? Math.hypot(px - m.cx[k], py - m.cy[k]) : 0;
    const length = arc ? Math.hypot(r * m.sweep[k], m.z[k] - pz) : Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
    const parts = arc ? Math.max(2, Math.ceil(Math.abs(r * m.sweep[k]) / CHORD)) : 1;
    const speed = end > before ? length / (end - before) : 0;
    const cutting = m.feed[k] > 0 && m.kind[k] !== 3;
    const perTooth = cutting && p.rpm[k] > 0 ? (speed * 60) / (p.rpm[k] * p.cutter.flutes) : 0;
    const start = arc ? Math.atan2(py - m.cy[k], px - m.cx[k]) : 0;
    for (let i = 1; i <= parts; i++) {
      const s = i / parts;
      const last = i === parts;
      x.push(arc && !last ? m.cx[k] + r * Math.cos(start + m.sweep[k] * s) : m.x[k]);
      y.push(arc && !last ? m.cy[k] + r * Math.sin(start + m.sweep[k] * s) : m.y[k]);
      z.push(pz + (m.z[k] - pz) * s);
      feed.push(cutting ? 1 : 0);
      t.push(before + (end - before) * s);
      line.push(m.line[k]);
      chip.push(perTooth);
      taken.push(wood[k]);
    }
    px = m.x[k];
    py = m.y[k];
    pz = m.z[k];
    before = end;
  }
  return {
    file: p.file,
    x: Float32Array.from(x),
    y: Float32Array.from(y),
    z: Float32Array.from(z),
    feed: Uint8Array.from(feed),
    t: Float32Array.from(t),
    line: Uint32Array.from(line),
    chip: Float32Array.from(chip),
    wood: Float32Array.from(taken),
  };
}
