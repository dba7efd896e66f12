import type { Rule } from "../../units/index.ts";

/** One place in the text that was not accepted. Line and column count from 1. */
export interface ReadError {
  readonly line: number;
  readonly column: number;
  /** The word as it stands in the text. */
  readonly word: string;
  readonly rule: string;
  readonly says: string;
  readonly tryThis: string;
}

/** Thrown inside the reader only, and always caught at the end of the line. `at` is an index into the text, `to` past its end. */
export class Refusal extends Error {
  readonly rule: Rule;
  readonly at: number;
  readonly to: number;
  readonly tryThis: string;

  constructor(rule: Rule, at: number, to: number, says: string, tryThis: string) {
    super(says);
    this.rule = rule;
    this.at = at;
    this.to = to;
    this.tryThis = tryThis;
  }
}
