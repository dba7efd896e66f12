/*
 * Bands instead of false digits: how far a result moves when its inputs scatter.
 */

export interface Scatter {
  readonly name: string;
  readonly value: number;
  /** Standard deviation, or the tolerance if the band of the tolerance is asked for. */
  readonly deviation: number;
}

export interface Band {
  readonly value: number;
  /** In the same sense as the inputs' deviations. */
  readonly deviation: number;
  /** What each input brings alone, signed: the change when it rises by its deviation. */
  readonly parts: readonly { readonly name: string; readonly change: number }[];
}

/**
 * First-order propagation for independent inputs: variance = sum of (df/dx s)^2 (JCGM 100:2008, Guide to the expression of uncertainty in
 * measurement, equation 10), each slope by a central difference over plus and minus one deviation.
 */
export function firstOrderBand(f: (values: readonly number[]) => number, inputs: readonly Scatter[]): Band {
  const values = inputs.map((i) => i.value);
  const parts = inputs.map((input, i) => {
    const up = f(values.with(i, input.value + input.deviation));
    const down = f(values.with(i, input.value - input.deviation));
    return { name: input.name, change: (up - down) / 2 };
  });
  return { value: f(values), deviation: Math.hypot(...parts.map((p) => p.change)), parts };
}

/** Band of a product of powers, from the coefficients of variation (fractions) of its factors: cv^2 = sum of (p cv)^2. */
export function powerProductVariation(factors: readonly { readonly power: number; readonly variation: number }[]): number {
  return Math.hypot(...factors.map((f) => f.power * f.variation));
}
