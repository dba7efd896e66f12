import type { Rule } from "../units/index.ts";

/* Rules of the order and the shop: SP-0xx reading a file, SP-1xx the order's own sense, SP-2xx the shop's. */

const stop = (id: string, says: string): Rule => ({ id, severity: "stop", says });
const warn = (id: string, says: string): Rule => ({ id, severity: "warn", says });
const note = (id: string, says: string): Rule => ({ id, severity: "note", says });

export const SHELF_TUNER: Rule = note(
  "SP-401",
  "A tuner with the ordered bores lies on the shop's shelf, and its body is no longer than the pitch.",
);
export const SHELF_WIRE: Rule = note("SP-402", "A fret wire with the ordered tang lies on the shop's shelf.");
export const SHELF_ROD: Rule = note("SP-403", "A rod that fits the ordered channel lies on the shop's shelf.");
export const SHELF_BAR: Rule = note("SP-404", "A bar that fits the ordered channels lies on the shop's shelf.");
export const SHELF_NUT: Rule = note("SP-405", "A nut blank as wide as the seat and as long as the neck is wide lies on the shop's shelf.");

export const FILE_SIZE: Rule = stop("SP-001", "An order or shop file holds at most 1 MB.");
export const FILE_EMPTY: Rule = stop("SP-002", "An order or shop file is not empty.");
export const FILE_TEXT: Rule = stop("SP-003", "An order or shop file is UTF-8 text without control bytes.");
export const FILE_BOM: Rule = note("SP-004", "A byte order mark at the start of the file is skipped and reported.");
export const FILE_JSON: Rule = stop(
  "SP-005",
  "An order or shop file is JSON (RFC 8259); the finding names line and column of the first fault.",
);
export const FILE_DUPLICATE: Rule = stop("SP-006", "No key stands twice in one object.");
export const FILE_DEPTH: Rule = stop("SP-007", "Objects and lists are nested at most 32 deep.");
export const FORMAT: Rule = stop("SP-008", 'The key "neckwright" names the kind of file and a version that this program reads.');
export const UNKNOWN_KEY: Rule = stop("SP-010", "Every key is known; the finding names the nearest known key.");
export const MISSING: Rule = stop("SP-011", "Every key without a default is given.");
export const WRONG_KIND: Rule = stop("SP-012", "Every value has the kind (number, text, list, object) its key asks for.");
export const QUANTITY: Rule = stop(
  "SP-013",
  "Every length, angle and feed is a finite number or a text with one number and one known unit, readable in one way.",
);
export const RANGE: Rule = stop("SP-014", "Every number lies within the range of its key.");
export const WORD: Rule = stop("SP-015", "A key with a list of words holds one of them.");
export const LIST: Rule = stop("SP-016", "Every list has as many entries as its key allows.");
export const TEXT: Rule = stop("SP-017", "Every text has the length and letters its key allows.");

