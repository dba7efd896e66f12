import { type BlankPlacement, bestInBlank } from "../../job/blank.ts";
import { liveOf } from "../../job/live.ts";

/* The thread that looks for the best place of a neck in its blank. */

export interface PlaceAsk {
  readonly file: unknown;
  readonly drawing: Uint8Array | null;
  /** Without turning it off the datum edge. */
  readonly along: boolean;
}

export type PlaceAnswer = { readonly best: BlankPlacement } | { readonly says: string };

const scope = globalThis as unknown as {
  onmessage: ((e: { readonly data: PlaceAsk }) => void) | null;
  postMessage: (answer: PlaceAnswer) => void;
};

scope.onmessage = ({ data }) => {
  try {
    const { neck, findings } = liveOf(data.file, null, data.drawing);
    scope.postMessage(neck === null ? { says: findings[0]?.says ?? "" } : { best: bestInBlank(neck, data.along) });
  } catch (error) {
    scope.postMessage({ says: error instanceof Error ? error.message : String(error) });
  }
};
