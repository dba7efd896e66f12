import { type ReactElement, useEffect, useRef, useState } from "react";
import { type Json, shownValue } from "./document.ts";
import { ORDER } from "./order-schema.ts";
import { titleOf } from "./schema.ts";
import { useNames, useSay } from "./settings.tsx";
import type { Theirs } from "./state.ts";

export type Keep = "mine" | "theirs";

/** Two windows or devices changed the same values: both are shown, and for each value the person says which one holds. */
export function Conflict(p: {
  readonly theirs: Theirs;
  readonly file: Json;
  readonly settle: (keep: readonly Keep[]) => void;
}): ReactElement {
  const say = useSay();
  const name = useNames();
  const dialog = useRef<HTMLDialogElement>(null);
  const { clashes } = p.theirs;
  const [keep, setKeep] = useState<readonly Keep[]>(() => clashes.map(() => "mine"));
  const [away, setAway] = useState(false);
  useEffect(() => {
    if (!away) dialog.current?.showModal();
  }, [away]);
  const value = (v: Json | undefined): string => (v === undefined ? say("notThere") : shownValue(v));
  if (away)
    return (
      <div className="conflict" role="alert">
        <p>{say("conflict")}</p>
        <button type="button" onClick={() => setAway(false)}>
          {say("conflictChoose")}
        </button>
      </div>
    );
  return (
    <dialog ref={dialog} className="choice" aria-labelledby="conflict-title" onClose={() => setAway(true)}>
      <h2 id="conflict-title">{say("conflict")}</h2>
      <p>{say("conflictHelp")}</p>
      <form
        onSubmit={(e) => {
          e.preventDefault();
          p.settle(keep);
        }}
      >
        {clashes.map((c, k) => (
          <fieldset key={c.path.join(".")}>
            <legend>{c.path.length === 0 ? say("order") : titleOf(ORDER, c.path, p.file).map(name).join(", ")}</legend>
            {c.base !== undefined && <p className="why">{say("conflictWas", value(c.base))}</p>}
            {(["mine", "theirs"] as const).map((whose) => (
              <label key={whose}>
                <input
                  type="radio"
                  name={`clash-${k}`}
                  checked={keep[k] === whose}
                  onChange={() => setKeep(keep.map((v, j) => (j === k ? whose : v)))}
                />{" "}
                {say(whose === "mine" ? "conflictMine" : "conflictTheirs", value(c[whose]))}
              </label>
            ))}
          </fieldset>
        ))}
        <div className="row">
          <button type="submit" className="main">
            {say("conflictSave")}
          </button>
          <button type="button" onClick={() => p.settle(clashes.map(() => "mine"))}>
            {say("keepMine")}
          </button>
          <button type="button" onClick={() => p.settle(clashes.map(() => "theirs"))}>
            {say("takeTheirs")}
          </button>
          <button type="button" onClick={() => dialog.current?.close()}>
            {say("conflictLater")}
          </button>
        </div>
      </form>
    </dialog>
  );
}
