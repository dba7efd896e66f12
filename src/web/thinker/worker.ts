import { type Figure, figuresOf, type Holding, liveOf, parseShop } from "../../job/live.ts";
import type { Finding } from "../../units/index.ts";

/* The thread that checks an order while it is changed: design rules, holding, figures. */

export interface ThoughtAsk {
  readonly turn: number;
  readonly file: unknown;
  readonly shop: string | null;
  readonly drawing: Uint8Array | null;
}

export interface Thought {
  readonly turn: number;
  readonly findings: readonly Finding[];
  readonly sound: boolean;
  readonly overridden: readonly string[];
  readonly holding: Holding | null;
  readonly figures: readonly Figure[];
}

const scope = globalThis as unknown as {
  onmessage: ((e: { readonly data: ThoughtAsk }) => void) | null;
  postMessage: (thought: Thought) => void;
};

scope.onmessage = ({ data }) => {
  const shop = data.shop === null ? null : (parseShop(data.shop).value ?? null);
  const live = liveOf(data.file, shop, data.drawing);
  scope.postMessage({
    turn: data.turn,
    findings: live.findings,
    sound: live.sound,
    overridden: live.order?.overrides.map((o) => o.rule) ?? [],
    holding: live.holding,
    figures: live.neck === null ? [] : figuresOf(live.neck).figures,
  });
};
