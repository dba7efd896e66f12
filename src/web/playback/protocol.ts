import type { JobFile } from "../../job/files.ts";
import type { Block } from "../space/block.ts";
import type { Light, Tone } from "./shade.ts";

/* What the page and the thread that plays a made folder say to each other. */

export type SideName = "board" | "carve";

export interface PlayedSide {
  readonly side: SideName;
  readonly seconds: number;
  readonly neckToProgram: JobFile["sides"][number]["neckToProgram"];
  readonly map: { readonly nx: number; readonly ny: number; readonly x0: number; readonly y0: number; readonly cell: number };
  readonly bed: number;
  readonly top: number;
  readonly programs: readonly {
    readonly file: string;
    readonly from: number;
    readonly seconds: number;
    readonly cutter: { readonly number: number; readonly name: string; readonly diameter: number };
    /** Second, counted from the side's start, at which each of its cuts begins. */
    readonly cuts: readonly { readonly id: string; readonly from: number }[];
  }[];
}

export interface AtMoment {
  readonly seconds: number;
  readonly file: string;
  readonly line: number;
  readonly tip: readonly [number, number, number];
  /** Widths of the cutter from its tip up: height above the tip and radius, in mm, holder included. */
  readonly outline: readonly (readonly [number, number])[];
}

/** One program's way with what it asks, move by move; arcs come as chords. Program frame, mm. */
export interface PathSeries {
  readonly file: string;
  readonly x: Float32Array;
  readonly y: Float32Array;
  readonly z: Float32Array;
  /** 1 where the point is reached in feed. */
  readonly feed: Uint8Array;
  /** Second, from the program's start, at which the point is reached. */
  readonly t: Float32Array;
  /** Of the program's text. */
  readonly line: Uint32Array;
  /** Advance per tooth, mm. */
  readonly chip: Float32Array;
  /** Wood taken off, mm3/s. */
  readonly wood: Float32Array;
}

/** What stands above the finished surface, and what was cut below it, over the cells of a side. */
export interface LeftOver {
  /** RGBA, row 0 first. */
  readonly pixels: ArrayBuffer;
  /** mm at the dark end of the two scales. */
  readonly above: number;
  readonly below: number;
  /** Cells by height above (or, negative, below) the surface: edges between the bars, and how many lie in each. */
  readonly edges: readonly number[];
  readonly cells: readonly number[];
  readonly cell: number;
}

export type Ask =
  | { readonly kind: "open"; readonly base: string; readonly id: string; readonly cell: number }
  | { readonly kind: "seek"; readonly side: SideName; readonly seconds: number; readonly tone: Tone; readonly light: Light }
  | { readonly kind: "solid"; readonly side: SideName; readonly seconds: number; readonly step: number }
  | { readonly kind: "left"; readonly side: SideName }
  | { readonly kind: "line"; readonly side: SideName; readonly file: string; readonly line: number }
  | { readonly kind: "path"; readonly file: string };

export type Answer =
  | { readonly kind: "progress"; readonly share: number }
  | { readonly kind: "opened"; readonly sides: readonly PlayedSide[] }
  | { readonly kind: "at"; readonly side: SideName; readonly moment: AtMoment; readonly pixels: ArrayBuffer }
  | { readonly kind: "solid"; readonly side: SideName; readonly block: Block }
  | { readonly kind: "left"; readonly side: SideName; readonly left: LeftOver }
  | { readonly kind: "line"; readonly seconds: number | null }
  | { readonly kind: "path"; readonly series: PathSeries }
  | { readonly kind: "failed"; readonly says: string };
