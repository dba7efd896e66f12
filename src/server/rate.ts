/* So many requests at once, and so many a second after that, for each address. */

const MOST_ADDRESSES = 2000;

export class Rate {
  private readonly burst: number;
  private readonly perSecond: number;
  private readonly now: () => number;
  private readonly left = new Map<string, { tokens: number; at: number }>();

  constructor(burst: number, perSecond: number, now: () => number = Date.now) {
    this.burst = burst;
    this.perSecond = perSecond;
    this.now = now;
  }

  /** True when one more is within the limit. */
  take(who: string): boolean {
    const now = this.now();
    const before = this.left.get(who);
    const tokens = Math.min(this.burst, (before?.tokens ?? this.burst) + (Math.max(0, now - (before?.at ?? now)) / 1000) * this.perSecond);
    this.left.delete(who);
    if (this.left.size >= MOST_ADDRESSES) this.left.delete(this.left.keys().next().value as string);
    this.left.set(who, { tokens: tokens >= 1 ? tokens - 1 : tokens, at: now });
    return tokens >= 1;
  }
}
