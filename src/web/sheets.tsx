import { type ReactElement, useState } from "react";
import type { JobFile } from "../job/files.ts";
import { type ExportKind, exported, jobFile } from "./api.ts";
import type { Work } from "./job-panel.tsx";
import { Refused, sentence } from "./parts.tsx";
import { useSay } from "./settings.tsx";

/** Everything that was made, to look at and to take away; and what a neck leaves the house as without being cut here. */
export function Sheets(p: { readonly work: Work; readonly order: string; readonly shop: string | null }): ReactElement {
  const say = useSay();
  const { job } = p.work;
  return (
    <>
      <p className="caution">{say("cautions")}</p>
      {job === null ? <p className="why">{say("noJob")}</p> : <Made job={job} id={p.work.state?.id ?? ""} order={p.order} />}
      <Exports order={p.order} shop={p.shop} />
    </>
  );
}

const named = (job: JobFile, ending: string): readonly string[] => job.files.map((f) => f.file).filter((f) => f.endsWith(ending));

function Made(p: { readonly job: JobFile; readonly id: string; readonly order: string }): ReactElement {
  const say = useSay();
  const programs = named(p.job, ".ngc");
  return (
    <>
      <ul className="files">
        <li>
          <a href={jobFile(p.order, "report.html")} target="_blank" rel="noreferrer">
            {say("report")}
          </a>
        </li>
        {[...named(p.job, ".pdf"), "job.json", "proof.json", "order.json", "shop.json"].map((f) => (
          <li key={f}>
            <a href={jobFile(p.order, f)} target="_blank" rel="noreferrer">
              {f}
            </a>
          </li>
        ))}
      </ul>
      {programs.length > 0 && (
        <details>
          <summary>{`${say("programs")}: ${programs.length}`}</summary>
          <ul className="files">
            {programs.map((f) => (
              <li key={f}>
                <a href={jobFile(p.order, f)} download>
                  {f.replace("programs/", "")}
                </a>
              </li>
            ))}
          </ul>
        </details>
      )}
      <h3>{say("drawings")}</h3>
      <div className="previews">
        {named(p.job, ".svg").map((f) => (
          <figure key={f}>
            <img src={`${jobFile(p.order, f)}?${p.id}`} alt={f.replace(/^.*\/|\.svg$/g, "")} loading="lazy" />
            <figcaption>
              <a href={jobFile(p.order, f)} download>
                {say("download", f.replace("drawings/", ""))}
              </a>
            </figcaption>
          </figure>
        ))}
      </div>
    </>
  );
}

const KINDS: readonly ExportKind[] = ["pdf", "marking", "nut", "frets-pdf", "rollers", "frets-csv", "dxf", "svg", "step", "3mf", "stl"];

function Exports(p: { readonly order: string; readonly shop: string | null }): ReactElement {
  const say = useSay();
  const [at, setAt] = useState<ExportKind | null>(null);
  const [refusal, setRefusal] = useState("");
  const take = async (kind: ExportKind): Promise<void> => {
    setAt(kind);
    setRefusal("");
    try {
      const { name, file } = await exported(p.order, p.shop, kind);
      const link = document.createElement("a");
      link.href = URL.createObjectURL(file);
      link.download = name;
      link.click();
      URL.revokeObjectURL(link.href);
    } catch (e) {
      setRefusal(`${say(`export-${kind}`)}: ${sentence(e)}`);
    } finally {
      setAt(null);
    }
  };
  return (
    <section aria-label={say("exports")}>
      <h3>{say("exports")}</h3>
      <p className="why">{say("exportsHelp")}</p>
      <div className="row">
        {KINDS.map((kind) => (
          <button key={kind} type="button" disabled={at !== null} onClick={() => void take(kind)}>
            {say(`export-${kind}`)}
          </button>
        ))}
      </div>
      {at !== null && <p role="status">{say("reckoning")} …</p>}
      <Refused says={refusal} />
    </section>
  );
}
