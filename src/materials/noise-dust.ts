/*
 * Figures for the cautions on the sheets. They inform; local law and trained people decide.
 */

export interface Limit {
  readonly what: string;
  readonly value: number;
  readonly unit: string;
  readonly place: string;
  readonly source: string;
}

/** Wood dust in the air breathed, averaged over eight hours. Places disagree; all are kept, none is smoothed over. */
export const DUST_LIMITS: readonly Limit[] = [
  {
    what: "wood dust, as nuisance dust, total",
    value: 15,
    unit: "mg/m3",
    place: "United States, law (OSHA)",
    source: "OSHA wood dust, evaluation page",
  },
  {
    what: "wood dust, as nuisance dust, respirable",
    value: 5,
    unit: "mg/m3",
    place: "United States, law (OSHA)",
    source: "OSHA wood dust, evaluation page",
  },
  { what: "wood dust", value: 1, unit: "mg/m3", place: "United States, recommended (NIOSH)", source: "OSHA wood dust, evaluation page" },
  { what: "wood dust", value: 1, unit: "mg/m3", place: "recommended (ACGIH 2007)", source: "OSHA wood dust, evaluation page" },
  {
    what: "western red cedar dust",
    value: 0.5,
    unit: "mg/m3",
    place: "recommended (ACGIH 2007)",
    source: "OSHA wood dust, evaluation page",
  },
  {
    what: "softwood dust, inhalable",
    value: 5,
    unit: "mg/m3",
    place: "Great Britain, law",
    source: "HSE workplace exposure limits (EH40), seen in published pages",
  },
  {
    what: "hardwood dust and any mixture with it, inhalable",
    value: 3,
    unit: "mg/m3",
    place: "Great Britain, law, since 17 January 2020",
    source: "HSE workplace exposure limits (EH40), seen in published pages",
  },
  {
    what: "hardwood dust, inhalable",
    value: 2,
    unit: "mg/m3",
    place: "European Union, law, since January 2023",
    source: "EU carcinogens directive, seen in published pages",
  },
];

/** Wood dust is carcinogenic to humans (IARC Group 1; listed as known by the NTP): OSHA wood dust, hazards page. */
export const DUST_CARCINOGEN =
  "Wood dust can cause cancer of the nose (IARC Group 1). Extract it where it arises; do not sweep dry or blow it down.";

/** Rules for noise: the level allowed for eight hours and the number of decibels that halves the time. */
export interface NoiseRule {
  readonly level: number;
  readonly exchange: number;
  readonly source: string;
}

export const OSHA_NOISE: NoiseRule = { level: 90, exchange: 5, source: "OSHA 29 CFR 1910.95, Table G-16" };
export const NIOSH_NOISE: NoiseRule = { level: 85, exchange: 3, source: "NIOSH recommended exposure limit, publication 98-126" };

/** Loudest level allowed at all, dBA (OSHA: 115 dBA for a quarter of an hour). */
export const NOISE_CEILING = 115;

/** UK Control of Noise at Work Regulations 2005: daily exposure, dB(A), and peak, dB(C). */
export const UK_NOISE: readonly { readonly what: string; readonly daily: number; readonly peak: number; readonly source: string }[] = [
  { what: "lower action value", daily: 80, peak: 135, source: "Control of Noise at Work Regulations 2005 (UK), regulation 4" },
  { what: "upper action value", daily: 85, peak: 137, source: "Control of Noise at Work Regulations 2005 (UK), regulation 4" },
  { what: "limit value", daily: 87, peak: 140, source: "Control of Noise at Work Regulations 2005 (UK), regulation 4" },
];

/** Hours a day at a level (dBA): T = 8 / 2^((L - level) / exchange). The formula of the tables, unlimited above and below. */
export function permittedHours(level: number, rule: NoiseRule): number {
  if (!Number.isFinite(level)) throw new RangeError(`noise level ${level} dBA: must be a finite number`);
  return 8 / 2 ** ((level - rule.level) / rule.exchange);
}
