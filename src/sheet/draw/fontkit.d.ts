/** What of this package the PDF writer uses; it brings no types. */
declare module "fontkit" {
  export interface Glyph {
    readonly id: number;
    readonly advanceWidth: number;
    readonly codePoints: readonly number[];
  }
  export interface Position {
    xAdvance: number;
    yAdvance: number;
    xOffset: number;
    yOffset: number;
  }
  export interface Run {
    readonly glyphs: readonly Glyph[];
    readonly positions: readonly Position[];
    readonly advanceWidth: number;
  }
  export interface Font {
    readonly unitsPerEm: number;
    layout(text: string): Run;
  }
  export function create(bytes: Uint8Array): Font;
}
