/*
 * A photograph of a board set to scale by marks whose places on the board are known: two marks turn, shift and scale it; four also take the
 * perspective out of it. Places of the board in millimetres, of the photograph in its dots.
 */

export type XY = readonly [number, number];

export interface Mark {
  /** On the photograph. */
  readonly photo: XY;
  /** On the board, in the blank's frame. */
  readonly board: XY;
}

/** Row-major 3x3; takes places of the board to the photograph, up to scale. */
export type Projection = readonly number[];

/**
 * The projection that takes each mark's place on the board to its place on the photograph, or why there is none. Two marks: a similarity
 * that keeps or turns over hands as the photograph does (rows of a photograph run down, the blank's y runs up); four: the projective map of
 * the plane (eight linear equations, solved by elimination with pivots).
 */
export function projectionOf(marks: readonly Mark[]): Projection | "few" | "together" {
  if (marks.length < 2 || marks.length === 3) return "few";
  if (marks.length === 2) {
    const [a, b] = marks;
    const [bx, by] = [b.board[0] - a.board[0], b.board[1] - a.board[1]];
    const [px, py] = [b.photo[0] - a.photo[0], b.photo[1] - a.photo[1]];
    const n = bx * bx + by * by;
    if (n < 1 || px * px + py * py < 1) return "together";
    // rows run down: (x, -y) of the board is turned and scaled
    const c = (px * bx - py * by) / n;
    const s = (px * by + py * bx) / n;
    // photo = (c x + s y, s x - c y) + shift
    return [c, s, a.photo[0] - c * a.board[0] - s * a.board[1], s, -c, a.photo[1] - s * a.board[0] + c * a.board[1], 0, 0, 1];
  }
  for (let i = 0; i < 4; i++)
    for (const side of ["photo", "board"] as const) {
      const [p, q, r] = [1, 2, 3].map((k) => marks[(i + k) % 4][side]);
      const area = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
      const reach = Math.hypot(q[0] - p[0], q[1] - p[1]) * Math.hypot(r[0] - p[0], r[1] - p[1]);
      if (Math.abs(area) < 1e-3 * reach || reach < 1) return "together";
    }
  const rows = marks.slice(0, 4).flatMap(({ board: [x, y], photo: [u, v] }) => [
    [x, y, 1, 0, 0, 0, -u * x, -u * y, u],
    [0, 0, 0, x, y, 1, -v * x, -v * y, v],
  ]);
  const h = solve(rows);
  return h === null ? "together" : [...h, 1];
}

/** Where a place of the board lies on the photograph. */
export function onPhoto(p: Projection, [x, y]: XY): XY {
  const w = p[6] * x + p[7] * y + p[8];
  return [(p[0] * x + p[1] * y + p[2]) / w, (p[3] * x + p[4] * y + p[5]) / w];
}

/** Solves n equations of n + 1 numbers each; null when they do not settle it. */
function solve(rows: number[][]): number[] | null {
  const n = rows.length;
  const a = rows.map((r) => [...r]);
  for (let c = 0; c < n; c++) {
    let best = c;
    for (let r = c + 1; r < n; r++) if (Math.abs(a[r][c]) > Math.abs(a[best][c])) best = r;
    if (Math.abs(a[best][c]) < 1e-12) return null;
    [a[c], a[best]] = [a[best], a[c]];
    for (let r = 0; r < n; r++) {
      if (r === c) continue;
      const f = a[r][c] / a[c][c];
      for (let k = c; k <= n; k++) a[r][k] -= f * a[c][k];
    }
  }
  return a.map((r, k) => r[n] / r[k]);
}

/** The board's rectangle of a photograph, straightened: RGBA, its first row the far edge, `perMm` dots a millimetre. */
export function straightened(
  photo: { readonly data: Uint8ClampedArray; readonly width: number; readonly height: number },
  p: Projection,
  board: { readonly length: number; readonly width: number },
  perMm: number,
): { readonly data: Uint8ClampedArray<ArrayBuffer>; readonly width: number; readonly height: number } {
  const width = Math.max(1, Math.round(board.length * perMm));
  const height = Math.max(1, Math.round(board.width * perMm));
  const data = new Uint8ClampedArray(4 * width * height);
  for (let j = 0; j < height; j++) {
    const y = board.width - (j + 0.5) / perMm;
    for (let i = 0; i < width; i++) {
      const [u, v] = onPhoto(p, [(i + 0.5) / perMm, y]);
      const [c, r] = [Math.floor(u), Math.floor(v)];
      if (!(c >= 0 && r >= 0 && c < photo.width && r < photo.height)) continue;
      const from = 4 * (r * photo.width + c);
      const to = 4 * (j * width + i);
      for (let k = 0; k < 4; k++) data[to + k] = photo.data[from + k];
    }
  }
  return { data, width, height };
}
