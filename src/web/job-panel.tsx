import { type ReactElement, useEffect, useState } from "react";
import type { JobFile, ProofFile } from "../job/files.ts";
import { cancelJob, followJob, type JobState, jobFile, lastJob, startJob } from "./api.ts";
import { sentence } from "./parts.tsx";
import { useNames, useSay } from "./settings.tsx";

export interface Work {
  readonly state: JobState | null;
  readonly job: JobFile | null;
  readonly proof: ProofFile | null;
  readonly failure: string | null;
  readonly start: () => void;
  readonly cancel: () => void;
}

/** The job of an order at the server: started, followed, cancelled, its result read. */
export function useWork(order: string | null, shop: string | null): Work {
  const [state, setState] = useState<JobState | null>(null);
  const [result, setResult] = useState<{ job: JobFile | null; proof: ProofFile | null }>({ job: null, proof: null });
  const [failure, setFailure] = useState<string | null>(null);
  const id = state?.id ?? null;
  const working = state?.state === "working";
  const ready = state !== null && (state.state === "done" || state.state === "stopped");

  useEffect(() => {
    setState(null);
    setResult({ job: null, proof: null });
    setFailure(null);
    if (order === null) return;
    let gone = false;
    lastJob(order).then(
      (s) => {
        if (!gone) setState(s);
      },
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [order]);

  useEffect(() => {
    if (id === null || !working) return;
    return followJob(id, setState);
  }, [id, working]);

  useEffect(() => {
    if (!ready || order === null || id === null) return;
    let gone = false;
    const read = async <T,>(file: string): Promise<T | null> => {
      const r = await fetch(`${jobFile(order, file)}?${id}`);
      return r.ok ? ((await r.json()) as T) : null;
    };
    Promise.all([read<JobFile>("job.json"), read<ProofFile>("proof.json")]).then(
      ([job, proof]) => {
        if (!gone) setResult({ job, proof });
      },
      (e) => setFailure(String(e)),
    );
    return () => {
      gone = true;
    };
  }, [ready, order, id]);

  return {
    state,
    ...result,
    failure,
    start: () => {
      if (order === null || shop === null) return;
      setFailure(null);
      setResult({ job: null, proof: null });
      startJob(order, shop).then(setState, (e) => setFailure(sentence(e)));
    },
    cancel: () => {
      if (id !== null) cancelJob(id).catch((e) => setFailure(String(e)));
    },
  };
}

/** The button that makes, its progress, and whether the result still belongs to the order. */
export function MakePanel(p: { readonly work: Work; readonly mark: string; readonly shop: string | null }): ReactElement {
  const say = useSay();
  const name = useNames();
  const { state } = p.work;
  const working = state?.state === "working";
  return (
    <div className="make">
      <button type="button" className="main" disabled={p.shop === null || working} onClick={p.work.start}>
        {say("make")}
      </button>
      {working && (
        <>
          <progress value={state.share} max={1} aria-label={say("make")} />
          <span>{say("making", Math.round(state.share * 100), name(state.says))}</span>
          <button type="button" onClick={p.work.cancel}>
            {say("cancel")}
          </button>
        </>
      )}
      {p.shop === null && <p className="why">{say("needShop")}</p>}
      {state === null && <p className="why">{say("noJob")}</p>}
      {(p.work.failure !== null || state?.state === "failed") && (
        <p className="refusal" role="alert">
          {p.work.failure ?? state?.says}
        </p>
      )}
      {state !== null && !working && state.state !== "failed" && (
        <p className={state.orderMark === p.mark ? "why" : "refusal"}>
          {name(state.says)} {say(state.orderMark === p.mark ? "fresh" : "stale")}
        </p>
      )}
    </div>
  );
}

const number = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(1) : v.toFixed(3));

/** Programs in the order of work, with what each cuts and how long it takes. */
export function ProgramTable(p: { readonly job: JobFile; readonly order: string }): ReactElement {
  const say = useSay();
  const total = p.job.programs.reduce((sum, one) => sum + one.seconds, 0);
  return (
    <table>
      <caption>
        {say("programs")}: {(total / 60).toFixed(0)} {say("minutes")}
      </caption>
      <tbody>
        {p.job.programs.map((one) => (
          <tr key={one.file}>
            <th scope="row">
              <a href={jobFile(p.order, one.file)}>{one.file.replace("programs/", "")}</a>
            </th>
            <td>{one.cuts.join(", ")}</td>
            <td className="number">
              {(one.seconds / 60).toFixed(1)} {say("minutes")}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What the proof measured on the cut stock beside what was ordered. */
export function Measures(p: { readonly proof: ProofFile }): ReactElement {
  const say = useSay();
  const rows = [...p.proof.sides.flatMap((s) => s.measures), ...p.proof.both.measures];
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls has to be reached by keys
    <section className="scroll" tabIndex={0} aria-label={say("measured")}>
      <table>
        <caption>{say("measured")}</caption>
        <thead>
          <tr>
            <th scope="col">{say("measured")}</th>
            <th scope="col" className="number">
              {say("ordered")}
            </th>
            <th scope="col" className="number">
              {say("measuredShort")}
            </th>
            <th scope="col" className="number">
              ±
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map((m) => (
            <tr key={`${m.id} ${m.what}`} className={Math.abs(m.measured - m.ordered) > m.tolerance ? "outside" : ""}>
              <th scope="row">
                {m.id} <span className="where">{m.what}</span>
              </th>
              <td className="number">{number(m.ordered)}</td>
              <td className="number">{number(m.measured)}</td>
              <td className="number">
                {number(m.tolerance)} {m.unit}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
