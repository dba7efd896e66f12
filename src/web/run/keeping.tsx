import { type ReactElement, useState } from "react";
import type { Neck, ShopSpec } from "../../job/live.ts";
import { type Bare, correctedText, dated, type Entry, type Reread, rereadOrder, rereadShop } from "../../job/readings.ts";
import { fileText, type Json } from "../document.ts";
import { sentence } from "../parts.tsx";
import { useSay } from "../settings.tsx";

/* Corrections kept in the papers they belong to. */

const OF_SHOP: readonly string[] = ["axes", "cutter"];
/** The shop keeps axes and cutters, the order the rest. */
export const ofShop = (kind: string): boolean => OF_SHOP.includes(kind);

/** The papers that corrections are kept in, and how they are changed. */
export interface Papers {
  readonly file: Json;
  readonly neck: Neck;
  readonly shop: ShopSpec | null;
  readonly setOrder: (file: Json) => void;
  /** Changes the shop's text on the server; rejects with a sentence. */
  readonly changeShop: (f: (text: string) => string) => Promise<void>;
}

export const today = (): string => new Date().toISOString().slice(0, 10);

/** The list of a paper changed, by the text that is checked. */
export async function rewrite(p: Papers, inShop: boolean, next: (entries: readonly Entry[]) => readonly Entry[]): Promise<void> {
  const changed = (text: string, read: (text: string) => Reread): string =>
    correctedText(inShop ? "shop" : "order", text, next(read(text).entries ?? []), read);
  if (inShop) return p.changeShop((text) => changed(text, rereadShop));
  p.setOrder(JSON.parse(changed(fileText(p.file), rereadOrder)) as Json);
}

export const keepEntry = (p: Papers, entry: Bare<Entry>, reason: string): Promise<void> =>
  rewrite(p, ofShop(entry.kind), (all) => [...all, dated(entry, { date: today(), reason })]);

/** Keeps an entry when it is pressed, and says so or why not. */
export function KeepIt(p: {
  readonly papers: Papers;
  readonly entry: Bare<Entry>;
  readonly reason: string;
  readonly kept?: () => void;
}): ReactElement {
  const say = useSay();
  const [said, setSaid] = useState<{ readonly kept: boolean; readonly text: string } | null>(null);
  return (
    <div className="row">
      <button
        type="button"
        onClick={() => {
          keepEntry(p.papers, p.entry, p.reason).then(
            () => {
              setSaid({ kept: true, text: say("keptIt") });
              p.kept?.();
            },
            (e: unknown) => setSaid({ kept: false, text: sentence(e) }),
          );
        }}
      >
        {say("keepIt")}
      </button>
      {said !== null && (
        <span role={said.kept ? "status" : "alert"} className={said.kept ? "" : "refusal"}>
          {said.text}
        </span>
      )}
    </div>
  );
}
