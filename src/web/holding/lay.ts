import type { Side } from "../../job/live.ts";

/* A side as it is drawn: the blank's length across the page, as it lies seen from above. */

export type XY = readonly [number, number];
type Lies = Pick<Side, "stock">;

/** The blank lies along the machine's x; otherwise it was turned a quarter, to lie along y. */
const isLong = ({ stock }: Lies): boolean => stock.max[0] - stock.min[0] >= stock.max[1] - stock.min[1];

/** Program x, y -> picture, y down. */
export const onPage = (s: Lies, [x, y]: XY): XY => (isLong(s) ? [x, -y] : [y, x]);

/** Picture -> the blank's words: x from the end stop's line, y from the datum edge, both growing into the blank. */
export function inBlank(s: Lies, [u, v]: XY): XY {
  const mid = (k: 0 | 1): number => (s.stock.min[k] + s.stock.max[k]) / 2;
  // which way the blank lies from its zero, on the page
  const [along, down] = onPage(s, [mid(0), mid(1)]);
  return [Math.sign(along) * u, Math.sign(down) * v];
}
