import { type ReactElement, useEffect, useState } from "react";
import { type BroughtIn, bringArchive, dropRow, listTable, openOrder, openShop, readRow, saveAnew, writeRow } from "./api.ts";
import { Devices } from "./devices.tsx";
import { type Json, type Path, valueAt } from "./document.ts";
import { type Say, useSay } from "./settings.tsx";

interface Props {
  readonly order: string;
  readonly shop: string | null;
  readonly file: Json;
  /** As it comes out, what is left to defaults too. */
  readonly blank: { readonly length: number; readonly width: number; readonly shaftThickness: number } | null;
  readonly set: (path: Path, value: Json | undefined) => void;
  /** Papers came in: the list of orders and shops is to be read again. */
  readonly reload: () => void;
}

const sentence = (e: unknown): string => (e instanceof Error ? e.message : String(e));
const slug = (text: string): string =>
  text
    .toLowerCase()
    .normalize("NFKD")
    .replaceAll(/[^a-z0-9]+/g, "-")
    .replaceAll(/^-+|-+$/g, "")
    .slice(0, 50) || "row";

/** What the shop keeps beside its orders: devices, tables, and everything as one file. */
export function MemoryPage(p: Props): ReactElement {
  const say = useSay();
  return (
    <>
      <Devices say={say} />
      <Rack {...p} say={say} />
      <Plates {...p} say={say} />
      <Machines say={say} />
      <Files {...p} say={say} />
    </>
  );
}

interface Row<T> {
  readonly name: string;
  readonly mark: string;
  readonly row: T;
}

