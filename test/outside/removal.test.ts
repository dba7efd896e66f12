import { describe, expect, test } from "vitest";
import { makeMap } from "../../src/kernel/heightmap.ts";
import { makeStock } from "../../src/kernel/make-stock.ts";
import { MoveBuilder } from "../../src/kernel/moves.ts";
import { ballProfile, bullProfile, flatProfile } from "../../src/kernel/profile.ts";

// Sources: plane and solid geometry (stadium, ring, spherical cap, envelope of a ball on a line); the cusp between ball cutter passes
// a step s apart on a plane, R - sqrt(R^2 - s^2 / 4), is the height of the crossing of two circles.

/** What cell centres can miss of an area: half a cell's width along its edge, on both sides of a random edge. */
const edge = (perimeter: number, cell: number): number => perimeter * cell * 0.05;

describe("volumes in closed form", () => {
  test("a slot of a flat cutter: (D L + pi D^2 / 4) d, in any direction", () => {
    const cell = 0.05;
    const D = 6.0007;
    const d = 2;
    const L = 20;
    for (const turn of [0, 0.4, 1.2, Math.PI / 2]) {
      const map = makeMap(-16, -16, 16, 16, cell, 0);
      const b = new MoveBuilder([-10 * Math.cos(turn), -10 * Math.sin(turn), -d]);
      b.lineTo(10 * Math.cos(turn), 10 * Math.sin(turn), -d, 10);
      const removed = makeStock(map).cut(flatProfile(D), b.list(), 0, 1);
      const want = (D * L + (Math.PI * D * D) / 4) * d;
      expect(Math.abs(removed - want)).toBeLessThan(edge(2 * L + Math.PI * D, cell) * d);
    }
  });
  test("a full circle of a flat cutter: 2 pi rho D d; a half circle has two round ends", () => {
    const cell = 0.05;
    const D = 4.0007;
    const rho = 7;
    for (const [sweep, area] of [
      [2 * Math.PI, 2 * Math.PI * rho * D],
      [-Math.PI, Math.PI * rho * D + (Math.PI * D * D) / 4],
    ] as const) {
      const map = makeMap(-10, -10, 10, 10, cell, 0);
      const b = new MoveBuilder([rho, 0, -1.5]);
      b.arcTo(rho * Math.cos(sweep), rho * Math.sin(sweep), -1.5, 0, 0, 0, sweep, 10);
      const removed = makeStock(map).cut(flatProfile(D), b.list(), 0, 1);
      expect(Math.abs(removed - area * 1.5)).toBeLessThan(edge(4 * Math.PI * rho, cell) * 1.5);
    }
  });
  test("a plunge of a ball: a spherical cap under a cylinder", () => {
    const cell = 0.02;
    const R = 3.0003;
    const map = makeMap(-4, -4, 4, 4, cell, 0);
    const b = new MoveBuilder([0, 0, 5]);
    b.lineTo(0, 0, -4, 10);
    const removed = makeStock(map).cut(ballProfile(2 * R), b.list(), 0, 1);
    const want = Math.PI * R * R * (4 - R) + (2 / 3) * Math.PI * R ** 3;
    expect(Math.abs(removed - want)).toBeLessThan(edge(2 * Math.PI * R, cell) * 4);
  });
  test("a sloping groove of a ball: the floor under the axis is R (1 / cos - 1) below the tip's line, on the far side of it", () => {
    // the envelope of a ball on a line of slope m touches R sin behind the axis: floor = z(a) + R - R sqrt(1 + m^2)
    const R = 4.0003;
    const m = 0.6;
    const map = makeMap(-20, -6, 20, 6, 0.1, 0);
    const b = new MoveBuilder([-15, 0, -15]);
    b.lineTo(15, 0, -15 + 30 * m, 10);
    makeStock(map).cut(ballProfile(2 * R), b.list(), 0, 1);
    const j = Math.round((0.05 - map.y0) / map.cell);
    const y = map.y0 + j * map.cell;
    for (let x = -8; x < 8; x += 1.3) {
      const i = Math.round((x - map.x0) / map.cell);
      const a = map.x0 + i * map.cell + 15;
      const want = Math.min(0, -15 + m * a + R - Math.sqrt(R * R - y * y) * Math.sqrt(1 + m * m));
      expect(Math.abs(map.z[j * map.nx + i] - want)).toBeLessThan(2e-6);
    }
  });
});

test("the cusp between ball passes is R - sqrt(R^2 - s^2 / 4)", () => {
  const R = 4.0003;
  for (const s of [0.5, 1, 2.4]) {
    const map = makeMap(0, -6, 30, 6, 0.01 * 5, 0);
    const b = new MoveBuilder([-10, -10 * s, -3]);
    for (let k = -4; k <= 4; k++) {
      b.rapid(-10, k * s, 5);
      b.rapid(-10, k * s, -3);
      b.lineTo(40, k * s, -3, 10);
    }
    const moves = b.list();
    makeStock(map).cut(ballProfile(2 * R), moves, 0, moves.count);
    let cusp = Number.NEGATIVE_INFINITY;
    for (let j = 0; j < map.ny; j++) if (Math.abs(map.y0 + j * map.cell) < 2 * s) cusp = Math.max(cusp, map.z[j * map.nx + 300] + 3);
    const want = R - Math.sqrt(R * R - (s * s) / 4);
    expect(cusp).toBeLessThanOrEqual(want + 2e-6);
    // the nearest cell is at most half a cell from the cusp's edge
    const near = s / 2 - map.cell / 2;
    expect(cusp).toBeGreaterThanOrEqual(R - Math.sqrt(R * R - near * near) - 2e-6);
  }
});

test("a bull's cusp is its corner's: r - sqrt(r^2 - (s - flat width)^2 / 4)", () => {
  const map = makeMap(0, -12, 10, 12, 0.05, 0);
  const p = bullProfile(8, 1);
  const s = 7;
  const b = new MoveBuilder([-10, 0, -3]);
  for (const y of [-s / 2, s / 2]) {
    b.rapid(-10, y, 5);
    b.rapid(-10, y, -3);
    b.lineTo(20, y, -3, 10);
  }
  const moves = b.list();
  makeStock(map).cut(p, moves, 0, moves.count);
  let cusp = Number.NEGATIVE_INFINITY;
  for (let j = 0; j < map.ny; j++) if (Math.abs(map.y0 + j * map.cell) < 1) cusp = Math.max(cusp, map.z[j * map.nx + 100] + 3);
  const half = s / 2 - 3;
  expect(cusp).toBeLessThanOrEqual(1 - Math.sqrt(1 - half * half) + 2e-6);
  expect(cusp).toBeGreaterThanOrEqual(1 - Math.sqrt(1 - (half - 0.025) ** 2) - 2e-6);
});
