import { type ReactElement, useState } from "react";
import { type BroughtIn, bringArchive, openOrder, openShop, saveAnew } from "../api.ts";
import { FilePick, Refused, sentence } from "../parts.tsx";
import { useSay } from "../settings.tsx";
import type { Props } from "./memory-page.tsx";

/** Single papers and everything as one file, out and in. */
export function Files(p: Props): ReactElement {
  const say = useSay();
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
          {say("download", `${p.order}.order.json`)}
        </button>
        {p.shop !== null && (
          <button type="button" onClick={() => download(p.shop as string, "shop")}>
            {say("download", `${p.shop}.shop.json`)}
          </button>
        )}
        <a href="/api/archive" download>
          {say("everything")}
        </a>
      </div>
      <FilePick label={say("bringFile")} accept=".json,.zip" take={(file) => void bring(file).catch(fail)} />
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
