import { Bytes } from "./bytes.ts";
import type { Deflate } from "./deflate.ts";

/** A PDF in the making (ISO 32000-1): numbered objects, and where each begins. */
export class PdfFile {
  private readonly out = new Bytes(1 << 18);
  private readonly places: number[] = [];
  private readonly deflate: Deflate;

  constructor(deflate: Deflate) {
    this.deflate = deflate;
    // bytes over 127 tell programs that move files that this is not text
    this.out.text("%PDF-1.7\n%\xff\xff\xff\xff\n");
  }

  /** The number of an object that is written later. */
  reserve(): number {
    return this.places.push(-1);
  }

  object(body: string, number: number = this.reserve()): number {
    this.begin(number);
    this.out.text(body).text("\nendobj\n");
    return number;
  }

  /** `entries` of the dictionary, and bytes that are packed, or were before (`packed`). */
  stream(entries: string, bytes: Uint8Array, packed = false): number {
    const number = this.reserve();
    const data = packed ? bytes : this.deflate(bytes);
    this.begin(number);
    this.out.text(`<< ${entries}/Length ${data.length} /Filter /FlateDecode >>\nstream\n`).bytes(data).text("\nendstream\nendobj\n");
    return number;
  }

  private begin(number: number): void {
    this.places[number - 1] = this.out.length;
    this.out.text(`${number} 0 obj\n`);
  }

  /** The finished file, with the table of its objects. */
  finish(root: number, info: number): Uint8Array {
    const { out, places } = this;
    const at = out.length;
    out.text(`xref\n0 ${places.length + 1}\n0000000000 65535 f \n`);
    places.forEach((place, k) => {
      if (place < 0) throw new Error(`object ${k + 1} of the PDF was never written`);
      out.text(`${place}`.padStart(10, "0")).text(" 00000 n \n");
    });
    out.text(`trailer\n<< /Size ${places.length + 1} /Root ${root} 0 R /Info ${info} 0 R >>\nstartxref\n${at}\n%%EOF\n`);
    return out.view().slice();
  }
}

export const ref = (number: number): string => `${number} 0 R`;

/** Text as a string object: UTF-16 with its mark, in hexadecimal, where it is not plain ASCII (7.9.2.2). */
export function pdfText(text: string): string {
  if (/^[\x20-\x7e]*$/.test(text)) return `(${text.replace(/[\\()]/g, "\\$&")})`;
  let hex = "FEFF";
  for (let k = 0; k < text.length; k++) hex += hex4(text.charCodeAt(k));
  return `<${hex}>`;
}

export const hex4 = (v: number): string => v.toString(16).toUpperCase().padStart(4, "0");
