import { type ReactElement, useState } from "react";
import { dropRow, writeRow } from "../api.ts";
import { type Json, valueAt } from "../document.ts";
import { Refused, sentence } from "../parts.tsx";
import { useSay } from "../settings.tsx";
import type { Props } from "./memory-page.tsx";
import { type Row, useRows } from "./rows.tsx";

/* Parts of an order that serve other orders: kept under a title, taken for the order that is open. */

const slug = (text: string): string =>
  text
    .toLowerCase()
    .normalize("NFKD")
    .replaceAll(/[^a-z0-9]+/g, "-")
    .replaceAll(/^-+|-+$/g, "")
    .slice(0, 50) || "row";

/** A table of such parts, each with what tells it apart, and a form to keep this order's. */
function Shelf<T extends { readonly title: string }>(p: {
  readonly kind: "wood" | "plate";
  readonly words: { readonly title: "rack" | "plates"; readonly help: "rackHelp" | "platesHelp"; readonly keep: "rackKeep" | "plateKeep" };
  /** What of this order is kept. */
  readonly row: (title: string) => T;
  readonly cells: (row: T) => ReactElement;
  readonly take: (row: T) => void;
}): ReactElement {
  const say = useSay();
  const { rows, read, refusal } = useRows<T>(p.kind);
  const [title, setTitle] = useState("");
  const [failed, setFailed] = useState("");
  const fail = (e: unknown): void => setFailed(sentence(e));
  const keep = (): void => {
    writeRow(p.kind, slug(title), JSON.stringify(p.row(title.trim()))).then(() => {
      setTitle("");
      read();
    }, fail);
  };
  const named = ({ name, mark, row }: Row<T>): ReactElement => (
    <tr key={name}>
      <th scope="row">{row.title}</th>
      {p.cells(row)}
      <td>
        <button type="button" className="small" aria-label={`${say("useIt")}: ${row.title}`} onClick={() => p.take(row)}>
          {say("useIt")}
        </button>{" "}
        <button
          type="button"
          className="small"
          aria-label={`${say("remove")}: ${row.title}`}
          onClick={() => dropRow(p.kind, name, mark).then(read, fail)}
        >
          {say("remove")}
        </button>
      </td>
    </tr>
  );
  return (
    <section aria-label={say(p.words.title)}>
      <h3>{say(p.words.title)}</h3>
      <p className="why">{say(p.words.help)}</p>
      {rows.length > 0 && (
        <table>
          <tbody>{rows.map(named)}</tbody>
        </table>
      )}
      <form
        className="row"
        onSubmit={(e) => {
          e.preventDefault();
          if (title.trim() !== "") keep();
        }}
      >
        <label>
          {say(p.words.keep)} <input value={title} maxLength={80} onChange={(e) => setTitle(e.target.value)} />
        </label>
        <button type="submit">{say("keepIt")}</button>
      </form>
      <Refused says={refusal || failed} />
    </section>
  );
}

interface Wood {
  readonly title: string;
  readonly species: string;
  readonly length?: number | undefined;
  readonly width?: number | undefined;
  readonly thickness?: number | undefined;
}

/** Wood that lies in the rack. */
export function Rack(p: Props): ReactElement {
  const species = valueAt(p.file, ["wood", "shaft"]);
  return (
    <Shelf<Wood>
      kind="wood"
      words={{ title: "rack", help: "rackHelp", keep: "rackKeep" }}
      row={(title) => ({
        title,
        species: typeof species === "string" ? species : "",
        length: p.blank?.length,
        width: p.blank?.width,
        thickness: p.blank?.shaftThickness,
      })}
      cells={(row) => (
        <>
          <td>{row.species}</td>
          <td className="number">{[row.length, row.width, row.thickness].map((v) => v ?? "–").join(" × ")} mm</td>
        </>
      )}
      take={(row) => {
        p.set(["wood", "shaft"], row.species);
        for (const [key, v] of [
          ["length", row.length],
          ["width", row.width],
          ["shaftThickness", row.thickness],
        ] as const)
          if (v !== undefined) p.set(["blank", key], v);
      }}
    />
  );
}

interface Plate {
  readonly title: string;
  readonly holding: { readonly [key: string]: Json };
}

/** Ways of holding that serve many orders. */
export function Plates(p: Props): ReactElement {
  const say = useSay();
  const holding = (valueAt(p.file, ["holding"]) ?? {}) as Plate["holding"];
  return (
    <Shelf<Plate>
      kind="plate"
      words={{ title: "plates", help: "platesHelp", keep: "plateKeep" }}
      row={(title) => ({ title, holding })}
      cells={(row) => <td>{JSON.stringify(row.holding) === JSON.stringify(holding) ? say("inUse") : ""}</td>}
      take={(row) => p.set(["holding"], Object.keys(row.holding).length === 0 ? undefined : row.holding)}
    />
  );
}
