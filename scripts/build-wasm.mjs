// Compiles src/kernel/wasm/assembly to src/kernel/wasm/kernels.generated.ts (the module's bytes in base64).
// Alone: node scripts/build-wasm.mjs; from other scripts: await buildWasm().
import { readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const OPTIONS = ["--optimizeLevel", "3", "--shrinkLevel", "0", "--noAssert", "--runtime", "stub", "--enable", "simd", "--importMemory"];

/** Writes the generated module; returns the size of the WebAssembly in bytes. Throws with the compiler's words when it fails. */
export async function buildWasm() {
  const { default: asc } = await import("assemblyscript/asc");
  let bytes;
  const { error, stderr } = await asc.main(["index.ts", "--outFile", "kernels.wasm", ...OPTIONS], {
    readFile: (name, base) => {
      try {
        return readFileSync(join(root, "src/kernel/wasm/assembly", base === "." ? "" : base, name), "utf8");
      } catch {
        return null;
      }
    },
    writeFile: (name, contents) => {
      if (name.endsWith(".wasm")) bytes = contents;
    },
    listFiles: () => [],
  });
  if (error || !bytes) throw new Error(`the kernels do not compile: ${stderr.toString() || error}`);
  const text = `/** Made by scripts/build-wasm.mjs from src/kernel/wasm/assembly: do not edit. */\nexport const KERNELS: string =\n  "${Buffer.from(bytes).toString("base64")}";\n`;
  const target = join(root, "src/kernel/wasm/kernels.generated.ts");
  let old = "";
  try {
    old = readFileSync(target, "utf8");
  } catch {
    // not made yet
  }
  if (old !== text) writeFileSync(target, text);
  return bytes.length;
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href)
  console.log(`kernels: ${await buildWasm()} bytes of WebAssembly`);
