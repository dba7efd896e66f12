import { useCallback, useEffect, useRef, useState } from "react";
import { merge } from "../store/merge.ts";
import { type Clash, type Joined, joinOrder, type Opened, openOrder, openShop, readShelf, type Shelf, saveOrder, saveShop } from "./api.ts";
import { becoming, type Doc, differences, fileText, type Json, openDoc, withValue } from "./document.ts";
import { early } from "./early.ts";

export type Saving = "saved" | "saving" | "away" | "conflict";

/** What the server holds instead of what was sent, and where the two cannot be put together. */
export interface Theirs {
  readonly mark: string;
  /** What was sent. */
  readonly sent: Json;
  /** Both put together, theirs where they clash. */
  readonly together: Json;
  readonly clashes: readonly Clash[];
}

export interface Open {
  readonly name: string;
  readonly doc: Doc;
  /** Content that the server holds. */
  readonly mark: string;
  readonly saving: Saving;
  /** A value is being dragged: what is drawn follows it, and is drawn in full when it rests. */
  readonly moving: boolean;
  /** What the server holds instead, when it was changed elsewhere. */
  readonly theirs: Theirs | null;
}

export interface OpenShop {
  readonly name: string;
  readonly text: string;
  /** Content that the server holds. */
  readonly mark: string;
}

export interface BenchState {
  readonly shelf: Shelf | null;
  readonly failure: string | null;
  readonly open: Open | null;
  readonly shop: OpenShop | null;
}

export interface BenchActions {
  readonly choose: (order: string) => Promise<void>;
  readonly chooseShop: (name: string | null) => Promise<void>;
  /** Changes the shop's text and saves it; when it was changed elsewhere meanwhile, that text is changed instead. Rejects with a sentence. */
  /** Reads the lists of orders and shops again, and what is open of them. */
  readonly reload: () => Promise<void>;
  readonly changeShop: (f: (text: string) => string) => Promise<void>;
  /** `moving`: one of the many changes of a drag. */
  readonly edit: (f: (doc: Doc) => Doc, moving?: boolean) => void;
  /** Says of each clash which value holds. */
  readonly settle: (keep: readonly ("mine" | "theirs")[]) => void;
}

/** Quiet time after a change before it is sent. */
const SETTLE_MS = 500;
const RETRY_MS = 3000;
/** A value that was dragged and has not moved for this long rests. */
const REST_MS = 250;
const KEY = (name: string): string => `neckwright-unsent-${name}`;

const TRIED = (name: string): string => `neckwright-tried-${name}`;

/** Texts kept that were sent and never answered, at most. */
const MOST_TRIED = 12;

/**
 * Texts that were sent and not yet answered: when the server died after writing one of them, what it then holds is ours, not somebody else's
 * change, however much was changed here since.
 */
const tried = {
  add: (name: string, text: string): void => {
    try {
      const kept = tried.get(name).filter((t) => t !== text);
      localStorage.setItem(TRIED(name), JSON.stringify([...kept, text].slice(-MOST_TRIED)));
    } catch {
      // then a save that was never answered looks like a change from elsewhere, and is asked about
    }
  },
  get: (name: string): readonly string[] => {
    try {
      const kept = JSON.parse(localStorage.getItem(TRIED(name)) ?? "[]") as unknown;
      return Array.isArray(kept) ? kept.filter((t) => typeof t === "string") : [];
    } catch {
      return [];
    }
  },
  drop: (name: string): void => {
    try {
      localStorage.removeItem(TRIED(name));
    } catch {
      // nothing was kept
    }
  },
};

/** What is not on the server yet stays with the browser, so that a reload or a server that is away loses nothing. */
const unsent = {
  put: (name: string, text: string, base: string): void => {
    try {
      localStorage.setItem(KEY(name), JSON.stringify({ text, base }));
    } catch {
      // a browser that keeps nothing: the change is still on the screen
    }
  },
  take: (name: string): { text: string; base: string } | null => {
    try {
      return JSON.parse(localStorage.getItem(KEY(name)) ?? "null") as { text: string; base: string } | null;
    } catch {
      return null;
    }
  },
  drop: (name: string): void => {
    try {
      localStorage.removeItem(KEY(name));
    } catch {
      // nothing was kept
    }
  },
};

/** What was changed here since `sent`, on top of what came back instead of it; in one place what is here holds. */
function onTopOf(sent: Json, here: Json, back: Json): Json {
  const both = merge(sent, here, back);
  return both.clashes.reduce<Json>((file, c) => withValue(file, c.path, c.mine) ?? {}, both.value ?? {});
}

