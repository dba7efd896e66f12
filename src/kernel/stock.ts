import type { HeightMap } from "./heightmap.ts";
import type { MoveList } from "./moves.ts";
import type { Profile } from "./profile.ts";

/** Rows of a map: the first, and the one after the last. */
export type Rows = readonly [number, number];

/** A block of material under a three-axis cutter: the height map of its upper surface, with what makes it quick to cut. */
export interface Stock {
  readonly map: HeightMap;
  /** First of the map's rows that stand, and the row after the last; all of them unless the stock was made for a band of rows. */
  readonly rows: Rows;
  /**
   * Sweeps a cutter along the feed moves (line, arc; rapids and dwells skipped, they only move the start) with index
   * from <= k < to; lowers the map; returns the volume removed in mm3. Exact to the cell centre (see docs).
   */
  cut(profile: Profile, moves: MoveList, from: number, to: number): number;
  /**
   * How far a flat disc of `radius`, its lower face at z, moved straight from (x0, y0, z0) to (x1, y1, z1), would sink into
   * the stock: the largest of (stock height - disc height) over all cells it covers, <= 0 when it touches nothing.
   */
  penetration(radius: number, x0: number, y0: number, z0: number, x1: number, y1: number, z1: number): number;
  /** Call after writing to map.z directly: to cells i0..i1 of rows j0..j1, ends included; absent: anywhere. */
  refresh(i0?: number, j0?: number, i1?: number, j1?: number): void;
  /** Gives its memory back, for the next block to be made in; neither the stock nor its map may be used afterwards. */
  release(): void;
}
