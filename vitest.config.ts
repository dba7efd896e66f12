import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";
import { BaseSequencer, type TestSpecification } from "vitest/node";
import { sourcesDefine } from "./scripts/sources.mjs";

/** What takes a quarter of a minute and more goes first, so that the last files to end are short ones and no core waits for another. */
const LONG: readonly string[] = [
  "test/numbers.test.ts",
  "test/bench/work.test.ts",
  "test/bench/bench.test.ts",
  "test/outside/programs.test.ts",
  "test/folder.test.ts",
  "test/laws/tilted.test.ts",
  "test/laws/mutations.test.ts",
  "src/paths/plan.test.ts",
  "test/outside/rs274.test.ts",
  "test/outside/exports-dxf.test.ts",
  "src/paths/work.test.ts",
  "test/outside/solids.test.ts",
  "test/recovery.test.ts",
  "test/docs.test.ts",
  "test/laws/arcs.test.ts",
  "test/bad-input.test.ts",
  "test/laws/finishing.test.ts",
  "src/spec/order.test.ts",
  "src/server/bench.test.ts",
  // begins with the folder that test/recovery.test.ts has made by then
  "test/batch.test.ts",
];

class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = (f: TestSpecification): number => {
      const k = LONG.findIndex((name) => f.moduleId.replaceAll("\\", "/").endsWith(`/${name}`));
      return k < 0 ? LONG.length : k;
    };
    return (await super.sort(files)).sort((a, b) => place(a) - place(b));
  }
}

const config: ReturnType<typeof defineConfig> = defineConfig({
  define: sourcesDefine(fileURLToPath(new URL(".", import.meta.url))),
  test: {
    include: ["src/**/*.test.ts", "test/**/*.test.ts"],
    testTimeout: 120_000,
    hookTimeout: 300_000,
    // three files run at once: what a page comes to is waited for as long as a loaded machine may take
    expect: { poll: { timeout: 20_000 } },
    // stages are pure and keep nothing from call to call (test/architecture.test.ts): a process loads them once for all its files
    isolate: false,
    sequence: { sequencer: LongestFirst },
    coverage: {
      provider: "v8",
      include: ["src/**/*.ts"],
      exclude: ["src/**/*.test.ts", "src/**/types.ts", "src/**/*.test-data.ts", "src/kernel/wasm/assembly/**"],
      reporter: ["text-summary", "html"],
    },
  },
});

export default config;
