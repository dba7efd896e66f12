/**
 * The two kernels of drop-rows.ts in plain TypeScript, over one Float32Array `mem`; offsets are in bytes, as the
 * WebAssembly ones take them. Layout and method are described in wasm/assembly/drop.ts; the results are the same to the last bit.
 */
export interface DropKernel {
  dropField(p: number, l1: number, l2: number, s: number, rows: number, lp1: number, lp2: number): void;
  dropRow(
    rev: number,
    b1: number,
    b2: number,
    n: number,
    H: number,
    ND: number,
    NG: number,
    vlo: number,
    y: number,
    xa: number,
    xb: number,
    out: number,
  ): void;
}

const NEVER = -1e9;

export function plainDropKernel(mem: Float32Array): DropKernel {
  let P = 0;
  let L1 = 0;
  let L2 = 0;
  let S = 0;
  let LP1 = 0;
  let LP2 = 0;
  const best = new Float64Array(16);
  /** Lowest of the 16 samples, but no lower than half of NEVER. */
  const lowest = (): number => {
    let m = best[0];
    for (let k = 1; k < 16; k++) if (best[k] < m) m = best[k];
    return Math.max(m, 0.5 * NEVER);
  };
  return {
    dropField(p, l1, l2, s, rows, lp1, lp2) {
      P = p >> 2;
      L1 = l1 >> 2;
      L2 = l2 >> 2;
      S = s;
      LP1 = lp1;
      LP2 = lp2;
      const nbx = s >> 4;
      mem.fill(NEVER, L1, L2 + lp2 * nbx);
      for (let y = 0; y < rows; y++)
        for (let b = 0; b < nbx; b++) {
          const from = P + y * s + b * 16;
          let m = mem[from];
          for (let k = from + 1; k < from + 16; k++) if (mem[k] > m) m = mem[k];
          mem[L1 + b * lp1 + y] = m;
          const up = L2 + b * lp2 + (y >> 3);
          if (m > mem[up]) mem[up] = m;
        }
    },
    dropRow(rev, b1, b2, n, H, ND, NG, vlo, y, xa, xb, out) {
      const REV = rev >> 2;
      const top = y + vlo;
      const phase = top & 7;
      const group = top >> 3;
      const wide = 2 * H;
      const B2 = (b2 >> 2) + phase * (2 * ND + 1) * NG;
      let to = out >> 2;
      for (let x = xa; x < xb; x += 16, to += 16) {
        const bx = x >> 4;
        // a first bound: the column under each sample, every third row
        best.fill(NEVER);
        for (let v = 1; v < n; v += 3) {
          const t = mem[REV + v * wide + H];
          const from = P + (top + v) * S + x;
          for (let k = 0; k < 16; k++) {
            const q = mem[from + k] + t;
            if (q > best[k]) best[k] = q;
          }
        }
        let bound = lowest();
        for (let o = 0; o <= 2 * ND; o++) {
          const d = o & 1 ? -((o + 1) >> 1) : o >> 1;
          const column2 = L2 + (bx + d) * LP2 + group;
          const bounds2 = B2 + (d + ND) * NG;
          const column1 = L1 + (bx + d) * LP1 + top;
          const bounds1 = (b1 >> 2) + (d + ND) * (n + 16);
          for (let g = 0; g < NG; g++) {
            if (mem[column2 + g] + mem[bounds2 + g] <= bound) continue;
            const v1 = Math.min(n, g * 8 - phase + 8);
            let changed = false;
            for (let v = Math.max(0, g * 8 - phase); v < v1; v++) {
              const most = mem[bounds1 + v];
              if (mem[column1 + v] + most <= bound) continue;
              const from = P + (top + v) * S + (bx + d) * 16;
              const table = REV + v * wide + H - d * 16;
              for (let c = 0; c < 16; c++) {
                const h = mem[from + c];
                if (h + most <= bound) continue;
                const at = table - c;
                for (let k = 0; k < 16; k++) {
                  const q = h + mem[at + k];
                  if (q > best[k]) best[k] = q;
                }
                changed = true;
              }
            }
            if (changed) bound = lowest();
          }
        }
        for (let k = 0; k < 16; k++) mem[to + k] = best[k];
      }
    },
  };
}