export const INSTRUMENT_OTHER: Rule = stop("SP-100", 'An order for an instrument "other" gives its scale and its number of strings.');
export const TUNER_COUNT: Rule = stop("SP-101", "There are as many tuners as strings, and tuners in line stand on one side.");
export const STRING_DIAMETERS: Rule = stop("SP-102", "The list of string diameters is empty or has one entry per string.");
export const SPREAD_WIDTH: Rule = stop(
  "SP-103",
  "The outer strings stand on the board, at the nut and at its end (widths; with margins they do by themselves).",
);
export const GAPS_NEED_DIAMETERS: Rule = note(
  "SP-105",
  "Equal gaps between strings need their diameters; without them the centres are spaced equally.",
);
export const GAPS_POSITIVE: Rule = stop("SP-106", "Neighbouring strings leave at least 0.5 mm of air at the nut.");
export const STRING_LISTS: Rule = stop(
  "SP-107",
  "Lists of pitches, gauges, cores and unit weights are left out or have one entry per string.",
);
export const STRING_CORES: Rule = stop("SP-108", "No core is thicker than its string.");
export const STRING_HEIGHTS: Rule = stop("SP-109", "Strings stand at least as high over fret 12 as over the nut.");
export const CLIMATE_SWING: Rule = warn("SP-196", "The humidity at home stays between 2 and 98 % with its swing to either side.");
export const MARKER_FRETS: Rule = stop("SP-110", "Every marker belongs to a fret that the order has, and no fret stands twice in a list.");
export const DOUBLE_MARKERS: Rule = stop("SP-111", "Every double face marker is also in the list of face markers.");
export const MARKER_SPREAD: Rule = stop("SP-112", "The two recesses of a double marker leave at least 1 mm between them.");
export const MARKER_DEPTH: Rule = stop("SP-113", "A marker recess leaves board below it.");
export const STATIONS_ORDER: Rule = stop(
  "SP-120",
  "The carve has two or more stations on the neck, each more than 1 mm further from the nut than the one before.",
);
export const STATION_THICKNESS: Rule = stop(
  "SP-121",
  "At every station the neck, board included, is at least 1 mm thicker than the board.",
);
export const STATION_FRET: Rule = stop("SP-122", "A place named by a fret is one of the order's frets.");
export const BLIND_MARGIN: Rule = stop("SP-130", "Blind slots stay longer than twice their width where the board is narrowest.");
export const KERF_TANG: Rule = warn("SP-131", "The slot is no wider than the tang and at most 0.1 mm narrower (common practice).");
export const SLOT_TANG: Rule = stop("SP-132", "The slot is deeper than the tang.");
export const SLOT_BOARD: Rule = stop("SP-133", "The slot is less deep than the board is thick on the centreline.");
export const SLOT_BOARD_LITTLE: Rule = warn("SP-134", "At least 1 mm of board stays below a slot on the centreline (common practice).");
export const NUT_LAND: Rule = stop("SP-141", "At least 1.5 mm of board stays behind a nut that stands in a seat.");
export const WIDTH_TAPER: Rule = warn("SP-147", "The board is not narrower at its end than at the nut (common practice).");
export const OVERHANG: Rule = stop("SP-148", "The board lies on the shaft for more than half of its length.");
export const END_BOW: Rule = stop("SP-149", "A curved end bulges by less than half the board's width there.");
export const BUSH_POST: Rule = stop("SP-150", "A tuner's bush is wider than its post and shorter than the headstock is thick.");
export const TUNER_PITCH: Rule = stop("SP-151", "The pitch leaves at least 2 mm of wood between the tuner bores of a row.");
export const TUNER_ROWS: Rule = stop(
  "SP-153",
  "Split rows leave at least 2 mm of wood between the bores on either side of the centreline.",
);
export const TUNER_FIRST: Rule = stop("SP-154", "The first tuner's bore lies clear of the ramp.");
export const HEAD_DROP: Rule = stop("SP-155", "The ramp from the headstock face ends before the throat does.");
export const HEEL_SCREWS: Rule = stop("SP-160", "A heel has 0, 2, 3 or 4 screws; their rows lie apart and within the heel's length.");
export const HEEL_SCREW_ACROSS: Rule = stop(
  "SP-161",
  "The screws of a row lie apart and leave 3 mm of wood beside them at the board's end.",
);
export const HEEL_SCREW_DEPTH: Rule = stop("SP-162", "The heel's screw bores do not reach the board.");
export const HEEL_THICKNESS: Rule = stop("SP-163", "The heel, board included, is at least 1 mm thicker than the board.");
export const ROD_GLUED: Rule = stop(
  "SP-170",
  "A channel for rod or bars that is cut from the face is not ordered with a blank whose board is already glued on.",
);
export const ROD_SPAN: Rule = stop("SP-171", "The rod channel ends further toward the bridge than it begins, by more than its width.");
export const ROD_HEIGHT: Rule = stop("SP-172", "Rod, roof and the wood under the rod fit into the thinnest station of the carve.");
export const ROD_FACE_DEPTH: Rule = stop("SP-173", "A channel cut from the face has no roof and is at least as deep as its rod is high.");
export const ROD_ACCESS: Rule = stop("SP-174", "The rod's access pocket is at least as wide as the channel.");
export const BLANK_THICK: Rule = stop(
  "SP-180",
  "The blank's shaft is at least as thick as headstock, heel and carve are deep below the glue plane.",
);
export const BLANK_THICK_WASTE: Rule = note("SP-181", "The blank's shaft is at most 6 mm thicker than the neck is deep.");
export const BLANK_BOARD: Rule = stop("SP-182", "The blank's board is at least as thick as the finished board; a shaft alone has none.");
export const BLANK_LENGTH: Rule = stop("SP-183", "The blank is longer than the neck with the margin at both ends.");
export const BLANK_WIDTH: Rule = stop(
  "SP-184",
  "The blank is wider than the board and the rows of split tuners with the margin at both sides.",
);
export const HOLD_BLOCK: Rule = stop("SP-190", "A block's grip is shorter than the block, and pins are lower than the blank is thick.");
export const CUT_SCRIBE: Rule = stop("SP-191", "The scribed line is less deep than a quarter of the blank.");
export const CUT_RELEASE: Rule = stop("SP-192", "Tabs or skin are thinner than half the blank.");
export const CUSP_ROUGH: Rule = stop("SP-193", "Roughing leaves more than the cusps of finishing.");
export const WOOD_KNOWN: Rule = stop("SP-194", "Every wood of an order is in the table of woods; the finding names the nearest.");
export const OVERRIDE_RULE: Rule = stop("SP-195", "No rule is overridden twice.");

