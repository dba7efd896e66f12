import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { realDisk } from "./disk.ts";
import { openMade } from "./made.ts";

test("a batch's folder is no made folder: what goes on from one says which folder to name, and what the batch itself can do", async () => {
  const dir = await mkdtemp(join(tmpdir(), "neckwright-made-"));
  try {
    await writeFile(join(dir, "batch.json"), '{ "format": "neckwright-batch/1" }');
    await expect(openMade(dir, realDisk)).rejects.toThrow(/batch of several pieces/);
    await expect(openMade(dir, realDisk)).rejects.toMatchObject({
      tryThis: expect.stringMatching(/piece's own made folder.*goes on with resume on the batch/),
    });
  } finally {
    await rm(dir, { recursive: true });
  }
});
