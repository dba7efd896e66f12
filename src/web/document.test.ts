import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  change,
  changeText,
  type Doc,
  differences,
  goTo,
  type Json,
  nameState,
  openDoc,
  type Path,
  redo,
  undo,
  valueAt,
  withValue,
} from "./document.ts";

const start: Json = { name: "loan-guitar", scale: 648, frets: { count: 22 }, carve: { stations: [{ at: "fret 1" }, { at: "fret 12" }] } };
const path: fc.Arbitrary<Path> = fc.constantFrom<Path[]>(
  ["scale"],
  ["frets", "count"],
  ["board", "radius"],
  ["carve", "stations", 0, "at"],
  ["title"],
);
const value = fc.oneof(fc.integer(), fc.string({ maxLength: 5 }), fc.constant(undefined), fc.boolean());
const SEED = { seed: 20260101, numRuns: 400 };

describe("an order as it is edited", () => {
  test("undoing everything gives the first file, redoing everything the last", () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(path, value, fc.boolean()), { maxLength: 20 }), (edits) => {
        let doc: Doc = openDoc(start);
        for (const [p, v, drag] of edits) doc = change(doc, p, v as Json | undefined, drag);
        const last = doc.file;
        const n = doc.done.length;
        doc = goTo(doc, 0);
        expect(doc.file).toEqual(start);
        expect(goTo(doc, n).file).toEqual(last);
      }),
      SEED,
    );
  });
  test("a drag is one step; another place, or a named state, begins a new one", () => {
    let doc = openDoc(start);
    for (const v of [649, 650, 651]) doc = change(doc, ["scale"], v, true);
    expect(doc.done.length).toBe(1);
    expect(undo(doc).file).toEqual(start);
    doc = change(nameState(doc, "longer"), ["scale"], 652, true);
    expect(doc.done.length).toBe(2);
    expect(valueAt(goTo(doc, 1).file, ["scale"])).toBe(651);
    expect(change(doc, ["frets", "count"], 24, true).done.length).toBe(3);
  });
  test("a change after undoing forgets what was undone, and names of states that are gone", () => {
    let doc = change(change(openDoc(start), ["scale"], 650), ["scale"], 660);
    doc = nameState(doc, "later");
    doc = change(undo(doc), ["scale"], 640);
    expect(redo(doc)).toEqual(doc);
    expect(doc.named).toEqual([]);
  });
  test("values are set and taken away without touching the old data", () => {
    fc.assert(
      fc.property(path, value, (p, v) => {
        const kept = JSON.stringify(start);
        const out = withValue(start, p, v as Json | undefined);
        expect(JSON.stringify(start)).toBe(kept);
        expect(valueAt(out, p)).toEqual(v);
      }),
      SEED,
    );
    expect(withValue({ board: { radius: 1 } }, ["board", "radius"], undefined)).toEqual({ board: {} });
    expect(valueAt(start, ["toString"])).toBeUndefined();
  });
  test("what differs is listed by place, and putting it in makes the other", () => {
    const other: Json = { ...(start as object), scale: 650, board: { radius: 300 } };
    const list = differences(start, other);
    expect(list.map(changeText)).toEqual(["scale: 648 → 650", 'board: – → {"radius":300}']);
    let doc = openDoc(start);
    for (const c of list) doc = change(doc, c.path, c.after);
    expect(doc.file).toEqual(other);
  });
});