/** The rows of a table, read whole. */
function useRows<T>(kind: string): { readonly rows: readonly Row<T>[]; readonly read: () => void; readonly refusal: string } {
  const [rows, setRows] = useState<readonly Row<T>[]>([]);
  const [refusal, setRefusal] = useState("");
  const [asked, setAsked] = useState(0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when it is asked for
  useEffect(() => {
    let gone = false;
    const all = async (): Promise<Row<T>[]> => {
      const found = await Promise.all((await listTable(kind)).map(async (h) => [h.name, await readRow(kind, h.name)] as const));
      return found.flatMap(([name, doc]) => (doc === null ? [] : [{ name, mark: doc.mark, row: JSON.parse(doc.text) as T }]));
    };
    all().then(
      (r) => {
        if (!gone) setRows(r);
      },
      (e: unknown) => setRefusal(sentence(e)),
    );
    return () => {
      gone = true;
    };
  }, [kind, asked]);
  return { rows, read: () => setAsked((n) => n + 1), refusal };
}

interface Wood {
  readonly title: string;
  readonly species: string;
  readonly length?: number;
  readonly width?: number;
  readonly thickness?: number;
}

/** Wood that lies in the rack: this order's kept, another's taken for this order. */
function Rack(p: Props & { readonly say: Say }): ReactElement {
  const { say } = p;
  const { rows, read, refusal } = useRows<Wood>("wood");
  const [title, setTitle] = useState("");
  const [failed, setFailed] = useState("");
  const keep = (): void => {
    const species = valueAt(p.file, ["wood", "shaft"]);
    const row = {
      title: title.trim(),
      species: typeof species === "string" ? species : "",
      length: p.blank?.length,
      width: p.blank?.width,
      thickness: p.blank?.shaftThickness,
    };
    writeRow("wood", slug(title), JSON.stringify(row)).then(
      () => {
        setTitle("");
        read();
      },
      (e: unknown) => setFailed(sentence(e)),
    );
  };
  return (
    <section aria-label={say("rack")}>
      <h3>{say("rack")}</h3>
      <p className="why">{say("rackHelp")}</p>
      {rows.length > 0 && (
        <table>
          <tbody>
            {rows.map(({ name, mark, row }) => (
              <tr key={name}>
                <th scope="row">{row.title}</th>
                <td>{row.species}</td>
                <td className="number">{[row.length, row.width, row.thickness].map((v) => v ?? "–").join(" × ")} mm</td>
                <td>
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("useIt")}: ${row.title}`}
                    onClick={() => {
                      p.set(["wood", "shaft"], row.species);
                      for (const [key, v] of [
                        ["length", row.length],
                        ["width", row.width],
                        ["shaftThickness", row.thickness],
                      ] as const)
                        if (v !== undefined) p.set(["blank", key], v);
                    }}
                  >
                    {say("useIt")}
                  </button>{" "}
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("remove")}: ${row.title}`}
                    onClick={() => dropRow("wood", name, mark).then(read, (e: unknown) => setFailed(sentence(e)))}
                  >
                    {say("remove")}
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <KeepForm say={say} label={say("rackKeep")} value={title} set={setTitle} keep={keep} />
      <Refused says={refusal || failed} />
    </section>
  );
}

interface Plate {
  readonly title: string;
  readonly holding: { readonly [key: string]: Json };
}

/** Ways of holding that serve many orders. */
function Plates(p: Props & { readonly say: Say }): ReactElement {
  const { say } = p;
  const { rows, read, refusal } = useRows<Plate>("plate");
  const [title, setTitle] = useState("");
  const [failed, setFailed] = useState("");
  const holding = valueAt(p.file, ["holding"]);
  const keep = (): void => {
    const row = { title: title.trim(), holding: holding ?? {} };
    writeRow("plate", slug(title), JSON.stringify(row)).then(
      () => {
        setTitle("");
        read();
      },
      (e: unknown) => setFailed(sentence(e)),
    );
  };
  return (
    <section aria-label={say("plates")}>
      <h3>{say("plates")}</h3>
      <p className="why">{say("platesHelp")}</p>
      {rows.length > 0 && (
        <table>
          <tbody>
            {rows.map(({ name, mark, row }) => (
              <tr key={name}>
                <th scope="row">{row.title}</th>
                <td>{JSON.stringify(row.holding) === JSON.stringify(holding ?? {}) ? say("inUse") : ""}</td>
                <td>
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("useIt")}: ${row.title}`}
                    onClick={() => p.set(["holding"], Object.keys(row.holding).length === 0 ? undefined : row.holding)}
                  >
                    {say("useIt")}
                  </button>{" "}
                  <button
                    type="button"
                    className="small"
                    aria-label={`${say("remove")}: ${row.title}`}
                    onClick={() => dropRow("plate", name, mark).then(read, (e: unknown) => setFailed(sentence(e)))}
                  >
                    {say("remove")}
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <KeepForm say={say} label={say("plateKeep")} value={title} set={setTitle} keep={keep} />
      <Refused says={refusal || failed} />
    </section>
  );
}

function KeepForm(p: {
  readonly say: Say;
  readonly label: string;
  readonly value: string;
  readonly set: (v: string) => void;
  readonly keep: () => void;
}): ReactElement {
  return (
    <form
      className="row"
      onSubmit={(e) => {
        e.preventDefault();
        if (p.value.trim() !== "") p.keep();
      }}
    >
      <label>
        {p.label} <input value={p.value} maxLength={80} onChange={(e) => p.set(e.target.value)} />
      </label>
      <button type="submit">{p.say("keepIt")}</button>
    </form>
  );
}

const Refused = ({ says }: { readonly says: string }): ReactElement | null =>
  says === "" ? null : (
    <p className="refusal" role="alert">
      {says}
    </p>
  );

interface Cutter {
  readonly number: number;
  readonly name: string;
  readonly diameter: number;
  /** In mm. */
  readonly life?: number;
}

/** Machines, cutters with how far they went, and hardware: as the shop's file says, read from its memory. */
function Machines({ say }: { readonly say: Say }): ReactElement {
  const cutters = useRows<Cutter>("cutter");
  const hardware = useRows<{ readonly name?: string; readonly title?: string }>("hardware");
  const [worn, setWorn] = useState<{ readonly [name: string]: number }>({});
  useEffect(() => {
    listTable("cutter").then(
      (all) => setWorn(Object.fromEntries(all.map((h) => [h.name, h.worn ?? 0]))),
      () => undefined,
    );
  }, []);
  return (
    <section aria-label={say("ofTheShop")}>
      <h3>{say("ofTheShop")}</h3>
      <details>
        <summary>{`${say("cuttersHere")}: ${cutters.rows.length}`}</summary>
        <table>
          <thead>
            <tr>
              <th scope="col">{say("cutter")}</th>
              <th scope="col">{say("wentSoFar")}</th>
              <th scope="col">{say("lifeOf")}</th>
            </tr>
          </thead>
          <tbody>
            {cutters.rows.map(({ name, row }) => (
              <tr key={name}>
                <th scope="row">{`${name.replace(/-t\d+$/, "")} T${row.number}, ${row.name}`}</th>
                <td className="number">{((worn[name] ?? 0) / 1000).toFixed(1)} m</td>
                <td className="number">{row.life === undefined ? "–" : `${(row.life / 1000).toFixed(0)} m`}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
      <details>
        <summary>{`${say("hardwareHere")}: ${hardware.rows.length}`}</summary>
        <ul>
          {hardware.rows.map(({ name, row }) => (
            <li key={name}>{row.title ?? row.name ?? name}</li>
          ))}
        </ul>
      </details>
      <Refused says={cutters.refusal || hardware.refusal} />
    </section>
  );
}

/** Single papers and everything as one file, out and in. */
function Files(p: Props & { readonly say: Say }): ReactElement {
  const { say } = p;
  const [said, setSaid] = useState("");
  const [refusal, setRefusal] = useState("");
  const [came, setCame] = useState<BroughtIn | null>(null);
  const fail = (e: unknown): void => {
    setSaid("");
    setRefusal(sentence(e));
  };
  const download = (name: string, kind: "order" | "shop"): void => {
    (kind === "order" ? openOrder(name) : openShop(name)).then(({ text }) => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
      link.download = `${name}.${kind}.json`;
      link.click();
      URL.revokeObjectURL(link.href);
    }, fail);
  };
  const bring = async (file: File): Promise<void> => {
    setRefusal("");
    setCame(null);
    setSaid(say("bringing"));
    if (/\.zip$/i.test(file.name)) setCame(await bringArchive(file));
    else {
      const m = /^([a-z0-9]+(?:-[a-z0-9]+)*)\.(order|shop)\.json$/.exec(file.name);
      if (m === null) throw new Error(say("notPaper", file.name));
      await saveAnew(m[2] === "order" ? "orders" : "shops", m[1] as string, await file.text());
    }
    setSaid(say("brought", file.name));
    p.reload();
  };
  return (
    <section aria-label={say("files")}>
      <h3>{say("files")}</h3>
      <p className="why">{say("filesHelp")}</p>
      <div className="row">
        <button type="button" onClick={() => download(p.order, "order")}>
          {say("download")} {`${p.order}.order.json`}
        </button>
        {p.shop !== null && (
          <button type="button" onClick={() => download(p.shop as string, "shop")}>
            {say("download")} {`${p.shop}.shop.json`}
          </button>
        )}
        <a href="/api/archive" download>
          {say("everything")}
        </a>
      </div>
      <label>
        {say("bringFile")}{" "}
        <input
          type="file"
          accept=".json,.zip"
          onChange={(e) => {
            const file = e.target.files?.[0];
            e.target.value = "";
            if (file !== undefined) bring(file).catch(fail);
          }}
        />
      </label>
      {said !== "" && <p role="status">{said}</p>}
      {came !== null && (
        <ul>
          <li>{say("cameFresh", came.fresh.join(", ") || "–")}</li>
          <li>{say("cameChanged", came.changed.join(", ") || "–")}</li>
          <li>{say("cameLeft", came.left.join(", ") || "–")}</li>
          <li>{say("cameBackup", came.backup)}</li>
        </ul>
      )}
      <Refused says={refusal} />
    </section>
  );
}
