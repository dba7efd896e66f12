import type { Contour } from "../../kernel/curve.ts";
import type { Finding } from "../../units/index.ts";
import { placeOutline } from "./place.ts";
import { readDrawing } from "./read.ts";
import { READ, tell } from "./rules.ts";
import type { DrawingRequest } from "./types.ts";

/** The form of a drawing by the end of its name. */
export const drawingKind = (path: string): "dxf" | "svg" => (/\.dxf$/i.test(path) ? "dxf" : "svg");

/**
 * The headstock outline that an order asks for, from the bytes of its drawing: in the neck's frame, for a right-handed neck. With an
 * outline, one of the findings says what was read: unit, scale, size and place. Never throws.
 */
export function readOutline(
  bytes: Uint8Array,
  request: DrawingRequest,
): { readonly outline: Contour | null; readonly findings: readonly Finding[] } {
  const kind = drawingKind(request.drawing);
  const { outline, findings, facts } = readDrawing(bytes, kind, request);
  const named = findings.map((f) => ({ ...f, where: `${request.drawing}: ${f.where}` }));
  if (outline === null) return { outline: null, findings: named };
  const placed = placeOutline(outline, request, kind);
  const b = facts.bounds;
  if (b !== null && facts.scale !== null) {
    const size = `${+(b.xMax - b.xMin).toFixed(2)} x ${+(b.yMax - b.yMin).toFixed(2)} mm`;
    named.push(
      tell(
        READ,
        request.drawing,
        `Read in ${facts.unit} (${facts.unitFrom}), ${+facts.scale.toPrecision(7)} mm to the unit: an outline of ${facts.curves} curves, ${size} as drawn, ${+(facts.area / 100).toFixed(2)} cm2.`,
        "Check a length you know.",
        { value: +facts.scale.toPrecision(9), unit: "mm" },
      ),
    );
  }
  return { outline: placed, findings: named };
}
