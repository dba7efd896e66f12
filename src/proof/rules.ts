import type { Rule, Severity } from "../units/index.ts";
import { READER_RULES } from "./reader/index.ts";

const rule = (n: number, says: string, severity: Severity = "stop"): Rule => ({ id: `PF-${n}`, severity, says });

/* Set-up: what the job says before a program is read. */
export const RIGID: Rule = rule(201, "A side's transform is rigid: lengths and angles stay, nothing is mirrored.");
export const SIDE_UP: Rule = rule(202, "The board faces the spindle on the board side, the back on the carve side.");
export const TURN: Rule = rule(203, "Between the sides the piece is turned by half a turn about the axis that the order names.");
export const NO_SIDE: Rule = rule(204, "The job states the side that its programs and steps name, and a box of stock for it.");
export const NO_CUTTER: Rule = rule(205, "Every program is for a cutter that the job lists, of a shape that can exist.");
export const STEPS: Rule = rule(206, "Every step names a program of its side, and every program is run in exactly one step.");
export const FILLS: Rule = rule(207, "A hand step fills only features of the neck that have been cut before it.");
export const SAME_BLANK: Rule = rule(208, "Both sides show the same blank, and the neck lies in the same place of it.");
export const LIES_ELSEWHERE: Rule = rule(209, "The neck lies in its blank where the order says, and turned in it as far as it says.");

/* What a program asks of the machine. */
export const CUTTER_CHANGE: Rule = rule(211, "A program asks for its own cutter and no other.");
export const LENGTH_OFFSET: Rule = rule(
  212,
  "A program uses the length offset of its own cutter, and asks for it where the controller keeps a table.",
);
export const SPINDLE_OFF: Rule = rule(213, "The spindle turns, clockwise, whenever the cutter moves at feed.");
export const SPINDLE_SPEED: Rule = rule(
  214,
  "The spindle turns no faster than the cutter and the machine allow, and no slower than the machine can.",
);
export const FEED_LIMIT: Rule = rule(215, "No axis is asked for more than its largest feed.", "warn");
export const TRAVEL: Rule = rule(216, "Every place of a program lies within the machine's travel.");
export const UNKNOWN_START: Rule = rule(217, "A program first raises the cutter above everything, then crosses, and only then goes down.");
export const MACHINE_PLACE: Rule = rule(218, "A program moves only to places that are measured from its zero.");
export const ORIGIN: Rule = rule(219, "A program does not shift its zero.");
export const PATH_TOLERANCE: Rule = rule(220, "The controller may round the path off by no more than 0.02 mm.");
export const OPTIONAL_LINE: Rule = rule(221, "A program does not depend on the switch for lines that begin with a slash.", "warn");
export const EMPTY_PROGRAM: Rule = rule(222, "Every program cuts something.", "warn");

/* Contact. */
export const RAPID_STOCK: Rule = rule(231, "No rapid goes through wood.");
export const RAPID_HOLDING: Rule = rule(232, "No rapid goes through a pin, block, screw, support or stop.");
export const FEED_HOLDING: Rule = rule(233, "No cutting move touches a pin, block, screw, support or stop.");
export const BED: Rule = rule(234, "The cutter's tip never goes below the bed.");
export const SHANK_STOCK: Rule = rule(235, "Wood beside the cutter never reaches above its flutes.");
export const HOLDER_STOCK: Rule = rule(236, "The holder never touches wood.");

