/** ASCII text grown in one byte buffer: numbers are written from integers, so that no exponent, `-0` or locale can appear. */
export class ByteText {
  private buf: Uint8Array;
  private n = 0;
  /** How much of the whole has been written, where the writer knows; the room for the rest is judged from it. */
  share = 0;

  constructor(capacity: number = 1 << 16) {
    this.buf = new Uint8Array(capacity);
  }

  get length(): number {
    return this.n;
  }

  /** One ASCII code. */
  byte(code: number): void {
    if (this.n === this.buf.length) this.grow(1);
    this.buf[this.n++] = code;
  }

  /** The buffer, with room for `bytes` more after `length`, for a loop that writes into it by itself and then says how far with `wrote`. */
  room(bytes: number): Uint8Array {
    if (this.n + bytes > this.buf.length) this.grow(bytes);
    return this.buf;
  }

  wrote(length: number): void {
    this.n = length;
  }

  /** A short ASCII string as it is; the caller answers for its characters. */
  ascii(s: string): void {
    if (this.n + s.length > this.buf.length) this.grow(s.length);
    const buf = this.buf;
    let n = this.n;
    for (let i = 0; i < s.length; i++) buf[n++] = s.charCodeAt(i);
    this.n = n;
  }

  /**
   * `value` / 10^decimals with exactly `decimals` decimals, or with trailing zeros (and a bare point) left out when `trim`.
   * `value` is an integer below 2^31 * 10^decimals; decimals 0 to 9.
   */
  decimal(value: number, decimals: number, trim = false): void {
    if (this.n + 24 > this.buf.length) this.grow(24);
    const buf = this.buf;
    let n = this.n;
    let v = value;
    if (v < 0) {
      buf[n++] = 45;
      v = -v;
    }
    const scale = POWER[decimals];
    const whole = Math.floor(v / scale);
    const rest = (v - whole * scale) | 0;
    n = writeInteger(buf, n, whole);
    if (decimals > 0 && !(trim && rest === 0)) {
      n = writeDecimals(buf, n, rest, decimals);
      if (trim) while (buf[n - 1] === 48) n--;
    }
    this.n = n;
  }

  /** The bytes written so far; nothing may be added afterwards. A view where little of the buffer is spare, else a copy. */
  bytes(): Uint8Array {
    return this.n > 0.9 * this.buf.length ? this.buf.subarray(0, this.n) : this.buf.slice(0, this.n);
  }

  private grow(need: number): void {
    const least = this.n + need;
    // new memory costs more than writing into it does: no more of it than the text seems to want
    const whole = this.share > 0.001 ? Math.ceil(1.03 * (least / this.share)) : this.buf.length * 2;
    const buf = new Uint8Array(Math.max(least + 4096, whole));
    buf.set(this.buf);
    this.buf = buf;
  }
}

/** The two digits of 0 to 99, one after the other. */
const PAIRS = Uint8Array.from({ length: 200 }, (_, k) => 48 + (k & 1 ? (k >> 1) % 10 : Math.floor(k / 20)));

/** Largest count whose work is done in integers of 32 bits. */
const SMALL = 2 ** 31 - 1;

/**
 * Writes `value` / 10^`decimals` with just those decimals into `buf` at `at`, which has room for 24 bytes, and gives the place after
 * them; in twos of digits where it can. `value` is an integer below 2^31 * 10^decimals; decimals 4 to 6.
 */
export function writeCount(buf: Uint8Array, at: number, value: number, decimals: number): number {
  let n = at;
  let rest = value;
  if (rest < 0) {
    buf[n++] = 45;
    rest = -rest;
  }
  if (rest > SMALL) {
    const scale = POWER[decimals];
    const whole = Math.floor(rest / scale);
    return writeDecimals(buf, writeInteger(buf, n, whole), (rest - whole * scale) | 0, decimals);
  }
  rest |= 0;
  if (decimals !== 4) {
    const scale = POWER[decimals] | 0;
    const whole = (rest / scale) | 0;
    return writeDecimals(buf, writeWhole(buf, n, whole), (rest - Math.imul(whole, scale)) | 0, decimals);
  }
  const whole = (rest / 10000) | 0;
  const part = (rest - Math.imul(whole, 10000)) | 0;
  n = writeWhole(buf, n, whole);
  const high = (part / 100) | 0;
  const low = (part - Math.imul(high, 100)) << 1;
  buf[n] = 46;
  buf[n + 1] = PAIRS[high << 1];
  buf[n + 2] = PAIRS[(high << 1) + 1];
  buf[n + 3] = PAIRS[low];
  buf[n + 4] = PAIRS[low + 1];
  return n + 5;
}

/** A whole number of 31 bits. */
function writeWhole(buf: Uint8Array, at: number, value: number): number {
  if (value < 10) {
    buf[at] = 48 + value;
    return at + 1;
  }
  if (value < 100) {
    buf[at] = PAIRS[value << 1];
    buf[at + 1] = PAIRS[(value << 1) + 1];
    return at + 2;
  }
  if (value < 1000) {
    const hundreds = (value / 100) | 0;
    const low = (value - hundreds * 100) << 1;
    buf[at] = 48 + hundreds;
    buf[at + 1] = PAIRS[low];
    buf[at + 2] = PAIRS[low + 1];
    return at + 3;
  }
  return writeInteger(buf, at, value);
}

/** The point and so many decimals. */
function writeDecimals(buf: Uint8Array, at: number, value: number, decimals: number): number {
  let rest = value;
  buf[at] = 46;
  for (let k = at + decimals; k > at; k--) {
    const q = (rest / 10) | 0;
    buf[k] = 48 + rest - q * 10;
    rest = q;
  }
  return at + decimals + 1;
}

const POWER: readonly number[] = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];

function writeInteger(buf: Uint8Array, at: number, value: number): number {
  let digits = 1;
  for (let p = 10; value >= p && digits < 10; p *= 10) digits++;
  let v = value;
  for (let k = at + digits - 1; k >= at; k--) {
    const q = Math.floor(v / 10);
    buf[k] = 48 + v - q * 10;
    v = q;
  }
  return at + digits;
}

/** Rounds half away from zero, so that a mirrored program mirrors to the last digit; never gives -0. */
export function roundScaled(x: number, scale: number): number {
  const v = x * scale;
  return v < 0 ? 0 - Math.round(-v) : Math.round(v) + 0;
}

/** ASCII bytes as a string. */
export function asciiString(bytes: Uint8Array): string {
  const chunk = 8192;
  let s = "";
  for (let k = 0; k < bytes.length; k += chunk) s += String.fromCharCode(...bytes.subarray(k, k + chunk));
  return s;
}
