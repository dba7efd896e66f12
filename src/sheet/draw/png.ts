import { PNG } from "pngjs";

/**
 * An RGB picture as a PNG file. `paint` is given its bytes, three for each dot in rows from the top. For colours of a table: a filter
 * before the compression would only cost time.
 */
export function rgbPng(width: number, height: number, paint: (rgb: Uint8Array) => void): Uint8Array {
  const png = new PNG({ width, height });
  png.data = png.data.subarray(0, width * height * 3);
  paint(png.data);
  const bytes = PNG.sync.write(png, {
    colorType: 2,
    inputColorType: 2,
    inputHasAlpha: false,
    deflateLevel: 6,
    deflateStrategy: 0,
    filterType: 0,
  });
  return new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}
