/** ASCII text grown in one byte buffer: numbers are written from integers, so that no exponent, `-0` or locale can appear. */
export class ByteText {
  private buf: Uint8Array;
  private n = 0;

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
    let rest = (v - whole * scale) | 0;
    n = writeInteger(buf, n, whole);
    if (decimals > 0 && !(trim && rest === 0)) {
      buf[n] = 46;
      const end = n + decimals;
      for (let k = end; k > n; k--) {
        const q = (rest / 10) | 0;
        buf[k] = 48 + rest - q * 10;
        rest = q;
      }
      n = end + 1;
      if (trim) while (buf[n - 1] === 48) n--;
    }
    this.n = n;
  }

  /** The bytes written so far, as a copy. */
  bytes(): Uint8Array {
    return this.buf.slice(0, this.n);
  }

  private grow(need: number): void {
    const buf = new Uint8Array(Math.max(this.buf.length * 2, this.n + need));
    buf.set(this.buf);
    this.buf = buf;
  }
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
