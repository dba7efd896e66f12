import { createHash, randomBytes, randomInt } from "node:crypto";
import type { Device, Store } from "../store/types.ts";

/*
 * Which other machines may use the bench. A code is shown on the first screen, holds for five minutes and for one device; the device that gives
 * it back gets a key of its own, of which only the hash is kept. A key can be withdrawn.
 */

/** Letters and digits that nobody takes for another. */
const LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789";
const CODE_LENGTH = 8;
export const CODE_LIFE_MS: number = 5 * 60_000;
/** Wrong codes after which the one that is shown no longer counts. */
export const MOST_WRONG = 5;
const MOST_DEVICES = 50;

export interface Code {
  readonly code: string;
  /** ms since 1970. */
  readonly until: number;
}

export type Paired = { readonly key: string; readonly device: Device } | { readonly refused: string };

const hashOf = (key: string): string => createHash("sha256").update(key).digest("hex");

/** A name as it is kept: one line of letters that can be seen. */
export const plainName = (text: string): string =>
  text
    .normalize("NFC")
    .replaceAll(/[\p{C}\p{Z}]+/gu, " ")
    .trim()
    .slice(0, 60)
    .trim();

export class Pairing {
  private readonly store: Store;
  private readonly now: () => number;
  private shown: Code | null = null;
  private wrong = 0;

  constructor(store: Store, now: () => number = Date.now) {
    this.store = store;
    this.now = now;
  }

  /** A new code; the one before no longer counts. */
  renew(): Code {
    const code = Array.from({ length: CODE_LENGTH }, () => LETTERS[randomInt(LETTERS.length)]).join("");
    this.shown = { code, until: this.now() + CODE_LIFE_MS };
    this.wrong = 0;
    return this.shown;
  }

  /** The code that counts now; null when it was used, is too old, or too many wrong ones were tried. */
  current(): Code | null {
    if (this.shown !== null && this.now() >= this.shown.until) this.shown = null;
    return this.shown;
  }

  /** Takes a code as somebody typed it. It counts once. */
  redeem(typed: string, name: string): Paired {
    const shown = this.current();
    if (shown === null) return { refused: "No code counts now. Have a new one shown on the first screen." };
    // both are hashed, so that how long it takes says nothing of how many letters were right
    if (hashOf(typed.toUpperCase().replaceAll(/[^A-Z0-9]/g, "")) !== hashOf(shown.code)) {
      this.wrong++;
      if (this.wrong >= MOST_WRONG) this.shown = null;
      return { refused: "This is not the code that is shown on the first screen." };
    }
    this.shown = null;
    if (this.devices().filter((d) => d.withdrawn === null).length >= MOST_DEVICES)
      return { refused: `${MOST_DEVICES} devices are paired already. Withdraw one first.` };
    const key = randomBytes(32).toString("base64url");
    const device: Device = {
      id: randomBytes(6).toString("hex"),
      name: plainName(name) || "a device without a name",
      keyHash: hashOf(key),
      since: new Date(this.now()).toISOString(),
      withdrawn: null,
    };
    this.store.putDevice(device);
    return { key, device };
  }

  /** Whose key this is; null when it is nobody's or withdrawn. */
  deviceOf(key: string): Device | null {
    const hash = hashOf(key);
    return this.devices().find((d) => d.keyHash === hash && d.withdrawn === null) ?? null;
  }

  devices(): readonly Device[] {
    return this.store.devices();
  }

  /** False when there is no such device. */
  withdraw(id: string): boolean {
    const device = this.devices().find((d) => d.id === id);
    if (device === undefined) return false;
    if (device.withdrawn === null) this.store.putDevice({ ...device, withdrawn: new Date(this.now()).toISOString() });
    return true;
  }
}
