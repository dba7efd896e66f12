import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { root } from "../sources.ts";
import { caseNames, drawCase } from "./cases.ts";

const folder = join(root, "test", "cases");

describe.each(caseNames(root))("%s", (name) => {
  test("is drawn as it was kept; after a wanted change: npm run gallery -- --keep", () => {
    const { pictures } = drawCase(root, name);
    const differs: string[] = [];
    for (const p of pictures) {
      const kept = join(folder, name, `${p.id}.svg`);
      const changed = join(folder, name, `${p.id}-changed.svg`);
      if (existsSync(kept) && readFileSync(kept, "utf8") === p.svg) rmSync(changed, { force: true });
      else {
        differs.push(p.id);
        if (existsSync(join(folder, name))) writeFileSync(changed, p.svg);
      }
    }
    expect(differs, `${name}: these drawings are not what is kept; look at test/cases/${name}/*-changed.svg`).toEqual([]);
  });
});

test("nothing is kept of a case or a drawing that is gone", () => {
  const kept = readdirSync(folder, { withFileTypes: true }).flatMap((d) =>
    d.isDirectory() ? readdirSync(join(folder, d.name)).map((f) => `${d.name}/${f}`) : [],
  );
  const drawn = caseNames(root).flatMap((n) => drawCase(root, n).pictures.map((p) => `${n}/${p.id}.svg`));
  expect(kept.filter((f) => !f.endsWith("-changed.svg") && !drawn.includes(f))).toEqual([]);
});
