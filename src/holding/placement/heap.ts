/** A heap of what has a bound, the largest on top. */
export class Heap<Cell extends { readonly bound: number }> {
  private readonly cells: Cell[] = [];
  get top(): Cell | undefined {
    return this.cells[0];
  }
  push(cell: Cell): void {
    const a = this.cells;
    let k = a.push(cell) - 1;
    while (k > 0) {
      const up = (k - 1) >> 1;
      if (a[up].bound >= cell.bound) break;
      a[k] = a[up];
      k = up;
    }
    a[k] = cell;
  }
  pop(): Cell | undefined {
    const a = this.cells;
    const first = a[0];
    const last = a.pop();
    if (last === undefined || a.length === 0) return first;
    let k = 0;
    for (;;) {
      let m = 2 * k + 1;
      if (m >= a.length) break;
      if (m + 1 < a.length && a[m + 1].bound > a[m].bound) m++;
      if (a[m].bound <= last.bound) break;
      a[k] = a[m];
      k = m;
    }
    a[k] = last;
    return first;
  }
}
