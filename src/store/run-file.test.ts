import { describe, expect, test } from "vitest";
import { MemoryStore } from "./memory.ts";
import { parseRun, runText, takeRun, withEvents } from "./run-file.ts";
import { addEvents, beginRun, type RunEvent, type RunFile, readRun, stateOf } from "./runs.ts";

const SAID = { at: "2026-03-01T10:00:00.000Z", by: "bench" };
const HASH = "ab".repeat(32);
const event = (n: number, rest: Partial<RunEvent> = {}): RunEvent =>
  ({
    id: `event-${String(n).padStart(4, "0")}`,
    at: `2026-03-01T10:${String(n).padStart(2, "0")}:00Z`,
    step: "programs/01.ngc",
    kind: "done",
    ...rest,
  }) as RunEvent;

const run = (events: readonly RunEvent[]): RunFile =>
  withEvents(
    {
      format: "neckwright-run/1",
      order: "loan",
      orderSha256: HASH,
      shop: "stiff",
      programs: [{ file: "programs/01.ngc", sha256: HASH, cutter: 6, feedLength: 1200 }],
      events: [],
      corrections: [{ of: "shop", date: "2026-02-01", says: "axes: x +0.1 %", reason: "pattern" }],
    },
    events,
    "Kim",
  );

describe("a run as a file", () => {
  test("comes back as it was written, and says where it is wrong", () => {
    const r = run([event(1), event(2, { kind: "measured", name: "fret 5", value: 163.2, unit: "mm" } as Partial<RunEvent>)]);
    expect(parseRun(runText(r), "a")).toEqual(r);
    expect(() => parseRun("{", "a")).toThrow(/not JSON/);
    expect(() => parseRun(runText({ ...r, orderSha256: "x" }), "a")).toThrow(/orderSha256/);
    expect(() => parseRun(runText(r).replace('"done"', '"half"'), "a")).toThrow(/events/);
  });

  test("only grows: what is there by its id is not added again", () => {
    const r = run([event(1)]);
    expect(withEvents(r, [event(1), event(2)], "Lee").events.map((e) => [e.id, e.by])).toEqual([
      ["event-0001", "Kim"],
      ["event-0002", "Lee"],
    ]);
  });

  test("is taken over by a shop's memory, once and again, and what the bench added stays", () => {
    const store = new MemoryStore();
    const r = run([event(1)]);
    expect(takeRun(store, "loan-r1", r, SAID)).toBe("loan-r1");
    expect(readRun(store, "loan-r1")).toEqual(r);
    // the cutter wore by what was done
    expect(store.worn("stiff-t6")).toBe(1200);
    addEvents(store, "loan-r1", [event(5, { kind: "note", text: "from the bench" } as Partial<RunEvent>)], SAID);
    const more = withEvents(r, [event(2, { kind: "undone" } as Partial<RunEvent>)], "Kim");
    expect(takeRun(store, "loan-r1", more, SAID)).toBe("loan-r1");
    expect(takeRun(store, "loan-r1", more, SAID)).toBe("loan-r1");
    const kept = readRun(store, "loan-r1")!;
    expect(kept.events.map((e) => e.id).sort()).toEqual(["event-0001", "event-0002", "event-0005"]);
    expect(stateOf(kept.events).get("programs/01.ngc")!.done).toBe(false);
    expect(store.worn("stiff-t6")).toBe(0);
  });

  test("does not touch another run of the same name", () => {
    const store = new MemoryStore();
    const other = beginRun(store, { order: "loan", orderSha256: "cd".repeat(32), shop: "stiff", programs: [] }, SAID);
    addEvents(store, other, [event(9)], SAID);
    const before = readRun(store, other);
    expect(takeRun(store, "loan-r1", run([event(1)]), SAID)).toBe("loan-r2");
    expect(readRun(store, other)).toEqual(before);
  });
});
