import { type Figure, figuresOf, type Holding, liveOf, parseShop, type ShopSpec } from "../../job/live.ts";
import type { Finding } from "../../units/index.ts";

/* The thread that checks an order while it is changed: design rules, holding, figures. */

/** What an order is checked against; sent when it changes, and holds until then. */
export interface Beside {
  readonly shop: string | null;
  readonly drawing: Uint8Array | null;
}

export interface ThoughtAsk {
  readonly turn: number;
  readonly file: unknown;
  readonly beside?: Beside;
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

let shop: ShopSpec | null = null;
let drawing: Uint8Array | null = null;

scope.onmessage = ({ data }) => {
  if (data.beside !== undefined) {
    shop = data.beside.shop === null ? null : (parseShop(data.beside.shop).value ?? null);
    ({ drawing } = data.beside);
  }
  const live = liveOf(data.file, shop, drawing);
  scope.postMessage({
    turn: data.turn,
    findings: live.findings,
    sound: live.sound,
    overridden: live.order?.overrides.map((o) => o.rule) ?? [],
    holding: live.holding,
    figures: live.neck === null ? [] : figuresOf(live.neck).figures,
  });
};