/** Without the version that both started from, every difference is a clash. */
function theirsOf(sent: Json, c: Opened & { readonly clashes?: readonly Clash[]; readonly together?: string }): Theirs {
  const theirs = JSON.parse(c.text) as Json;
  const all = (): readonly Clash[] =>
    differences(theirs, sent).map((d) => ({ path: d.path.map(String), base: undefined, mine: d.after, theirs: d.before }));
  return {
    mark: c.mark,
    sent,
    together: c.together === undefined ? theirs : (JSON.parse(c.together) as Json),
    clashes: c.clashes ?? all(),
  };
}

export function useBench(): readonly [BenchState, BenchActions] {
  const [state, setState] = useState<BenchState>({ shelf: null, failure: null, open: null, shop: null });
  const latest = useRef(state);
  latest.current = state;
  const timer = useRef<ReturnType<typeof setTimeout> | null>(null);
  const sending = useRef(false);

  const patchOpen = useCallback((name: string, part: Partial<Open>): void => {
    // at once, not when it is drawn: the next save may begin before that, and with an old mark our own save would look like another's
    const now = latest.current;
    if (now.open?.name === name) latest.current = { ...now, open: { ...now.open, ...part } };
    setState((s) => (s.open?.name === name ? { ...s, open: { ...s.open, ...part } } : s));
  }, []);

  const send = useCallback(async (): Promise<void> => {
    const open = latest.current.open;
    if (open === null || sending.current || open.theirs !== null) return;
    const text = fileText(open.doc.file);
    sending.current = true;
    let again: number | null = null;
    try {
      const before = tried.get(open.name);
      tried.add(open.name, text);
      let saved: Joined = await saveOrder(open.name, text, open.mark);
      if ("conflict" in saved)
        saved = [...before, text].includes(saved.conflict.text)
          ? await saveOrder(open.name, text, saved.conflict.mark)
          : await joinOrder(open.name, text, open.mark);
      if ("conflict" in saved) patchOpen(open.name, { saving: "conflict", theirs: theirsOf(open.doc.file, saved.conflict) });
      else if (saved.text !== undefined) {
        const { mark } = saved;
        const joined = JSON.parse(saved.text) as Json;
        tried.drop(open.name);
        setState((s) => {
          if (s.open?.name !== open.name) return s;
          const doc = becoming(s.open.doc, onTopOf(open.doc.file, s.open.doc.file, joined));
          return { ...s, open: { ...s.open, doc, mark } };
        });
        // what was changed here meanwhile, or nothing at all, is saved on top of it
        again = 0;
      } else {
        tried.drop(open.name);
        const now = latest.current.open;
        const behind = now?.name === open.name && fileText(now.doc.file) !== text;
        if (behind) again = 0;
        else unsent.drop(open.name);
        patchOpen(open.name, { mark: saved.mark, saving: behind ? "saving" : "saved" });
      }
    } catch {
      patchOpen(open.name, { saving: "away" });
      again = RETRY_MS;
    } finally {
      sending.current = false;
    }
    if (again !== null) timer.current = setTimeout(() => void send(), again);
  }, [patchOpen]);

  const lay = useCallback(
    (name: string, opened: Opened): void => {
      let doc = openDoc(JSON.parse(opened.text) as Json);
      const kept = unsent.take(name);
      let saving: Saving = "saved";
      if (kept !== null && kept.text !== opened.text) {
        doc = becoming(doc, JSON.parse(kept.text) as Json);
        saving = "saving";
      }
      setState((s) => ({
        ...s,
        open: { name, doc, mark: kept !== null && saving === "saving" ? kept.base : opened.mark, saving, moving: false, theirs: null },
      }));
      if (saving === "saving") timer.current = setTimeout(() => void send(), SETTLE_MS);
      location.hash = encodeURIComponent(name);
    },
    [send],
  );
  // while a value moves it is neither written down nor drawn in full; that is done when it rests, or the page goes
  const resting = useRef<ReturnType<typeof setTimeout> | null>(null);
  const rest = useCallback((): void => {
    if (resting.current === null) return;
    clearTimeout(resting.current);
    resting.current = null;
    const { open } = latest.current;
    if (open?.moving === true) unsent.put(open.name, fileText(open.doc.file), open.mark);
    setState((s) => (s.open?.moving === true ? { ...s, open: { ...s.open, moving: false } } : s));
  }, []);
  useEffect(() => {
    globalThis.addEventListener("pagehide", rest);
    return () => globalThis.removeEventListener("pagehide", rest);
  }, [rest]);
  const choose = useCallback(
    async (name: string): Promise<void> => {
      rest();
      // what is not sent yet is, while its order is still the one that is open; without the server it stays with the browser
      if (latest.current.open?.saving === "saving") await send();
      lay(name, await openOrder(name));
    },
    [lay, rest, send],
  );

  const chooseShop = useCallback(async (name: string | null): Promise<void> => {
    if (name === null) return setState((s) => ({ ...s, shop: null }));
    const { text, mark } = await openShop(name);
    setState((s) => ({ ...s, shop: { name, text, mark } }));
  }, []);

  const reload = useCallback(async (): Promise<void> => {
    const shelf = await readShelf();
    setState((s) => ({ ...s, shelf }));
    const { shop } = latest.current;
    if (shop !== null) await chooseShop(shop.name);
    // what is open is looked at again as when somebody comes back to the window
    globalThis.dispatchEvent(new Event("focus"));
  }, [chooseShop]);

  const changeShop = useCallback(async (f: (text: string) => string): Promise<void> => {
    let now: OpenShop | null = latest.current.shop;
    while (now !== null) {
      const from: OpenShop = now;
      const text = f(from.text);
      const saved = await saveShop(from.name, text, from.mark);
      const next: OpenShop = "conflict" in saved ? { name: from.name, ...saved.conflict } : { name: from.name, text, mark: saved.mark };
      setState((s) => (s.shop?.name === from.name ? { ...s, shop: next } : s));
      now = "conflict" in saved ? next : null;
    }
  }, []);

  const edit = useCallback(
    (f: (doc: Doc) => Doc, moving = false): void => {
      if (!moving) rest();
      setState((s) => {
        if (s.open === null) return s;
        const doc = f(s.open.doc);
        if (doc === s.open.doc) return s;
        if (!moving && doc.file !== s.open.doc.file) unsent.put(s.open.name, fileText(doc.file), s.open.mark);
        return { ...s, open: { ...s.open, doc, moving, saving: s.open.theirs === null ? "saving" : "conflict" } };
      });
      if (moving) {
        if (resting.current !== null) clearTimeout(resting.current);
        resting.current = setTimeout(rest, REST_MS);
      }
      if (timer.current !== null) clearTimeout(timer.current);
      timer.current = setTimeout(() => void send(), SETTLE_MS);
    },
    [send, rest],
  );

  const settle = useCallback(
    (keep: readonly ("mine" | "theirs")[]): void => {
      const open = latest.current.open;
      if (open?.theirs == null) return;
      const { theirs } = open;
      const resolved = theirs.clashes.reduce<Json>(
        (file, c, k) => (keep[k] === "mine" ? (withValue(file, c.path, c.mine) ?? {}) : file),
        theirs.together,
      );
      const file = onTopOf(theirs.sent, open.doc.file, resolved);
      const doc = becoming(open.doc, file);
      setState((s) => ({ ...s, open: { ...open, doc, mark: theirs.mark, theirs: null, saving: "saving" } }));
      timer.current = setTimeout(() => void send(), 0);
    },
    [send],
  );

  useEffect(() => {
    const begin = async (): Promise<void> => {
      try {
        const { shelf, order, shop } = await early();
        setState((s) => ({ ...s, shelf, shop: shop === null ? null : { name: shop.name, ...shop.opened } }));
        if (order !== null) lay(order.name, order.opened);
      } catch (e) {
        setState((s) => ({ ...s, failure: e instanceof Error ? e.message : String(e) }));
      }
    };
    void begin();
    return () => {
      if (timer.current !== null) clearTimeout(timer.current);
    };
  }, [lay]);

  // another device may have changed the order while nobody looked here
  useEffect(() => {
    const look = async (): Promise<void> => {
      const open = latest.current.open;
      if (open === null || open.saving !== "saved" || sending.current) return;
      const now = await openOrder(open.name).catch(() => null);
      if (now === null || now.mark === open.mark) return;
      setState((s) => {
        // changed here meanwhile: the save finds out
        if (s.open?.doc !== open.doc || s.open.mark !== open.mark) return s;
        return { ...s, open: { ...s.open, doc: becoming(s.open.doc, JSON.parse(now.text) as Json), mark: now.mark } };
      });
    };
    const listen = (): void => void look();
    globalThis.addEventListener("focus", listen);
    return () => globalThis.removeEventListener("focus", listen);
  }, []);

  return [state, { choose, chooseShop, changeShop, reload, edit, settle }];
}
