/**
 * The buffers of the typed arrays in a value that may be handed to another thread instead of copied: those that one array
 * spans whole. Views into a larger buffer (WebAssembly memory, a slice of a file) are left to be copied.
 */
export function buffersOf(value: unknown): ArrayBuffer[] {
  const found = new Set<ArrayBuffer>();
  const walk = (v: unknown): void => {
    if (typeof v !== "object" || v === null) return;
    if (ArrayBuffer.isView(v)) {
      if (v.buffer instanceof ArrayBuffer && v.byteLength === v.buffer.byteLength && v.byteLength > 0) found.add(v.buffer);
      return;
    }
    if (v instanceof ArrayBuffer || v instanceof SharedArrayBuffer) return;
    for (const inner of Array.isArray(v) ? v : Object.values(v)) walk(inner);
  };
  walk(value);
  return [...found];
}

/** Copies out the arrays that are views into a larger buffer, so that sending does not clone the whole of it. */
export function compact<T>(value: T): T {
  if (typeof value !== "object" || value === null) return value;
  if (ArrayBuffer.isView(value)) {
    // shared memory is what it is in every thread
    if (value.buffer instanceof SharedArrayBuffer) return value;
    if (value.byteLength === value.buffer.byteLength && value.buffer instanceof ArrayBuffer) return value;
    return (value as unknown as { slice(): T }).slice();
  }
  if (Array.isArray(value)) return value.map(compact) as T;
  const out: Record<string, unknown> = {};
  for (const [key, inner] of Object.entries(value)) if (typeof inner !== "function") out[key] = compact(inner);
  return out as T;
}
