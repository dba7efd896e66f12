/** How an error is spread. Half-widths and deviations are in mm (angles as their effect in mm). */
export type Spread =
  | { readonly kind: "uniform"; readonly half: number }
  | { readonly kind: "normal"; readonly sigma: number }
  | { readonly kind: "triangular"; readonly half: number };

/** One source of error: what it is, how it is spread, and where the figure comes from. */
export interface Contributor {
  readonly id: string;
  readonly says: string;
  readonly spread: Spread;
  /** A constant part (a fit's mean clearance, a machine's known scale). */
  readonly mean?: number;
  readonly source: string;
}

/** A figure of the neck and how much each contributor moves it (its sensitivity), to first order. */
export interface Outcome {
  readonly id: string;
  readonly says: string;
  readonly unit: "mm" | "cent";
  /** Allowed to either side of 0. */
  readonly limit: number;
  readonly sensitivity: Readonly<Record<string, number>>;
}

export interface OutcomeBudget {
  readonly id: string;
  readonly says: string;
  readonly unit: "mm" | "cent";
  readonly limit: number;
  readonly mean: number;
  /** All at their worst together: uniform and triangular at their half-width, normal at three deviations. */
  readonly worst: number;
  /** Standard deviation by the sum of variances (JCGM 100:2008, eq. 10: uncorrelated). */
  readonly sigma: number;
  /** From the trials: mean, deviation, and the value that 99 of 100 stay within to either side. */
  readonly drawn: { readonly mean: number; readonly sigma: number; readonly within99: number; readonly beyond: number };
  /** Shares of the variance, largest first. */
  readonly shares: readonly { readonly id: string; readonly says: string; readonly share: number; readonly worst: number }[];
}
