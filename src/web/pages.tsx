import { memo, type ReactElement, type ReactNode, useEffect, useMemo, useState } from "react";
import type { Figure, Neck } from "../job/live.ts";
import { fileText, type Json, type Path, valueAt } from "./document.ts";
import { Fields } from "./fields.tsx";
import { MakePanel, Measures, ProgramTable, type Work } from "./job-panel.tsx";
import { ORDER } from "./order-schema.ts";
import { JsonText } from "./parts.tsx";
import type { Node } from "./schema.ts";
import { useNames, useSay } from "./settings.tsx";
import { Sheets } from "./sheets.tsx";
import type { Open } from "./state.ts";

/** The pages in the order of the work, and what of the order is decided on each. */
export type Page = "order" | "neck" | "strings" | "wood" | "blank" | "holding" | "cuts" | "proof" | "sheets" | "run" | "past" | "memory";

export const PAGES: readonly (readonly [Page, readonly string[]])[] = [
  ["order", ["name", "title", "instrument", "hand", "overrides"]],
  ["neck", ["scale", "frets", "nut", "board", "headstock", "carve", "heel", "markers"]],
  ["strings", ["strings", "setup"]],
  ["wood", ["wood", "rod", "bars", "climate"]],
  ["blank", ["blank"]],
  ["holding", ["holding"]],
  ["cuts", ["cutting", "plan"]],
  ["proof", []],
  ["sheets", []],
  ["run", []],
  // beside the work: what the shop keeps
  ["past", []],
  ["memory", []],
];

interface PageProps {
  readonly page: Page;
  readonly file: Json;
  readonly set: (path: Path, value: Json | undefined, drag?: boolean) => void;
  readonly work: Work;
  readonly open: Open;
  readonly shop: string | null;
  readonly neck: Neck | null;
  readonly figures: readonly Figure[];
  /** The figures are of an earlier state; those of this one are being reckoned. */
  readonly stale: boolean;
  /** What belongs to the page alone. */
  readonly children?: ReactNode;
}

/** What is decided on a page, and what follows from it. */
export function PageBody(p: PageProps): ReactElement {
  const say = useSay();
  const keys: readonly string[] = PAGES.find(([id]) => id === p.page)![1];
  const instrument = String(valueAt(p.file, ["instrument"]) ?? "guitar");
  const [find, setFind] = useState("");
  return (
    <>
      {keys.length > 2 && (
        <div className="field find">
          <label>
            {say("search")} <input type="search" value={find} onChange={(e) => setFind(e.target.value)} />
          </label>
        </div>
      )}
      {(p.page === "neck" || p.page === "strings" || p.page === "wood") && p.neck !== null && (
        <FigureTable all={p.figures} stale={p.stale} page={p.page} />
      )}
      {(p.page === "cuts" || p.page === "proof") && <MakePanel work={p.work} mark={p.open.mark} shop={p.shop} />}
      {p.children}
      {keys.map((key) => {
        const node = ORDER.properties?.[key];
        if (node === undefined) return null;
        return (
          <Part
            key={key}
            at={key}
            node={node}
            value={valueAt(p.file, [key])}
            instrument={instrument}
            set={p.set}
            find={find}
            open={find !== "" || keys.length <= 2}
          />
        );
      })}
      {p.page === "order" && <AsFile file={p.file} take={(v) => p.set([], v)} />}
      {p.page === "cuts" && p.work.job !== null && <ProgramTable job={p.work.job} order={p.open.name} />}
      {p.page === "proof" && p.work.proof !== null && <Measures proof={p.work.proof} />}
      {p.page === "sheets" && <Sheets work={p.work} order={p.open.name} shop={p.shop} />}
      {p.page === "run" && p.work.job === null && <p className="why">{say("noJob")}</p>}
    </>
  );
}

interface PartProps {
  readonly at: string;
  readonly node: Node;
  /** What stands in the order below this key. */
  readonly value: Json | undefined;
  readonly instrument: string;
  readonly set: PageProps["set"];
  /** Shown only where this is found in it. */
  readonly find: string;
  readonly open: boolean;
}

