import type { Ink, LineKind } from "./types.ts";

/** Ink on paper. Contrast of ink, soft and accent against paper is tested (WCAG 2.2, 1.4.3: 4.5 to 1). */
export const PAPER_COLOURS: Readonly<Record<"ink" | "soft" | "accent" | "paper" | "shade", string>> = {
  ink: "#1f1b16",
  soft: "#5c554b",
  accent: "#a8321a",
  paper: "#fbf8f1",
  shade: "#eee8da",
};

/** The dark theme: chalk on slate. */
export const SLATE_COLOURS: Readonly<Record<"ink" | "soft" | "accent" | "paper" | "shade", string>> = {
  ink: "#ebe6db",
  soft: "#b3ada0",
  accent: "#f2906e",
  paper: "#21272b",
  shade: "#2f373c",
};

export const colourOf = (ink: Ink, colours: Readonly<Record<string, string>> = PAPER_COLOURS): string => colours[ink] ?? ink;

/** Width of a line of `kind` when the wide line is `group` wide (ISO 128-2: narrow to wide as 1 to 2). */
export function lineWidth(kind: LineKind, group: number): number {
  switch (kind) {
    case "heavy":
      return group * 2;
    case "wide":
      return group;
    case "hair":
      return group / 4;
    default:
      return group / 2;
  }
}

/**
 * Dash pattern in mm, empty for continuous. Lengths in line widths d after ISO 128-2: dash 12 d, gap 3 d, long dash 24 d, dot
 * half a d or less (drawn 0.5 d).
 */
export function dashes(kind: LineKind, group: number): readonly number[] {
  const d = lineWidth(kind, group);
  switch (kind) {
    case "hidden":
      return [12 * d, 3 * d];
    case "centre":
      return [24 * d, 3 * d, 0.5 * d, 3 * d];
    case "phantom":
      return [24 * d, 3 * d, 0.5 * d, 3 * d, 0.5 * d, 3 * d];
    default:
      return [];
  }
}

export const FONT_FAMILY = "DejaVu Sans, Bitstream Vera Sans, Verdana, sans-serif";
