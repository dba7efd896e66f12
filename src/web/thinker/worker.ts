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
  readonly findings: readonly Finding[];
  readonly sound: boolean;
  readonly overridden: readonly string[];
  readonly holding: Holding | null;
  readonly figures: readonly Figure[];
}

/** Findings and holding are left out where they are those of the answer before. */
export interface ThoughtAnswer extends Omit<Thought, "findings" | "holding"> {
  readonly turn: number;
  readonly findings?: readonly Finding[];
  readonly holding?: Holding | null;
}

const scope = globalThis as unknown as {
  onmessage: ((e: { readonly data: ThoughtAsk }) => void) | null;
  postMessage: (answer: ThoughtAnswer) => void;
};

let shop: ShopSpec | null = null;
let drawing: Uint8Array | null = null;
const said = { findings: "", holding: "" };

/** Whether this is other than what was said last. */
function news(what: keyof typeof said, value: unknown): boolean {
  const text = JSON.stringify(value);
  const other = text !== said[what];
  said[what] = text;
  return other;
}

scope.onmessage = ({ data }) => {
  if (data.beside !== undefined) {
    shop = data.beside.shop === null ? null : (parseShop(data.beside.shop).value ?? null);
    ({ drawing } = data.beside);
  }
  const live = liveOf(data.file, shop, drawing);
  scope.postMessage({
    turn: data.turn,
    ...(news("findings", live.findings) ? { findings: live.findings } : {}),
    ...(news("holding", live.holding) ? { holding: live.holding } : {}),
    sound: live.sound,
    overridden: live.order?.overrides.map((o) => o.rule) ?? [],
    figures: live.neck === null ? [] : figuresOf(live.neck).figures,
  });
};
