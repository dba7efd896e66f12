import { type Finding, finding, type Rule } from "../../units/index.ts";

/* Rules of a maker's drawing: SP-30x the file, SP-31x what it holds, SP-32x unit and size, SP-33x the outline. */

const stop = (id: string, says: string): Rule => ({ id, severity: "stop", says });
const warn = (id: string, says: string): Rule => ({ id, severity: "warn", says });
const note = (id: string, says: string): Rule => ({ id, severity: "note", says });

export const SIZE: Rule = stop("SP-301", "A drawing holds at most 24 MB.");
export const TEXT: Rule = stop("SP-302", "A drawing is a text file: DXF in its text form, or SVG, neither packed nor in UTF-16.");
export const FORM: Rule = stop("SP-303", "A drawing is well formed to its end; the finding names the line of the first fault.");
export const LIMIT: Rule = stop(
  "SP-304",
  "A drawing has at most 200 000 curves, blocks and groups nested at most 32 deep, and splines of at most degree 11 with 20 000 points.",
);
export const NUMBER: Rule = stop("SP-305", "Every number that shapes a curve is a finite decimal number, within 1 km once in millimetres.");
export const OUTSIDE: Rule = stop("SP-306", "Nothing that shapes the drawing lies in another file; none is ever opened or fetched.");
export const OPTIONS: Rule = stop("SP-307", "The drawing's unit, layer, closing tolerance and scale in the order are usable.");
export const REPAIRED: Rule = note(
  "SP-308",
  "What was repaired in the file itself is reported: a missing end mark, a byte order mark, old text.",
);
export const ACTIVE: Rule = warn("SP-309", "Scripts and event handlers in a drawing are never run, and are reported.");

export const EMPTY: Rule = stop("SP-310", "The drawing holds at least one curve that can be read, visible and in model space.");
export const LAYER: Rule = stop("SP-311", "The layer asked for exists and holds curves.");
export const FLAT: Rule = stop("SP-312", "Every curve lies flat in a plane that is looked at squarely.");
export const SPLINE: Rule = stop(
  "SP-313",
  "Every spline has control points, knots that never fall and fit their number, and weights above 0.",
);
export const UNREAD: Rule = stop(
  "SP-314",
  "Nothing in the drawing changes a shape in a way that is not read: style sheets, nested views, meshes.",
);
export const SKIPPED: Rule = note("SP-315", "What is no curve, is hidden, or lies in paper space is left out and counted.");
export const ZERO: Rule = note("SP-316", "Curves without length are left out and counted.");

export const UNIT: Rule = stop("SP-320", "The drawing states its unit, or the order gives it.");
export const UNIT_DIFFERS: Rule = warn("SP-321", "The unit in the order is the one that the drawing states.");
export const PLAUSIBLE: Rule = warn(
  "SP-322",
  "The outline's longer side measures 40 to 400 mm, as headstocks do (common practice, no source).",
);
export const ASPECT: Rule = warn("SP-323", "Width and height of an SVG have the same ratio as its viewBox.");
export const READ: Rule = note("SP-324", "What was read of a drawing is said: unit, scale, size.");

export const OPEN: Rule = stop(
  "SP-330",
  "The outline is closed, or its gaps are within the closing tolerance; the finding names the loose ends.",
);
export const GAPS: Rule = note("SP-331", "Gaps within the closing tolerance are closed at their middle, and reported with place and size.");
export const DUPLICATES: Rule = note("SP-332", "Curves drawn twice in the same place count once, and are reported.");
export const BRANCH: Rule = stop("SP-333", "At no place do more than two curves of different figures end, so that there is one way round.");
export const CROSSING: Rule = stop(
  "SP-334",
  "The outline neither crosses nor touches itself or another closed curve; the finding names the places.",
);
export const SEVERAL: Rule = stop("SP-335", "One closed curve is plainly the outline: it holds all others, and none of them could be it.");
export const HOLES: Rule = note("SP-336", "Closed curves inside the outline are left out and reported.");
export const LEFT_OUT: Rule = warn("SP-337", "Open curves inside the outline are left out and reported.");
export const DENSE: Rule = stop("SP-338", "Curves do not lie so thickly that joining or checking them cannot be done in bounded time.");
export const AREA: Rule = stop("SP-339", "The outline encloses at least 1 mm2.");

/** Every rule of drawings, for the rule book. */
export const DRAWING_RULES: readonly Rule[] = [
  SIZE,
  TEXT,
  FORM,
  LIMIT,
  NUMBER,
  OUTSIDE,
  OPTIONS,
  REPAIRED,
  ACTIVE,
  EMPTY,
  LAYER,
  FLAT,
  SPLINE,
  UNREAD,
  SKIPPED,
  ZERO,
  UNIT,
  UNIT_DIFFERS,
  PLAUSIBLE,
  ASPECT,
  READ,
  OPEN,
  GAPS,
  DUPLICATES,
  BRANCH,
  CROSSING,
  SEVERAL,
  HOLES,
  LEFT_OUT,
  DENSE,
  AREA,
];

/** Stops the reading at once; caught by readDrawing and turned into its finding. */
export class Refusal extends Error {
  readonly found: Finding;
  constructor(found: Finding) {
    super(found.says);
    this.found = found;
  }
}

type Rest = Partial<Pick<Finding, "value" | "limit" | "unit">>;

/** A finding about the drawing; `where` is a place in its file or on its plane. */
export const tell = (rule: Rule, where: string, says: string, tryThis: string, rest: Rest = {}): Finding =>
  finding(rule, { where, value: rest.value ?? null, limit: rest.limit ?? null, unit: rest.unit ?? "", says, tryThis });

/** Throws the finding as a Refusal. */
export function refuse(rule: Rule, where: string, says: string, tryThis: string, rest: Rest = {}): never {
  throw new Refusal(tell(rule, where, says, tryThis, rest));
}

export const MAX_DRAWING_BYTES = 24_000_000;
export const MAX_CURVES = 200_000;
export const MAX_NESTING = 32;