/** One key of the order with everything below it; drawn anew only when something below it has changed. */
const Part: React.MemoExoticComponent<(p: PartProps) => ReactElement | null> = memo(function Part(p: PartProps): ReactElement | null {
  const { at, node } = p;
  const name = useNames();
  const [opened, setOpened] = useState(p.open);
  const { open, find } = p;
  useEffect(() => setOpened(open), [open]);
  const words = useMemo(() => {
    if (find === "") return "";
    const said = JSON.stringify(node);
    // found by its title in the person's language too
    const titles = [...said.matchAll(/"title":"([^"]*)"/g)].map((m) => name(m[1]));
    return `${said} ${titles.join(" ")}`.toLowerCase();
  }, [node, name, find]);
  if (find !== "" && !words.includes(find.toLowerCase())) return null;
  const whole = { [at]: p.value } as Json;
  const field = (): ReactElement => (
    <Fields node={node} path={[at]} valueAt={(path) => valueAt(whole, path)} instrument={p.instrument} set={p.set} />
  );
  if (node.properties === undefined && node.anyOf === undefined) return <div>{field()}</div>;
  return (
    <details open={opened} onToggle={(e) => setOpened(e.currentTarget.open)}>
      <summary>{name(node.title ?? at)}</summary>
      {opened && field()}
    </details>
  );
});

/** Figures next to what they come from: those of the page first named in their id. */
const FIGURES_OF: Readonly<Record<"neck" | "strings" | "wood", RegExp>> = {
  neck: /girth|area|mass|balance|head|stress/,
  strings: /pull|tension|cent|intonation|position|nut/,
  wood: /relief|rod|moist|width|fret-end|emc|stiff|wood|mass|balance/,
};

const shown = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(0) : Math.abs(v) >= 1 ? v.toFixed(2) : v.toFixed(3));

function FigureTable(p: {
  readonly all: readonly Figure[];
  readonly stale: boolean;
  readonly page: "neck" | "strings" | "wood";
}): ReactElement {
  const say = useSay();
  const [opened, setOpened] = useState(false);
  const figures = useMemo(() => p.all.filter((f) => FIGURES_OF[p.page].test(f.id)), [p.all, p.page]);
  const short = useMemo(() => figures.filter((f) => f.short), [figures]);
  return (
    <div className={p.stale ? "figures stale" : "figures"}>
      <FigureRows rows={short} />
      <details onToggle={(e) => setOpened(e.currentTarget.open)}>
        <summary>
          {say("figures")}: {figures.length}
        </summary>
        {opened && <FigureRows rows={figures} />}
      </details>
    </div>
  );
}

const FigureRows: React.MemoExoticComponent<(p: { readonly rows: readonly Figure[] }) => ReactElement> = memo(function FigureRows(p: {
  readonly rows: readonly Figure[];
}): ReactElement {
  return (
    <table>
      <tbody>
        {p.rows.map((f) => (
          <FigureRow
            key={f.id}
            what={f.what}
            value={`${shown(f.value)} ${f.unit}`}
            low={shown(f.low)}
            high={shown(f.high)}
            source={f.source}
          />
        ))}
      </tbody>
    </table>
  );
});

interface FigureRowProps {
  readonly what: string;
  readonly value: string;
  readonly low: string;
  readonly high: string;
  readonly source: string;
}

/** One figure, in the letters it is shown with: most stay as they are while a value is dragged. */
const FigureRow: React.MemoExoticComponent<(p: FigureRowProps) => ReactElement> = memo(function FigureRow(p: FigureRowProps): ReactElement {
  const name = useNames();
  const say = useSay();
  return (
    <tr title={p.source}>
      <th scope="row">{name(p.what)}</th>
      <td className="number">{p.value}</td>
      <td className="where">{say("band", p.low, p.high)}</td>
    </tr>
  );
});

function AsFile(p: { readonly file: Json; readonly take: (v: Json) => void }): ReactElement {
  const say = useSay();
  return (
    <details>
      <summary>{say("json")}</summary>
      <p className="why">{say("jsonHelp")}</p>
      <JsonText text={fileText(p.file)} rows={18} label={say("json")} take={(v) => p.take(v ?? null)} />
    </details>
  );
}
