import type { Rule, Severity } from "../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name =
  | "woodUnderRod"
  | "stringMargin"
  | "stringOff"
  | "slotDepth"
  | "boreToEdge"
  | "boreBreaksEdge"
  | "tunerSpacing"
  | "stringAngle"
  | "stringOverPost"
  | "screwInHeel"
  | "screwDepth"
  | "screwThrough"
  | "throat"
  | "regions"
  | "thin"
  | "nutFloor"
  | "rampHigh"
  | "tightBoard"
  | "markerDepth"
  | "markerHitsSlot"
  | "rodPlace"
  | "fretCrowded"
  | "boardShort"
  | "outline"
  | "heelThin"
  | "transitionTight"
  | "rodWider"
  | "bareSides"
  | "drawingGap"
  | "scarfBore"
  | "scarfThin"
  | "slotWall"
  | "rollerReach"
  | "angleRange"
  | "tenonSize"
  | "neckAngleOdd"
  | "voluteReach"
  | "barPlace"
  | "fanOdd"
  | "fallAwayDeep"
  | "shoulderDeep"
  | "laminates"
  | "drawingUnread"
  | "drawingBack";

export const NK: Readonly<Record<Name, Rule>> = {
  woodUnderRod: rule(
    "NK-001",
    "stop",
    "Between the rod (or its open channel) and the finished back at least the ordered minimum of wood remains, everywhere along the channel.",
  ),
  stringMargin: rule(
    "NK-002",
    "warn",
    "The outer strings run at least 2.5 mm inside the board's edges from the nut to the last fret (common practice, no source).",
  ),
  stringOff: rule("NK-003", "stop", "No string runs outside the board."),
  slotDepth: rule("NK-004", "stop", "Under every fret slot at least 0.5 mm of board remains above the glue plane, at the edges too."),
  boreToEdge: rule(
    "NK-005",
    "warn",
    "Around every tuner bore at least 3 mm of wood remains to the headstock's outline (common practice, no source).",
  ),
  boreBreaksEdge: rule("NK-006", "stop", "Around every tuner bore at least 1.5 mm of wood remains to the headstock's outline."),
  tunerSpacing: rule("NK-007", "stop", "Tuners stand at least as far apart as their bodies need."),
  stringAngle: rule("NK-008", "warn", "No string turns aside at the nut by more than the ordered angle."),
  stringOverPost: rule("NK-009", "warn", "No string rubs another string's post on its way to its own."),
  screwInHeel: rule("NK-010", "stop", "Every heel screw enters the flat of the heel, 5 mm or more inside its edges."),
  screwDepth: rule("NK-011", "warn", "Heel screws stop at least 1 mm short of the glue plane."),
  screwThrough: rule("NK-012", "stop", "Heel screws stay at least 1 mm below the finished board, the slots' floors included."),
  throat: rule("NK-013", "stop", "The back has passed to the flat headstock before the sides leave the board's width (the throat's end)."),
  regions: rule(
    "NK-014",
    "stop",
    "Along x: headstock, its transition, the carve, the heel's transition and the heel follow one another without overlap.",
  ),
  thin: rule("NK-015", "stop", "The carve leaves at least 4 mm of shaft under the glue plane on the centreline."),
  nutFloor: rule("NK-016", "stop", "The nut's floor lies below the finished board at its edges and not below the headstock face."),
  rampHigh: rule(
    "NK-017",
    "warn",
    "The ramp's radius is at least as large as the step it climbs; otherwise its upper part stands upright.",
  ),
  tightBoard: rule("NK-018", "stop", "The board's radius is larger than its half width."),
  markerDepth: rule("NK-019", "warn", "Marker recesses stop at least 0.5 mm above the glue plane."),
  markerHitsSlot: rule("NK-020", "stop", "Marker recesses stay 1 mm or more clear of the fret slots beside them and of each other."),
  rodPlace: rule(
    "NK-021",
    "stop",
    "The rod channel lies between the headstock's tip and the shaft's end and is narrower than the neck by 6 mm on either side.",
  ),
  fretCrowded: rule("NK-022", "stop", "Neighbouring frets stand at least 4 mm apart."),
  boardShort: rule("NK-023", "stop", "The last fret lies on the board, at least 1 mm before its end."),
  outline: rule("NK-024", "stop", "The outline is one closed curve that does not cross itself and holds the board."),
  heelThin: rule("NK-025", "stop", "Heel and headstock have at least 5 mm of wood."),
  transitionTight: rule(
    "NK-026",
    "warn",
    "Transitions of the back curve inward no tighter than 4.5 mm, so that a round-nosed cutter reaches them.",
  ),
  rodWider: rule(
    "NK-027",
    "warn",
    "The rod channel keeps its roof: at least 1 mm of shaft between a channel cut from the back and the glue plane.",
  ),
  bareSides: rule("NK-028", "note", "The shaft without a rod relies on wood alone for straightness."),
  drawingGap: rule(
    "NK-029",
    "stop",
    "The maker's own outline crosses the throat's line exactly twice, within 0.1 mm of the board's edges there.",
  ),
  scarfBore: rule("NK-030", "warn", "The scarf's glue line on the headstock's face runs at least 3 mm clear of every tuner bore."),
  scarfThin: rule("NK-031", "warn", "The scarf's glued face is at least 45 mm long (common practice, no source)."),
  slotWall: rule("NK-032", "stop", "Around a slotted headstock's openings at least 6 mm of wood remain to the edges and to each other."),
  rollerReach: rule("NK-033", "stop", "Every roller lies inside its opening and its bore crosses it."),
  angleRange: rule("NK-034", "stop", "An angled headstock tilts between 3 and 20 degrees."),
  tenonSize: rule(
    "NK-035",
    "stop",
    "The tenon is narrower than the board by 3 mm on either side, not longer than the heel and not deeper than it.",
  ),
  neckAngleOdd: rule(
    "NK-036",
    "warn",
    "The neck's angle lies between -1 and 6 degrees; otherwise bridge height, action or board height is doubtful.",
  ),
  voluteReach: rule("NK-037", "warn", "The volute has faded out before the headstock's flat back begins."),
  barPlace: rule("NK-038", "stop", "Bars lie inside the shaft, clear of the rod by 1.5 mm and of the edges by 5 mm."),
  fanOdd: rule("NK-039", "warn", "On a multi-scale neck the bass scale is the longer one and no fret slants by more than 20 degrees."),
  fallAwayDeep: rule("NK-040", "stop", "Fall-away and relief leave every slot its depth of board."),
  shoulderDeep: rule("NK-041", "stop", "The carve's shoulder takes at most half of its depth."),
  drawingUnread: rule("NK-043", "stop", "The drawing that an order asks for has been read; no other outline takes its place."),
  drawingBack: rule(
    "NK-044",
    "stop",
    "Every line square across the neck meets the drawn headstock's outline twice: it does not turn back along the neck by more than 0.02 mm.",
  ),
  laminates: rule("NK-042", "stop", "The strips of a laminated shaft are together as wide as the neck at least."),
};

export const NK_RULES: readonly Rule[] = Object.values(NK);
