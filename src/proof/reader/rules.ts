import type { Rule } from "../../units/index.ts";

const rule = (n: number, says: string): Rule => ({ id: `PF-${n}`, severity: "stop", says });

type Name =
  | "character"
  | "longLine"
  | "comment"
  | "number"
  | "expression"
  | "domain"
  | "parameter"
  | "letter"
  | "gCode"
  | "mCode"
  | "group"
  | "repeated"
  | "manyM"
  | "axisClash"
  | "noMotion"
  | "noAxes"
  | "noFeed"
  | "arcRadius"
  | "arcWords"
  | "arcShape"
  | "unused"
  | "range"
  | "cycle"
  | "notFollowed"
  | "lineNumber"
  | "end"
  | "machineFrame"
  | "absurd"
  | "tooMany";

/** What the reader refuses in a program's text. Numbers 101 to 199 of the proof belong to it. */
export const R: Readonly<Record<Name, Rule>> = {
  character: rule(101, "A program holds only characters that RS274/NGC knows; anything else stops the proof."),
  longLine: rule(102, "A line of a program is no longer than 256 characters."),
  comment: rule(103, "A comment is closed on its own line and holds no second opening bracket."),
  number: rule(104, "Every word carries a plain number, a parameter or an expression in square brackets."),
  expression: rule(105, "An expression is complete: brackets match, operators stand between values, functions are known."),
  domain: rule(106, "An expression has a value: no division by zero, no root or logarithm of a negative number."),
  parameter: rule(107, "A parameter's number is a whole number from 1 to 5400."),
  letter: rule(108, "Every word begins with a letter of a three-axis RS274/NGC machine."),
  gCode: rule(109, "Every G word is a code of RS274/NGC."),
  mCode: rule(110, "Every M word is a code of RS274/NGC."),
  group: rule(111, "A line holds at most one word of each modal group."),
  repeated: rule(112, "A line holds every letter but G and M at most once."),
  manyM: rule(113, "A line holds at most four M words."),
  axisClash: rule(114, "The axis words of a line are used by one code only."),
  noMotion: rule(115, "Axis words stand on a line only when some code uses them."),
  noAxes: rule(116, "A motion or offset code has the axis words it needs."),
  noFeed: rule(117, "A feed move has a feed rate, and under G93 on its own line."),
  arcRadius: rule(118, "Both ends of an arc lie at the same distance from its centre, within 0.002 mm (0.0002 in)."),
  arcWords: rule(119, "An arc has an end in its plane and either a radius or a centre offset in its plane."),
  arcShape: rule(120, "An arc given by its radius has two different ends, no farther apart than its diameter."),
  unused: rule(121, "A line holds no word that none of its codes uses."),
  range: rule(122, "Feeds, speeds, numbers of cutters and repeats lie in their range and are whole where they must be."),
  cycle: rule(123, "A canned cycle has its depth, its clearance and what its kind needs."),
  notFollowed: rule(124, "A program uses only codes that the proof can follow."),
  lineNumber: rule(125, "A line number stands first and has at most five digits."),
  end: rule(126, "A program ends with M2, M30 or the closing percent sign."),
  machineFrame: rule(127, "G53 stands with G0 or G1 only."),
  absurd: rule(128, "No coordinate lies farther than 100 m from zero."),
  tooMany: rule(130, "A program with more than 100 unreadable lines is not read to its end."),
};

export const READER_RULES: readonly Rule[] = Object.values(R);
