import { type ReactElement, useEffect, useRef, useState } from "react";
import type { Page } from "./pages.tsx";
import { useSay } from "./settings.tsx";

const KEY = "neckwright-walked";
const STOPS: readonly Page[] = ["neck", "blank", "holding", "cuts", "proof", "sheets", "run"];

const walked = (): boolean => {
  try {
    return localStorage.getItem(KEY) !== null;
  } catch {
    return true;
  }
};

/** A short walk through the work on a first visit; it can be left at any time and begun again. */
export function Walk(p: { readonly go: (page: Page) => void }): ReactElement {
  const say = useSay();
  const [at, setAt] = useState<number | null>(() => (walked() ? null : 0));
  const box = useRef<HTMLElement>(null);
  const leave = (): void => {
    setAt(null);
    try {
      localStorage.setItem(KEY, "1");
    } catch {
      // then it is offered again next time
    }
  };
  const { go } = p;
  // biome-ignore lint/correctness/useExhaustiveDependencies: the page is turned once for each stop
  useEffect(() => {
    if (at === null || at === 0) return;
    go(STOPS[at - 1]);
    box.current?.focus();
  }, [at]);
  if (at === null)
    return (
      <button type="button" className="small" onClick={() => setAt(0)}>
        {say("walk")}
      </button>
    );
  const last = at === STOPS.length;
  return (
    <section
      ref={box}
      className="walk"
      aria-label={say("walk")}
      tabIndex={-1}
      onKeyDown={(e) => {
        if (e.key === "Escape") leave();
      }}
    >
      <p>
        {at === 0 ? say("walkWelcome") : say(`walk-${STOPS[at - 1] as "neck" | "blank" | "holding" | "cuts" | "proof" | "sheets" | "run"}`)}
      </p>
      <div className="row">
        <button type="button" onClick={() => (last ? leave() : setAt(at + 1))}>
          {say(last ? "walkEnd" : "walkNext")}
        </button>
        {!last && (
          <button type="button" className="small" onClick={leave}>
            {say("walkLeave")}
          </button>
        )}
      </div>
    </section>
  );
}
