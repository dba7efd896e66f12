import { describe, expect, test } from "vitest";
import { buffersOf, compact } from "./transfer.ts";

describe("what goes to another thread", () => {
  test("whole buffers are handed over, each once; views into a larger one are not", () => {
    const own = new Float32Array(4);
    const large = new Uint8Array(100);
    const view = large.subarray(10, 20);
    const value = { a: own, b: [own, { c: view }], d: "text", e: null, f: new Uint8Array(0) };
    expect(buffersOf(value)).toEqual([own.buffer]);
  });

  test("compact copies the views out, keeps the rest, and leaves functions behind", () => {
    const own = new Float64Array([1, 2, 3]);
    const large = new Uint8Array([1, 2, 3, 4, 5]);
    const value = { own, list: [large.subarray(1, 3)], f: () => 1, deep: { text: "x", none: null } };
    const out = compact(value);
    expect(out.own).toBe(own);
    expect(out.list[0]).toEqual(new Uint8Array([2, 3]));
    expect(out.list[0].buffer.byteLength).toBe(2);
    expect(out.deep).toEqual({ text: "x", none: null });
    expect("f" in out).toBe(false);
    expect(buffersOf(out).length).toBe(2);
  });
});