/* What is left. */
export const GOUGE: Rule = rule(241, "Nowhere is the finished surface cut more than 0.010 mm below the neck.");
export const LEFT_OVER: Rule = rule(242, "Nowhere is more left on the finished surface than the cut's own cusp and 0.02 mm.");
export const NOT_FINISHED: Rule = rule(243, "Every kind of surface of the neck is compared in at least one place.");
export const OUTLINE: Rule = rule(244, "The walls of the outline stand within 0.02 mm of the plan.");
export const OUTLINE_MISSING: Rule = rule(245, "The outline is cut all around, from one side or the other.");
export const FRET_PROGRAM: Rule = rule(251, "In the program, every fret slot's centreline lies within 0.005 mm of the exact position.");
export const FRET_PLACE: Rule = rule(252, "What is left of the wood shows every fret slot within 0.02 mm of the exact position.");
export const FRET_SHAPE: Rule = rule(253, "Every fret slot has its width, depth and ends within their tolerance.");
export const FRET_MISSING: Rule = rule(254, "Every fret slot is cut.");
export const BORE: Rule = rule(255, "Bores stand within 0.02 mm of their place and diameter and reach their depth.");
export const RECESS: Rule = rule(256, "Marker recesses stand within 0.02 mm of their place and diameter, and their floor in its height.");
export const NUT_SEAT: Rule = rule(257, "The nut seat's walls and floor stand within 0.02 mm of their place.");
export const CHANNEL: Rule = rule(258, "The rod's channel and its access stand within 0.02 mm of their width, ends and floor.");
export const HEAD_SLOT: Rule = rule(
  246,
  "The openings of a slotted headstock stand within 0.02 mm of their width and ends and go through.",
);
export const TENON: Rule = rule(247, "A tenon's sides, shoulder and underside stand within 0.02 mm of their place.");
export const BOARD_SHAPE: Rule = rule(259, "The board's radius and crown are those of the order, within what the cusps allow.");
export const THICKNESS: Rule = rule(
  260,
  "The neck's thickness at its stations is that of the order, within the cusps and 0.02 mm each side.",
);

/* How much wood the cutter meets. */
export const ENGAGEMENT: Rule = rule(
  271,
  "No roughing cut meets more wood than was asked for it, by more than a tenth and the audit's own error.",
);

export const AGAINST_FIBRES: Rule = rule(261, "No wall of the outline is cut by edges that climb out of it against its fibres.");

export const INDEX_HOLE: Rule = rule(262, "Where a section's index pins go up into the blank, earlier programs have bored their holes.");

/* A program that goes on where another stopped. */
export const RESUME_DIFFERS: Rule = rule(263, "A resumed program leaves the wood within 0.005 mm of what the whole program leaves.");
export const RESUME_AIR: Rule = rule(264, "A resumed program goes down where the wood is cut already: its way in takes none.");

/* Several pieces on one bed. */
export const BATCH_STRAYS: Rule = rule(265, "On a bed of several pieces no cut of one takes wood of another.");
export const BATCH_DIFFERS: Rule = rule(266, "A batch's programs leave each piece within 0.005 mm of what its own proved programs leave.");

export const PF_RULES: readonly Rule[] = [
  ...READER_RULES,
  RIGID,
  SIDE_UP,
  TURN,
  NO_SIDE,
  NO_CUTTER,
  STEPS,
  FILLS,
  SAME_BLANK,
  LIES_ELSEWHERE,
  CUTTER_CHANGE,
  LENGTH_OFFSET,
  SPINDLE_OFF,
  SPINDLE_SPEED,
  FEED_LIMIT,
  TRAVEL,
  UNKNOWN_START,
  MACHINE_PLACE,
  ORIGIN,
  PATH_TOLERANCE,
  OPTIONAL_LINE,
  EMPTY_PROGRAM,
  RAPID_STOCK,
  RAPID_HOLDING,
  FEED_HOLDING,
  BED,
  SHANK_STOCK,
  HOLDER_STOCK,
  GOUGE,
  LEFT_OVER,
  NOT_FINISHED,
  OUTLINE,
  OUTLINE_MISSING,
  FRET_PROGRAM,
  FRET_PLACE,
  FRET_SHAPE,
  FRET_MISSING,
  BORE,
  RECESS,
  NUT_SEAT,
  CHANNEL,
  HEAD_SLOT,
  TENON,
  BOARD_SHAPE,
  THICKNESS,
  AGAINST_FIBRES,
  ENGAGEMENT,
  INDEX_HOLE,
  RESUME_DIFFERS,
  RESUME_AIR,
  BATCH_STRAYS,
  BATCH_DIFFERS,
];
