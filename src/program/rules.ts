import type { Rule } from "../units/index.ts";

const stop = (id: string, says: string): Rule => ({ id, severity: "stop", says });

export const PR_LINES: Rule = stop("PR-001", "A program is printable ASCII with LF line ends and no line longer than 256 characters.");
export const PR_COMMENTS: Rule = stop(
  "PR-002",
  "Comments are closed on their line, never nested, never an active message, and free of characters a controller obeys.",
);
export const PR_HEADER: Rule = stop(
  "PR-003",
  "The header names program, order, hash, side, cutter, stick-out, zero, safe height, bounds, time, cautions and every cut.",
);
export const PR_WORDS: Rule = stop(
  "PR-004",
  "Every word belongs to the dialect, and no two G or M words of one modal group stand on a line.",
);
export const PR_NUMBERS: Rule = stop(
  "PR-005",
  "Lengths are plain decimals with as many decimals as asked, at least four, and never minus zero.",
);
export const PR_MODES: Rule = stop(
  "PR-006",
  "Units, distance, feed mode, plane, compensation, work offset and path mode are stated before the first motion.",
);
export const PR_FIRST: Rule = stop("PR-007", "The first motion is a rapid in z alone to the safe height or above.");
export const PR_CUTTER: Rule = stop(
  "PR-008",
  "A dialect with a tool table calls the program's cutter and its length offset before the first motion.",
);
export const PR_RAPID: Rule = stop("PR-009", "A rapid moves z alone or x and y alone, and x and y only at the safe height or above.");
export const PR_FEED: Rule = stop("PR-010", "Before a feed move the feed is stated and the spindle turns at the cut's speed.");
export const PR_ARC: Rule = stop(
  "PR-011",
  "An arc ends elsewhere than it began, turns at most half a turn, and its two radii agree within 0.002 mm.",
);
export const PR_BOUNDS: Rule = stop("PR-012", "The bounds of the text, of its header and of its moves agree within 0.001 mm.");
export const PR_CUTS: Rule = stop("PR-013", "Every cut is announced by a comment before its first move, in the order of work.");
export const PR_END: Rule = stop("PR-014", "A program ends at the safe height with the spindle stopped, and nothing follows M2.");

export const PR_RULES: readonly Rule[] = [
  PR_LINES,
  PR_COMMENTS,
  PR_HEADER,
  PR_WORDS,
  PR_NUMBERS,
  PR_MODES,
  PR_FIRST,
  PR_CUTTER,
  PR_RAPID,
  PR_FEED,
  PR_ARC,
  PR_BOUNDS,
  PR_CUTS,
  PR_END,
];
