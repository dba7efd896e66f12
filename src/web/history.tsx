import { memo, type ReactElement, useMemo, useState } from "react";
import { figuresOf, type Neck } from "../job/live.ts";
import { type Change, changeText, type Doc, differences, goTo, type Json, nameState, redo, undo } from "./document.ts";
import { useNames, useSay } from "./settings.tsx";

/** Changes in words: each is said once, however often the list is drawn. */
const said = new WeakMap<Change, string>();
function saidOf(c: Change): string {
  const known = said.get(c);
  if (known !== undefined) return known;
  const text = changeText(c);
  said.set(c, text);
  return text;
}

interface StepProps {
  readonly at: number;
  readonly label: string;
  readonly place: "before" | "here" | "undone";
  readonly edit: (f: (d: Doc) => Doc) => void;
}

/** One state of the list, gone to by one press. */
const Step: React.MemoExoticComponent<(p: StepProps) => ReactElement> = memo(function Step(p: StepProps): ReactElement {
  return (
    <li aria-current={p.place === "here" ? "step" : undefined} className={p.place === "undone" ? "undone" : ""}>
      <button type="button" className="finding" onClick={() => p.edit((d) => goTo(d, p.at))}>
        {p.label}
      </button>
    </li>
  );
});

const Choice: React.MemoExoticComponent<(p: { readonly at: number; readonly label: string }) => ReactElement> = memo(function Choice(p: {
  readonly at: number;
  readonly label: string;
}): ReactElement {
  return <option value={p.at}>{p.label}</option>;
});

interface HistoryProps {
  readonly doc: Doc;
  readonly edit: (f: (d: Doc) => Doc) => void;
  /** The state that this one is held against, by how many changes had been done; it is drawn over this one. */
  readonly beside: number | null;
  readonly setBeside: (at: number | null) => void;
  readonly necks: { readonly now: Neck; readonly beside: Neck } | null;
}

/** Every change so far, gone back to by one press; names for states; what differs from another state. */
export const History: React.MemoExoticComponent<(p: HistoryProps) => ReactElement> = memo(function History(p: HistoryProps): ReactElement {
  const say = useSay();
  const [name, setName] = useState("");
  const { doc, beside, setBeside } = p;
  const all = doc.done.length + doc.undone.length;
  const label = (at: number): string =>
    doc.named.find((n) => n.at === at)?.name ??
    (at === 0 ? say("asOpened") : saidOf(at <= doc.done.length ? doc.done[at - 1] : doc.undone[all - at]));
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
          <Step
            key={at}
            at={at}
            label={label(at)}
            place={at === doc.done.length ? "here" : at > doc.done.length ? "undone" : "before"}
            edit={p.edit}
          />
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
            <Choice key={at} at={at} label={label(at)} />
          ))}
        </select>
      </label>
      {beside !== null && beside <= all && (
        <>
          <p className="why">{say("besideHelp")}</p>
          <Differences from={goTo(doc, beside).file} to={doc.file} />
          {p.necks !== null && <FigureDifferences from={p.necks.beside} to={p.necks.now} />}
        </>
      )}
    </section>
  );
});

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

/** Figures that come out differently, the larger changes first. */
function FigureDifferences(p: { readonly from: Neck; readonly to: Neck }): ReactElement {
  const say = useSay();
  const name = useNames();
  const rows = useMemo(() => {
    const before = new Map(figuresOf(p.from).figures.map((f) => [f.id, f]));
    return figuresOf(p.to)
      .figures.flatMap((f) => {
        const b = before.get(f.id);
        const by = b === undefined ? 0 : Math.abs(f.value - b.value) / Math.max(1e-9, Math.abs(f.value), Math.abs(b.value));
        return b === undefined || by < 1e-4 ? [] : [{ f, b, by }];
      })
      .sort((x, y) => y.by - x.by)
      .slice(0, 12);
  }, [p.from, p.to]);
  if (rows.length === 0) return <p className="why">{say("sameFigures")}</p>;
  return (
    <table>
      <caption>{say("figures")}</caption>
      <tbody>
        {rows.map(({ f, b }) => (
          <tr key={f.id}>
            <th scope="row">{name(f.what)}</th>
            <td className="number">
              {b.value.toPrecision(4)} → {f.value.toPrecision(4)} {f.unit}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
