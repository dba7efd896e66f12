/** A second clock, slow and plain: the motion itself in steps of time, without any of the clock's code. */
import type { ClockLimits } from "../../src/kernel/clock.ts";
import { MoveKind, type MoveList } from "../../src/kernel/moves.ts";

const [U, V] = [
  [0, 2, 1],
  [1, 0, 2],
];

/** Direction at share s of move k, and the way's length and its radius, without any of the clock's code. */
function direction(m: MoveList, k: number, s: number): number[] {
  const from = k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]];
  const d = [m.x[k] - from[0], m.y[k] - from[1], m.z[k] - from[2]];
  if (m.kind[k] === MoveKind.arc) {
    const [u, v] = [U[m.plane[k]], V[m.plane[k]]];
    const c = [m.cx[k], m.cy[k], m.cz[k]];
    const [x, y] = [from[u] - c[u], from[v] - c[v]];
    const a = m.sweep[k] * s;
    d[u] = m.sweep[k] * (-x * Math.sin(a) - y * Math.cos(a));
    d[v] = m.sweep[k] * (x * Math.cos(a) - y * Math.sin(a));
  }
  const L = Math.hypot(...d);
  return d.map((v) => v / L);
}

export function lengthOf(m: MoveList, k: number): number {
  if (m.kind[k] === MoveKind.dwell) return 0;
  const from = k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]];
  const d = [m.x[k] - from[0], m.y[k] - from[1], m.z[k] - from[2]];
  if (m.kind[k] !== MoveKind.arc) return Math.hypot(...d);
  const [u, v] = [U[m.plane[k]], V[m.plane[k]]];
  const c = [m.cx[k], m.cy[k], m.cz[k]];
  return Math.hypot(Math.hypot(from[u] - c[u], from[v] - c[v]) * m.sweep[k], d[3 - u - v]);
}

/** Limits over a move, by trying many directions. */
function most(m: MoveList, k: number, per: { readonly x: number; readonly y: number; readonly z: number }): number {
  let least = Number.POSITIVE_INFINITY;
  const samples = m.kind[k] === MoveKind.arc ? 2000 : 1;
  for (let i = 0; i <= samples; i++) {
    for (const [a, d] of direction(m, k, i / samples).entries())
      if (Math.abs(d) > 0) least = Math.min(least, [per.x, per.y, per.z][a] / Math.abs(d));
  }
  return least;
}

export function topOf(m: MoveList, k: number, l: ClockLimits): number {
  if (lengthOf(m, k) === 0) return 1;
  if (m.kind[k] === MoveKind.rapid) return most(m, k, l.rapid);
  let top = Math.min(m.feed[k], most(m, k, l.feed));
  if (m.kind[k] === MoveKind.arc) {
    const from = k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]];
    const [u, v] = [U[m.plane[k]], V[m.plane[k]]];
    const c = [m.cx[k], m.cy[k], m.cz[k]];
    const r = Math.hypot(from[u] - c[u], from[v] - c[v]);
    const axes = [l.acceleration.x, l.acceleration.y, l.acceleration.z];
    const inPlane = (r * Math.abs(m.sweep[k])) / lengthOf(m, k);
    top = Math.min(top, Math.sqrt(Math.min(axes[u], axes[v]) * r) / inPlane);
  }
  return top;
}

/** Seconds of a move list. Runs along the way in steps of dt, at each step as fast as lets it still brake for everything that lies ahead. */
export function integrate(m: MoveList, l: ClockLimits, dt: number): number {
  const parts: { length: number; top: number; a: number; end: number }[] = [];
  let seconds = 0;
  let last = -1;
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] === MoveKind.dwell) {
      seconds += m.feed[k];
      if (parts.length > 0) parts[parts.length - 1].end = 0;
      last = -1;
      continue;
    }
    const length = lengthOf(m, k);
    if (length === 0) continue;
    if (last >= 0 && (m.kind[k] === MoveKind.rapid || m.kind[last] === MoveKind.rapid)) parts[parts.length - 1].end = 0;
    else if (last >= 0) {
      // The corner as the circle that touches both moves and passes the deviation from the corner, by the turn's half angle.
      const [p, q] = [direction(m, last, 1), direction(m, k, 0)];
      const cross = Math.hypot(p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]);
      const half = Math.atan2(cross, p[0] * q[0] + p[1] * q[1] + p[2] * q[2]) / 2;
      const radius = Math.min(l.junctionDeviation / (1 / Math.cos(half) - 1), Math.min(lengthOf(m, last), length) / 2 / Math.tan(half));
      const inward = q.map((v, a) => v - p[a]);
      const size = Math.hypot(...inward);
      const axes = [l.acceleration.x, l.acceleration.y, l.acceleration.z];
      const a = Math.min(
        ...inward.map((v, axis) => (size * axes[axis]) / Math.abs(v)),
        most(m, last, l.acceleration),
        most(m, k, l.acceleration),
      );
      parts[parts.length - 1].end = half < 1e-9 ? Number.POSITIVE_INFINITY : Math.sqrt(a * radius);
    }
    parts.push({ length, top: topOf(m, k, l), a: most(m, k, l.acceleration), end: 0 });
    last = k;
  }
  let v = 0;
  let n = 0;
  let done = 0;
  while (n < parts.length) {
    const part = parts[n];
    let allowed2 = part.top ** 2;
    let brake = 2 * part.a * (part.length - done);
    for (let j = n; j < parts.length && brake < allowed2; j++) {
      const next = parts[j + 1]?.top ?? 0;
      allowed2 = Math.min(allowed2, Math.min(parts[j].end, next) ** 2 + brake);
      brake += j + 1 < parts.length ? 2 * parts[j + 1].a * parts[j + 1].length : 0;
    }
    const faster = Math.min(v + part.a * dt, Math.sqrt(allowed2));
    const step = Math.max(((v + faster) / 2) * dt, 1e-9);
    const rest = part.length - done;
    if (step >= rest) {
      // Only the share of the step that belongs to this move.
      seconds += dt * (rest / step);
      v += (faster - v) * (rest / step);
      n++;
      done = 0;
      v = Math.min(v, part.end);
    } else {
      seconds += dt;
      done += step;
      v = faster;
    }
  }
  return seconds;
}
