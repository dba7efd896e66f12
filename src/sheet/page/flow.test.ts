import { expect, test } from "vitest";
import { Flow } from "./flow.ts";

const flow = (): Flow => new Flow({ paper: "A4", headLeft: "", headRight: "", footLeft: "" });

test("a block's height is the room it takes, and nothing is set by asking for it", () => {
  const f = flow();
  f.newPage("a page", "landscape");
  f.paragraph("what stands before");
  const block = (): void => {
    f.table([{ head: "part", share: 1 }], [["a pin"], ["a block"], ["a strip"]]);
    f.paragraph("How near the nearest comes. ".repeat(20));
  };
  const before = f.room;
  const height = f.heightOf(block);
  expect(f.room).toBe(before);
  block();
  expect(before - f.room).toBeCloseTo(height, 9);
  // near the page's foot too, where setting it would begin another page
  f.space(f.room - 5);
  const low = f.room;
  expect(f.heightOf(block)).toBeCloseTo(height, 9);
  expect(f.room).toBe(low);
});
