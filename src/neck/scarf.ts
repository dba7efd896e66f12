import type { Mm, Rad } from "../units/index.ts";
import type { Neck } from "./types.ts";

/**
 * A scarf joint, both pieces from one board of the shaft's thickness T: the end is cut off at the headstock's angle a, turned
 * over and glued with its sawn face to the shaft's underside, so that its own flat face goes on from the shaft's sawn face.
 *
 *   z = 0  _______________________________ glue plane of the board
 *          ..''\  shaft                      the headstock's face is the shaft's sawn face and, beyond the joint's
 *      ..''     \__________________ z = -T   head end, the turned piece's flat face
 *   ''..  turned piece ..''
 */
export interface Scarf {
  /** Angle of the saw cut to the shaft's faces. */
  readonly angle: Rad;
  /** Depth of the glue line below the glue plane: the thickness of the board both pieces come from. */
  readonly glueLine: Mm;
  /** Length of the sawn face, T / sin a, and the length of shaft it takes up, T / tan a. */
  readonly face: Mm;
  readonly taper: Mm;
  /** Where the glue line begins on the headstock's face and where it ends toward the body, along x on the centreline. */
  readonly headEnd: Mm;
  readonly bodyEnd: Mm;
  /** Distance of the body end from the nut (positive: under the board) and from fret 1 (positive: before it). */
  readonly pastNut: Mm;
  readonly beforeFirstFret: Mm;
  /** Where the finished back crosses the glue line on the centreline; null when the carve takes the joint away altogether. */
  readonly shownOnBack: Mm | null;
  /** Least lengths of the two pieces of board, allowance for the saw and for trimming not included. */
  readonly shaftPiece: Mm;
  readonly headPiece: Mm;
}

/** The scarf of a neck whose headstock is joined; null for other necks. `thickness`: of the board it is cut from. */
export function scarfOf(neck: Neck, thickness: Mm = neck.order.headstock.thickness): Scarf | null {
  const { headstock } = neck.order;
  if (headstock.kind !== "scarfed" || !headstock.angle) return null;
  const angle = headstock.angle;
  const p = neck.places;
  const face = thickness / Math.sin(angle);
  const taper = thickness / Math.tan(angle);
  const headEnd = p.rampTop - taper;
  const bodyEnd = headEnd + face;
  let shown: Mm | null = null;
  for (let x = bodyEnd; x > headEnd; x -= 0.25) {
    if (neck.back(x, 0) < -thickness) {
      shown = x;
      break;
    }
  }
  return {
    angle,
    glueLine: thickness,
    face,
    taper,
    headEnd,
    bodyEnd,
    pastNut: bodyEnd,
    beforeFirstFret: neck.fretAt(1) - bodyEnd,
    shownOnBack: shown,
    shaftPiece: p.end - headEnd,
    headPiece: face + (headEnd - p.tip) / Math.cos(angle),
  };
}

/** Thickness of a solid plank from which an angled one-piece neck is cut, and what the tilt adds to it. */
export function plankThickness(neck: Neck): { readonly thickness: Mm; readonly forTilt: Mm } {
  const p = neck.places;
  let deepest = 0;
  let level = 0;
  for (let x = p.tip + 0.01; x < p.shaftEnd; x += 1) {
    const [lo, hi] = neck.edges(x);
    for (const y of [0, lo * 0.999, hi * 0.999]) {
      const z = neck.back(x, y);
      if (z < deepest) deepest = z;
      if (x > p.carveStart && z < level) level = z;
    }
  }
  return { thickness: -deepest, forTilt: Math.max(0, level - deepest) };
}
