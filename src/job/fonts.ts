import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import type { Fonts } from "../sheet/draw/pdf.ts";

/** The typeface of the sheets, from its package; the files themselves are never changed. */
export async function readFonts(): Promise<Fonts> {
  const require = createRequire(import.meta.url);
  const file = (name: string): Promise<Uint8Array> => readFile(require.resolve(`dejavu-fonts-ttf/ttf/${name}`));
  const [regular, bold] = await Promise.all([file("DejaVuSans.ttf"), file("DejaVuSans-Bold.ttf")]);
  return { regular, bold };
}
