import { MoveKind, type MoveList, moveLength } from "../kernel/moves.ts";
import type { Mm, Seconds } from "../units/index.ts";

/** What a cut is planned with. */
export interface PlannedChip {
  /** Flutes times revolutions a minute. */
  readonly edges: number;
  /** Feed of an edge, mm, and the chip that this gives. */
  readonly perTooth: Mm;
  readonly chip: Mm;
  /** A chip under this is too thin. */
  readonly thin: Mm;
}

/** The chip of every move as a share of what is planned, by column of a picture over the time of cuts one after the other. */
export class Shares {
  /** Of the cut looked at last: least and most share in wood (none: least above most), and 1 where it goes without cutting, in the columns from..to. */
  readonly least: Float64Array;
  readonly most: Float64Array;
  readonly air: Uint8Array;
  from = 0;
  to = 0;
  /** Of that cut: its time in wood, and the sum of shares times seconds. */
  seconds: Seconds = 0;
  chips: Seconds = 0;
  /** Of all cuts so far: the time in wood, and how much of it with too thin a chip. */
  inWood: Seconds = 0;
  thin: Seconds = 0;
  private time: Seconds = 0;
  private readonly all: Seconds;
  private readonly top: Mm;

  /** `all`: time of all cuts; `top`: the blank's face. */
  constructor(columns: number, all: Seconds, top: Mm) {
    this.least = new Float64Array(columns);
    this.most = new Float64Array(columns);
    this.air = new Uint8Array(columns);
    this.all = all;
    this.top = top;
  }

  /** Looks at the next cut. `perMove`: seconds of each of its moves. */
  look(m: MoveList, perMove: Float64Array, { edges, perTooth, chip, thin }: PlannedChip): void {
    const { least, most, air, all } = this;
    const { count, kind } = m;
    const face = this.top - 1e-9;
    const columns = least.length;
    const last = columns - 1;
    least.fill(Number.POSITIVE_INFINITY);
    most.fill(Number.NEGATIVE_INFINITY);
    air.fill(0);
    let t = this.time;
    let c0 = all > 0 ? Math.min(last, Math.floor((t / all) * columns)) : 0;
    this.from = c0;
    let [seconds, chips, under] = [0, 0, 0];
    let pz = m.start[2];
    for (let k = 0; k < count; k++) {
      const z = m.z[k]!;
      const dt = perMove[k]!;
      if (dt > 0) {
        const c1 = all > 0 ? Math.min(last, Math.floor(((t + dt) / all) * columns)) : 0;
        const what = kind[k];
        if ((what === MoveKind.line || what === MoveKind.arc) && (pz < face || z < face)) {
          const share = perTooth > 0 ? ((moveLength(m, k) / dt) * 60) / edges / perTooth : 0;
          seconds += dt;
          chips += share * dt;
          if (chip * share < thin) under += dt;
          for (let c = c0; c <= c1; c++) {
            if (share < least[c]!) least[c] = share;
            if (share > most[c]!) most[c] = share;
          }
        } else for (let c = c0; c <= c1; c++) air[c] = 1;
        t += dt;
        c0 = c1;
      }
      pz = z;
    }
    this.time = t;
    this.to = c0;
    this.seconds = seconds;
    this.chips = chips;
    this.inWood += seconds;
    this.thin += under;
  }
}
