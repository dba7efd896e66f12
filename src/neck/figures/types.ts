/** One answer to a question a maker asks before touching wood: a value with the band it may lie in. */
export interface Figure {
  readonly id: string; // "relief", "mass", ...
  readonly what: string;
  readonly unit: string;
  readonly value: number;
  /** How far the value moves when wood and dimensions move within their usual spread; the same as value where nothing is uncertain. */
  readonly low: number;
  readonly high: number;
  /** Where the formula or the assumption comes from. */
  readonly source: string;
}
