import { type ReactElement, useCallback, useEffect, useState } from "react";
import { type Head, listVersions, openVersion, readRow, writeRow } from "./api.ts";
import { differences, type Json, shownValue } from "./document.ts";
import { ORDER } from "./order-schema.ts";
import { Heads, Refused, sentence } from "./parts.tsx";
import { titleOf } from "./schema.ts";
import { useNames, useSay } from "./settings.tsx";

/** So many at once; older ones when they are asked for. */
const AT_ONCE = 50;

/** Two states held against each other: `beside` is drawn dashed over `shown`. Null: the order as it is. */
export interface Laid {
  readonly beside: Json;
  readonly shown: Json | null;
}

type Names = { readonly [version: string]: string };

/** Every version of the order that the shop's memory has: named, opened, two of them side by side. */
export function HistoryPage(p: {
  readonly order: string;
  readonly file: Json;
  readonly mark: string;
  /** Takes a version as the order's next state: one step that can be undone. */
  readonly take: (file: Json) => void;
  readonly lay: (laid: Laid | null) => void;
}): ReactElement {
  const say = useSay();
  const name = useNames();
  const [heads, setHeads] = useState<readonly Head[]>([]);
  const [more, setMore] = useState(false);
  const [names, setNames] = useState<Names>({});
  const [refusal, setRefusal] = useState("");
  const [pair, setPair] = useState<{ readonly a: number | null; readonly b: number | null }>({ a: null, b: null });
  const [files, setFiles] = useState<{ readonly a: Json | null; readonly b: Json | null }>({ a: null, b: null });
  const fail = useCallback((e: unknown): void => setRefusal(sentence(e)), []);

  const read = useCallback(
    async (before?: number): Promise<void> => {
      const got = await listVersions(p.order, AT_ONCE, before);
      setMore(got.length === AT_ONCE);
      setHeads((old) => (before === undefined ? got : [...old, ...got]));
    },
    [p.order],
  );
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when the server has another version
  useEffect(() => {
    read().catch(fail);
    readRow("names", p.order).then((row) => setNames(row === null ? {} : (JSON.parse(row.text) as { names: Names }).names), fail);
  }, [p.order, p.mark, read, fail]);

  const { lay } = p;
  useEffect(() => {
    let gone = false;
    const of = async (v: number | null): Promise<Json | null> =>
      v === null ? null : (JSON.parse((await openVersion(p.order, v)).text) as Json);
    Promise.all([of(pair.a), of(pair.b)]).then(([a, b]) => {
      if (!gone) setFiles({ a, b });
    }, fail);
    return () => {
      gone = true;
    };
  }, [p.order, pair, fail]);
  useEffect(() => {
    lay(files.a === null ? null : { beside: files.a, shown: files.b });
    return () => lay(null);
  }, [files, lay]);

  const called = (v: number): string => names[String(v)] ?? "";
  const label = (h: Head): string => `${h.version}${called(h.version) === "" ? "" : `, ${called(h.version)}`}`;
  const rename = (v: number, text: string): void => {
    const next = Object.fromEntries([
      ...Object.entries(names).filter(([k]) => k !== String(v)),
      ...(text === "" ? [] : [[String(v), text]]),
    ]);
    setNames(next);
    writeRow("names", p.order, JSON.stringify({ names: next })).catch(fail);
  };
  return (
    <>
      <p className="why">{say("versionsHelp")}</p>
      <Refused says={refusal} />
      <div className="row">
        {(["a", "b"] as const).map((side) => (
          <label key={side}>
            {say(side === "a" ? "compareThis" : "compareWith")}{" "}
            <select
              value={pair[side] ?? ""}
              onChange={(e) => setPair({ ...pair, [side]: e.target.value === "" ? null : Number(e.target.value) })}
            >
              <option value="">{say(side === "a" ? "nothingYet" : "asItIs")}</option>
              {heads
                .filter((h) => !h.removed)
                .map((h) => (
                  <option key={h.version} value={h.version}>
                    {label(h)}
                  </option>
                ))}
            </select>
          </label>
        ))}
      </div>
      {files.a !== null && (
        <>
          <p className="why">{say("besideHelp")}</p>
          <SideBySide
            a={files.a}
            b={files.b ?? p.file}
            heads={[pair.a === null ? "" : say("version", pair.a), pair.b === null ? say("asItIs") : say("version", pair.b)]}
          />
        </>
      )}
      <table className="versions">
        <caption>{say("versions")}</caption>
        <thead>
          <tr>
            <th scope="col">{say("versionNumber")}</th>
            <th scope="col">{say("when")}</th>
            <th scope="col">{say("byWhom")}</th>
            <th scope="col">{say("versionName")}</th>
            <th scope="col">
              <span className="unseen">{say("take")}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {heads.map((h) => (
            <tr key={h.version} aria-current={h.mark === p.mark ? "true" : undefined}>
              <th scope="row">{h.version}</th>
              <td>{h.at.slice(0, 16).replace("T", " ")}</td>
              <td>{name(h.by)}</td>
              <td>
                <NameField
                  key={called(h.version)}
                  label={say("nameOf", h.version)}
                  value={called(h.version)}
                  set={(text) => rename(h.version, text)}
                />
              </td>
              <td>
                {h.removed ? (
                  say("wasRemoved")
                ) : h.mark === p.mark ? (
                  say("asItIs")
                ) : (
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("bringBack")}: ${label(h)}`}
                    onClick={() => openVersion(p.order, h.version).then((v) => p.take(JSON.parse(v.text) as Json), fail)}
                  >
                    {say("bringBack")}
                  </button>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {more && (
        <button type="button" onClick={() => void read(heads.at(-1)?.version).catch(fail)}>
          {say("olderVersions")}
        </button>
      )}
    </>
  );
}

function NameField(p: { readonly label: string; readonly value: string; readonly set: (text: string) => void }): ReactElement {
  const [typed, setTyped] = useState(p.value);
  const finish = (): void => {
    if (typed.trim() !== p.value) p.set(typed.trim().slice(0, 80));
  };
  return (
    <input
      aria-label={p.label}
      value={typed}
      maxLength={80}
      size={18}
      onChange={(e) => setTyped(e.target.value)}
      onBlur={finish}
      onKeyDown={(e) => e.key === "Enter" && finish()}
    />
  );
}

/** What differs, value by value, both beside each other. */
function SideBySide(p: { readonly a: Json; readonly b: Json; readonly heads: readonly [string, string] }): ReactElement {
  const say = useSay();
  const name = useNames();
  const rows = differences(p.a, p.b);
  const value = (v: Json | undefined): string => (v === undefined ? "–" : shownValue(v));
  if (rows.length === 0) return <p role="status">{say("sameOrders")}</p>;
  return (
    <table>
      <Heads names={[say("value"), ...p.heads]} />
      <tbody>
        {rows.map((c) => (
          <tr key={c.path.join(".")}>
            <th scope="row">{titleOf(ORDER, c.path, p.b).map(name).join(", ")}</th>
            <td className="number">{value(c.before)}</td>
            <td className="number">{value(c.after)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
