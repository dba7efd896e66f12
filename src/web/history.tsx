import { type ReactElement, useState } from "react";
import { changeText, type Doc, differences, goTo, type Json, nameState, redo, undo } from "./document.ts";
import { useSay } from "./settings.tsx";

/** Every change so far, gone back to by one press; names for states; what differs from another state. */
export function History(p: { readonly doc: Doc; readonly edit: (f: (d: Doc) => Doc) => void }): ReactElement {
  const say = useSay();
  const [name, setName] = useState("");
  const [beside, setBeside] = useState<number | null>(null);
  const { doc } = p;
  const label = (at: number): string =>
    doc.named.find((n) => n.at === at)?.name ??
    (at === 0 ? say("asOpened") : changeText([...doc.done, ...doc.undone.toReversed()][at - 1]));
  const all = doc.done.length + doc.undone.length;
  return (
    <section className="history" aria-label={say("history")}>
      <h2>{say("history")}</h2>
      <div>
        <button type="button" disabled={doc.done.length === 0} onClick={() => p.edit(undo)}>
          {say("undo")}
        </button>{" "}
        <button type="button" disabled={doc.undone.length === 0} onClick={() => p.edit(redo)}>
          {say("redo")}
        </button>
      </div>
      <ol reversed>
        {Array.from({ length: all + 1 }, (_, k) => all - k).map((at) => (
          <li key={at} aria-current={at === doc.done.length ? "step" : undefined} className={at > doc.done.length ? "undone" : ""}>
            <button type="button" className="finding" onClick={() => p.edit((d) => goTo(d, at))}>
              {label(at)}
            </button>
          </li>
        ))}
      </ol>
      <form
        onSubmit={(e) => {
          e.preventDefault();
          if (name.trim() !== "") p.edit((d) => nameState(d, name.trim()));
          setName("");
        }}
      >
        <label>
          {say("versionName")} <input value={name} maxLength={60} onChange={(e) => setName(e.target.value)} />
        </label>{" "}
        <button type="submit">{say("nameVersion")}</button>
      </form>
      <label>
        {say("compare")}{" "}
        <select value={beside ?? ""} onChange={(e) => setBeside(e.target.value === "" ? null : Number(e.target.value))}>
          <option value="">–</option>
          {Array.from({ length: all + 1 }, (_, at) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: the place in the history is its name
            <option key={at} value={at}>
              {label(at)}
            </option>
          ))}
        </select>
      </label>
      {beside !== null && beside <= all && <Differences from={goTo(doc, beside).file} to={doc.file} />}
    </section>
  );
}

/** The places in which two orders differ. */
export function Differences(p: { readonly from: Json; readonly to: Json }): ReactElement {
  return (
    <ul className="differences">
      {differences(p.from, p.to).map((c) => (
        <li key={c.path.join(".")}>{changeText(c)}</li>
      ))}
    </ul>
  );
}
