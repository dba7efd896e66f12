/**
 * A height map: one Float32 height per cell, row-major, x fastest. Cell (i, j) stands for the point at its centre,
 * (x0 + i*cell, y0 + j*cell). Heights are millimetres; -Infinity never appears, `NOTHING` stands for "no material".
 */
export interface HeightMap {
  readonly nx: number;
  readonly ny: number;
  readonly cell: number;
  /** Centre of cell (0, 0). */
  readonly x0: number;
  readonly y0: number;
  readonly z: Float32Array;
}

/** Height that stands for "nothing here"; far below any machine, and exact in Float32. */
export const NOTHING = -1e9;

/** The cells of a map over the rectangle [xMin, xMax] x [yMin, yMax]: their centres lie half a cell inside it. */
export function cellsOver(xMin: number, yMin: number, xMax: number, yMax: number, cell: number): Omit<HeightMap, "z"> {
  const nx = Math.max(1, Math.round((xMax - xMin) / cell));
  const ny = Math.max(1, Math.round((yMax - yMin) / cell));
  return { nx, ny, cell, x0: xMin + cell / 2, y0: yMin + cell / 2 };
}

/** A map over the rectangle [xMin, xMax] x [yMin, yMax], cell centres half a cell inside it; filled with `fill`. */
export function makeMap(xMin: number, yMin: number, xMax: number, yMax: number, cell: number, fill: number = NOTHING): HeightMap {
  const cells = cellsOver(xMin, yMin, xMax, yMax, cell);
  const z = new Float32Array(cells.nx * cells.ny);
  if (fill !== 0) z.fill(fill);
  return { ...cells, z };
}

/** Fills a map from a function of x and y. */
export function sampleMap(map: HeightMap, f: (x: number, y: number) => number): void {
  const { nx, ny, cell, x0, y0, z } = map;
  for (let j = 0, k = 0; j < ny; j++) {
    const y = y0 + j * cell;
    for (let i = 0; i < nx; i++, k++) z[k] = f(x0 + i * cell, y);
  }
}
