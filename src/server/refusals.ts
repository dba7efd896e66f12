/* What was turned away, so that somebody can look: on the terminal, and the last ones on the first screen. */

export interface Refusal {
  /** ISO 8601, UTC. */
  readonly at: string;
  readonly from: string;
  readonly what: string;
  readonly request: string;
}

const MOST_KEPT = 200;
/** On the terminal, in a minute: who floods the server does not flood the log. */
const MOST_SAID = 30;

/** Text from outside as it may stand on a terminal: one line, no control characters, not too long. */
export const tame = (text: string, most = 120): string => {
  const plain = text.replaceAll(/[\p{C}\p{Zl}\p{Zp}]/gu, "?");
  return plain.length > most ? `${plain.slice(0, most)}...` : plain;
};

export class Refusals {
  private readonly say: (line: string) => void;
  private readonly now: () => number;
  private readonly kept: Refusal[] = [];
  private minute = 0;
  private said = 0;

  constructor(say: (line: string) => void = () => undefined, now: () => number = Date.now) {
    this.say = say;
    this.now = now;
  }

  add(from: string, what: string, request: string): void {
    const at = new Date(this.now()).toISOString();
    const one = { at, from: tame(from, 60), what, request: tame(request) };
    this.kept.push(one);
    if (this.kept.length > MOST_KEPT) this.kept.shift();
    const minute = Math.floor(this.now() / 60_000);
    if (minute !== this.minute) {
      if (this.said > MOST_SAID) this.say(`refused  ${this.said - MOST_SAID} more in the minute before\n`);
      this.minute = minute;
      this.said = 0;
    }
    this.said++;
    if (this.said <= MOST_SAID) this.say(`refused  ${one.at} ${one.from}: ${one.what} (${one.request})\n`);
  }

  last(): readonly Refusal[] {
    return this.kept;
  }
}
