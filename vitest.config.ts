import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";
import { sourcesDefine } from "./scripts/sources.mjs";

const config: ReturnType<typeof defineConfig> = defineConfig({
  define: sourcesDefine(fileURLToPath(new URL(".", import.meta.url))),
  test: {
    include: ["src/**/*.test.ts", "test/**/*.test.ts"],
    testTimeout: 120_000,
    hookTimeout: 300_000,
    coverage: {
      provider: "v8",
      include: ["src/**/*.ts"],
      exclude: ["src/**/*.test.ts", "src/**/types.ts", "src/**/*.test-data.ts", "src/kernel/wasm/assembly/**"],
      reporter: ["text-summary", "html"],
    },
  },
});

export default config;
