const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/** Base64 (RFC 4648, section 4). */
export function base64(bytes: Uint8Array): string {
  const parts: string[] = [];
  let s = "";
  for (let i = 0; i < bytes.length; i += 3) {
    const left = bytes.length - i;
    const n = (bytes[i] << 16) | ((left > 1 ? bytes[i + 1] : 0) << 8) | (left > 2 ? bytes[i + 2] : 0);
    s += ALPHABET[n >> 18] + ALPHABET[(n >> 12) & 63] + (left > 1 ? ALPHABET[(n >> 6) & 63] : "=") + (left > 2 ? ALPHABET[n & 63] : "=");
    if (s.length > 8192) {
      parts.push(s);
      s = "";
    }
  }
  parts.push(s);
  return parts.join("");
}
