/** Ten thousandths, and their number of digits. */
const DECIMALS = 4;
const UNIT = 10 ** DECIMALS;

/** Bytes of a file as they come, with room that grows. */
export class Bytes {
  private data: Uint8Array;
  length = 0;

  constructor(room = 1024) {
    this.data = new Uint8Array(room);
  }

  private need(more: number): void {
    const { data, length } = this;
    if (length + more <= data.length) return;
    this.data = new Uint8Array(Math.max(length + more, 2 * data.length));
    this.data.set(data.subarray(0, length));
  }

  byte(v: number): this {
    this.need(1);
    this.data[this.length++] = v;
    return this;
  }

  /** Text of Latin-1, a byte for each character. */
  text(s: string): this {
    this.need(s.length);
    const { data } = this;
    let at = this.length;
    for (let k = 0; k < s.length; k++) data[at++] = s.charCodeAt(k);
    this.length = at;
    return this;
  }

  bytes(b: Uint8Array): this {
    this.need(b.length);
    this.data.set(b, this.length);
    this.length += b.length;
    return this;
  }

  /** A number to ten thousandths and a space: no exponent, no trailing zeros, no minus zero. */
  num(v: number): this {
    if (!(Math.abs(v) < 1e9)) throw new Error(`not a number for a page: ${v}`);
    this.need(24);
    const { data } = this;
    let at = this.length;
    const r = Math.round(Math.abs(v) * UNIT);
    if (v < 0 && r > 0) data[at++] = 45;
    const whole = Math.floor(r / UNIT);
    let part = r - whole * UNIT;
    let size = 1;
    for (let top = 10; top <= whole; top *= 10) size++;
    for (let k = size - 1, left = whole; k >= 0; k--) {
      const tens = Math.floor(left / 10);
      data[at + k] = 48 + left - 10 * tens;
      left = tens;
    }
    at += size;
    if (part > 0) {
      data[at++] = 46;
      for (let unit = UNIT / 10; part > 0; unit /= 10) {
        const digit = Math.floor(part / unit);
        data[at++] = 48 + digit;
        part -= digit * unit;
      }
    }
    data[at++] = 32;
    this.length = at;
    return this;
  }

  u16(v: number): this {
    return this.byte((v >> 8) & 255).byte(v & 255);
  }

  u32(v: number): this {
    return this.u16(v >>> 16).u16(v & 65535);
  }

  /** What was written so far; a view, valid until more is written. */
  view(): Uint8Array {
    return this.data.subarray(0, this.length);
  }
}