export const SHOP_NUMBERS: Rule = stop("SP-200", "No two cutters have the same number.");
export const SHOP_BED: Rule = stop("SP-201", "The travel in x and y is no longer than twice the bed and no shorter than half of it.");
export const SHOP_SPINDLE: Rule = stop("SP-202", "The spindle's least speed is below its highest.");
export const SHOP_RAPID: Rule = stop("SP-203", "No axis cuts faster than it travels in rapids.");
export const SHOP_APPROACH: Rule = stop("SP-204", "The approach height is no higher than the clearance.");
export const SHOP_CURVE: Rule = stop("SP-205", "The points of a spindle's curve stand in order of speed.");
export const CUTTER_CORNER: Rule = stop(
  "SP-210",
  "A bull-nosed cutter's corner radius lies between nothing and half its diameter; only bull-nosed and tapered cutters state one.",
);
export const CUTTER_TIP: Rule = stop(
  "SP-211",
  "Tapered and vee cutters state a tip angle between 1 and 179 degrees and a tip narrower than their diameter.",
);
export const CUTTER_FLUTE: Rule = stop("SP-212", "A cutter's flutes are no longer than its reach.");
export const CUTTER_CHIP: Rule = stop("SP-213", "A cutter's least chip is smaller than its largest.");
export const CUTTER_DEPTH: Rule = stop("SP-214", "A cutter's depth per pass is no more than its flute length.");
export const CUTTER_HOLDER: Rule = warn("SP-215", "A holder's parts are wider than the cutter's shank.");
export const CUTTER_SPEED: Rule = stop("SP-216", "A cutter's marked speed is at least the spindle's least speed.");
export const CUTTER_TIP_CONE: Rule = stop("SP-217", "A tapered or vee cutter's cone reaches its diameter within its flutes.");

/** Every rule of this stage, in the order of the rule book. */
export const SP_RULES: readonly Rule[] = [
  SHELF_TUNER,
  SHELF_WIRE,
  SHELF_ROD,
  SHELF_BAR,
  SHELF_NUT,
  FILE_SIZE,
  FILE_EMPTY,
  FILE_TEXT,
  FILE_BOM,
  FILE_JSON,
  FILE_DUPLICATE,
  FILE_DEPTH,
  FORMAT,
  UNKNOWN_KEY,
  MISSING,
  WRONG_KIND,
  QUANTITY,
  RANGE,
  WORD,
  LIST,
  TEXT,
  INSTRUMENT_OTHER,
  TUNER_COUNT,
  STRING_DIAMETERS,
  SPREAD_WIDTH,
  GAPS_NEED_DIAMETERS,
  GAPS_POSITIVE,
  STRING_LISTS,
  STRING_CORES,
  STRING_HEIGHTS,
  MARKER_FRETS,
  DOUBLE_MARKERS,
  MARKER_SPREAD,
  MARKER_DEPTH,
  STATIONS_ORDER,
  STATION_THICKNESS,
  STATION_FRET,
  BLIND_MARGIN,
  KERF_TANG,
  SLOT_TANG,
  SLOT_BOARD,
  SLOT_BOARD_LITTLE,
  NUT_LAND,
  WIDTH_TAPER,
  OVERHANG,
  END_BOW,
  BUSH_POST,
  TUNER_PITCH,
  TUNER_ROWS,
  TUNER_FIRST,
  HEAD_DROP,
  HEEL_SCREWS,
  HEEL_SCREW_ACROSS,
  HEEL_SCREW_DEPTH,
  HEEL_THICKNESS,
  ROD_GLUED,
  ROD_SPAN,
  ROD_HEIGHT,
  ROD_FACE_DEPTH,
  ROD_ACCESS,
  BLANK_THICK,
  BLANK_THICK_WASTE,
  BLANK_BOARD,
  BLANK_LENGTH,
  BLANK_WIDTH,
  HOLD_BLOCK,
  CUT_SCRIBE,
  CUT_RELEASE,
  CUSP_ROUGH,
  WOOD_KNOWN,
  OVERRIDE_RULE,
  CLIMATE_SWING,
  SHOP_NUMBERS,
  SHOP_BED,
  SHOP_SPINDLE,
  SHOP_RAPID,
  SHOP_APPROACH,
  SHOP_CURVE,
  CUTTER_CORNER,
  CUTTER_TIP,
  CUTTER_FLUTE,
  CUTTER_CHIP,
  CUTTER_DEPTH,
  CUTTER_HOLDER,
  CUTTER_SPEED,
  CUTTER_TIP_CONE,
];
