import type { Rule } from "../units/index.ts";

/** What a design check says of a rule: unit mm when left out. */
export interface Said {
  readonly where: string;
  readonly value: number | string | null;
  readonly limit: number | string | null;
  readonly unit?: string;
  readonly says: string;
  readonly tryThis: string;
  readonly at?: { readonly x: number; readonly y: number };
}
export type Report = (rule: Rule, said: Said) => void;
