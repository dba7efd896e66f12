import { type ReactElement, useContext, useEffect, useMemo, useState } from "react";
import type { JobFile, ProofFile } from "../../job/files.ts";
import type { Holding, Neck } from "../../job/live.ts";
import { beginRun, jobFile, listRuns, sendPhoto } from "../api.ts";
import { FilePick, Refused, sentence } from "../parts.tsx";
import { clock } from "../playback/played.tsx";
import { SettingsContext, useSay } from "../settings.tsx";
import { Correct } from "./correct.tsx";
import { Corrections } from "./corrections.tsx";
import type { Papers } from "./keeping.tsx";
import { FretMeasures, ScribeMeasures, ThicknessMeasures } from "./measures.tsx";
import { NOTHING, type Running, useRun } from "./run-store.ts";
import { type Step, stepsOf } from "./steps.ts";

interface Props {
  readonly order: string;
  readonly shop: string;
  readonly job: JobFile;
  readonly proof: ProofFile | null;
  readonly neck: Neck;
  readonly holding: Holding | null;
  /** The made folder belongs to the order as it is. */
  readonly fresh: boolean;
  readonly papers: Papers;
}

const CHOSEN = (order: string): string => `neckwright-run-of-${order}`;

/** Working through one piece at the machine: one step at a time, in large letters. */
export function RunPage(p: Props): ReactElement {
  const say = useSay();
  const [name, setName] = useState<string | null>(() => localStorage.getItem(CHOSEN(p.order)));
  const [others, setOthers] = useState<readonly string[]>([]);
  const [refusal, setRefusal] = useState("");
  useEffect(() => {
    listRuns(p.order).then(
      (all) => setOthers(all),
      () => undefined,
    );
  }, [p.order]);
  const running = useRun(name);
  const choose = (next: string | null): void => {
    if (next === null) localStorage.removeItem(CHOSEN(p.order));
    else localStorage.setItem(CHOSEN(p.order), next);
    setName(next);
  };
  const start = (): void => {
    setRefusal("");
    beginRun(p.order, p.shop).then(
      (made) => {
        setOthers((o) => [...o, made]);
        choose(made);
      },
      (e: unknown) => setRefusal(sentence(e)),
    );
  };
  if (running === null)
    return (
      <div className="run">
        <p className="caution">{say("cautions")}</p>
        {!p.fresh && <p className="refusal">{say("stale")}</p>}
        <button type="button" className="main" onClick={start} disabled={!p.fresh || p.job.programs.length === 0}>
          {say("beginRun")}
        </button>
        <Refused says={refusal} />
        {others.length > 0 && (
          <>
            <h3>{say("runsSoFar")}</h3>
            <ul className="files">
              {others.map((o) => (
                <li key={o}>
                  <button type="button" onClick={() => choose(o)}>
                    {o}
                  </button>
                </li>
              ))}
            </ul>
          </>
        )}
        <Corrections papers={p.papers} />
      </div>
    );
  return <OneRun {...p} name={name ?? ""} running={running} leave={() => choose(null)} />;
}

function OneRun(p: Props & { readonly name: string; readonly running: Running; readonly leave: () => void }): ReactElement {
  const say = useSay();
  const { run, sync } = p.running;
  const steps = useMemo(() => stepsOf(p.job), [p.job]);
  const done = (s: Step): boolean => p.running.steps.get(s.id)?.done === true;
  const firstOpen = Math.max(
    0,
    steps.findIndex((s) => !done(s)),
  );
  const [at, setAt] = useState(firstOpen);
  const k = Math.min(at, steps.length - 1);
  const step = steps[k];
  // programs that are cut have to be those of this run
  const foreign = run.programs.some((q) => p.job.programs.find((j) => j.file === q.file)?.sha256 !== q.sha256);
  const [note, setNote] = useState("");
  const [photo, setPhoto] = useState("");
  const all = [...p.running.steps];
  const notes = all.flatMap(([id, s]) => s.notes.map((n) => ({ id, ...n })));
  const photos = all.flatMap(([id, s]) => s.photos.map((n) => ({ id, ...n })));
  return (
    <div className="run">
      <div className="row">
        <strong>{p.name}</strong>
        <span role="status">{say(sync === "saved" ? "saved" : sync === "away" ? "runAway" : "saving")}</span>
        <button type="button" className="small" onClick={p.leave}>
          {say("leaveRun")}
        </button>
      </div>
      {foreign && (
        <p className="refusal" role="alert">
          {say("foreignRun")}
        </p>
      )}
      <progress value={steps.filter(done).length} max={steps.length} aria-label={say("run")} />
      <section className="step" aria-label={say("stepOf", k + 1, steps.length)}>
        <h3>
          {say("stepOf", k + 1, steps.length)}: <TitleOf step={step} job={p.job} />
        </h3>
        <Body step={step} {...p} />
        <Timer key={step.id} id={step.id} running={p.running} />
        <div className="row">
          <button type="button" disabled={k === 0} onClick={() => setAt(k - 1)}>
            {say("stepBack")}
          </button>
          {step.kind !== "end" && (
            <button
              type="button"
              className="main"
              disabled={foreign && step.kind === "program"}
              onClick={() => {
                p.running.say({ kind: "done", step: step.id });
                setAt(k + 1);
              }}
            >
              {say("stepDone")}
            </button>
          )}
          {done(step) && (
            <button type="button" onClick={() => p.running.say({ kind: "undone", step: step.id })}>
              {say("stepNot")}
            </button>
          )}
          {step.kind !== "end" && !done(step) && step.kind !== "program" && (
            <button type="button" onClick={() => setAt(k + 1)}>
              {say("stepSkip")}
            </button>
          )}
        </div>
      </section>
      <Corrections papers={p.papers} />
      <details>
        <summary>{say("allSteps")}</summary>
        <ol className="steps">
          {steps.map((s, n) => (
            <li key={s.id} aria-current={n === k ? "step" : undefined}>
              <button type="button" className="finding" onClick={() => setAt(n)}>
                {done(s) ? "✓ " : ""}
                <TitleOf step={s} job={p.job} />
              </button>
            </li>
          ))}
        </ol>
      </details>
      <details open={notes.length + photos.length > 0}>
        <summary>{say("notes")}</summary>
        <form
          className="row"
          onSubmit={(e) => {
            e.preventDefault();
            if (note.trim() === "") return;
            p.running.say({ kind: "note", step: step.id, text: note.trim().slice(0, 4000) });
            setNote("");
          }}
        >
          <label>
            {say("note")} <input value={note} maxLength={4000} size={40} onChange={(e) => setNote(e.target.value)} />
          </label>
          <button type="submit">{say("add")}</button>
        </form>
        <ul>
          {notes.map((n) => (
            <li key={`${n.id} ${n.at}`}>
              {n.text} <span className="where">{`${n.id}, ${n.at.slice(0, 16).replace("T", " ")}`}</span>
            </li>
          ))}
        </ul>
        <FilePick
          label={say("takePhoto")}
          accept="image/*"
          camera
          take={(file) => {
            setPhoto(say("saving"));
            smaller(file)
              .then(sendPhoto)
              .then(
                (hash) => {
                  p.running.say({ kind: "photo", step: step.id, hash, label: "" });
                  setPhoto("");
                },
                (e: unknown) => setPhoto(sentence(e)),
              );
          }}
        />
        {photo !== "" && <p role="status">{photo}</p>}
        <div className="previews">
          {photos.map((n) => (
            <figure key={`${n.id} ${n.hash}`}>
              <img src={`/api/photos/${n.hash}`} alt={`${n.id}, ${n.at.slice(0, 16).replace("T", " ")}`} loading="lazy" />
              <figcaption>{n.id}</figcaption>
            </figure>
          ))}
        </div>
      </details>
    </div>
  );
}

/** A photograph small enough for the shop's memory. */
async function smaller(file: File): Promise<Blob> {
  const whole = await createImageBitmap(file);
  const scale = Math.min(1, 1600 / Math.max(whole.width, whole.height));
  const canvas = new OffscreenCanvas(Math.round(whole.width * scale), Math.round(whole.height * scale));
  canvas.getContext("2d")?.drawImage(whole, 0, 0, canvas.width, canvas.height);
  return canvas.convertToBlob({ type: "image/jpeg", quality: 0.8 });
}

function TitleOf({ step, job }: { readonly step: Step; readonly job: JobFile }): ReactElement {
  const say = useSay();
  const { kind } = step;
  if (kind === "lay") return <>{say("layTitle", say(step.side === "board" ? "boardSide" : "carveSide"))}</>;
  if (kind === "hand") return <>{say("byHand")}</>;
  if (kind === "measure") return <>{say(`measure-${step.what}`)}</>;
  if (kind === "program") {
    const titles = step.program.cuts.map((c) => job.work?.find((w) => w.cut === c)?.title ?? c);
    return <>{titles.join(", ")}</>;
  }
  return <>{say(kind === "ready" ? "readyTitle" : "endTitle")}</>;
}

function Body(p: Props & { readonly step: Step; readonly running: Running }): ReactElement {
  const say = useSay();
  const { inches } = useContext(SettingsContext);
  const { step, job, running } = p;
  const ended = running.steps.get("end")?.notes.at(-1)?.text;
  const measures = { ...p, inches, id: step.id };
  switch (step.kind) {
    case "ready":
      return (
        <>
          <p className="caution">{say("cautions")}</p>
          <ul className="large ticked">
            {(["readyEyes", "readyDust", "readyHands", "readyManual", "readyAlone"] as const).map((w) => (
              <li key={w}>
                <label>
                  <input
                    type="checkbox"
                    checked={running.steps.get(w)?.done === true}
                    onChange={(e) => running.say({ kind: e.target.checked ? "done" : "undone", step: w })}
                  />{" "}
                  {say(w)}
                </label>
              </li>
            ))}
          </ul>
          <p className="large">{say("blankIs", job.blank.length.toFixed(0), job.blank.width.toFixed(0), job.blank.thickness.toFixed(1))}</p>
        </>
      );
    case "lay": {
      const side = job.sides.find((s) => s.name === step.side);
      return (
        <>
          <p className="large">{say(step.side === "board" ? "layBoard" : "layCarve")}</p>
          <p className="large">{side?.zeroSays}.</p>
          <Picture
            order={p.order}
            file={`drawings/blank-${step.side}.svg`}
            says={say("layTitle", say(step.side === "board" ? "boardSide" : "carveSide"))}
          />
        </>
      );
    }
    case "hand":
      return <p className="large">{step.says}</p>;
    case "program": {
      const cutter = job.cutters.find((c) => c.number === step.program.cutter);
      const asks = step.program.cuts.flatMap((c) => job.work?.find((w) => w.cut === c)?.asks ?? [])[0];
      return (
        <>
          {step.newCutter && cutter !== undefined && (
            <p className="large">
              {say("fitCutter", cutter.number, cutter.name, cutter.reach.toFixed(0))} {say("zeroAgain")}
            </p>
          )}
          {asks !== undefined && <p className="large">{say("spindleAt", asks.rpm.toFixed(0))}</p>}
          <p className="large">
            {say("loadProgram")}{" "}
            <a href={jobFile(p.order, step.program.file)} download>
              <strong>{step.program.file.replace("programs/", "")}</strong>
            </a>
            , {say("takes", clock(step.program.seconds))}
          </p>
          {step.air && <p className="caution">{say("airFirst")}</p>}
          <p>{say("between", ...step.program.bounds.min.map((v) => v.toFixed(1)), ...step.program.bounds.max.map((v) => v.toFixed(1)))}</p>
          <Picture order={p.order} file={`drawings/blank-${step.side}.svg`} says={say("where")} />
        </>
      );
    }
    case "measure":
      if (step.what === "blank" || step.what === "turn" || step.what === "height")
        return (
          <>
            <Correct
              key={step.id}
              what={step.what}
              papers={p.papers}
              {...("side" in step ? { side: step.side } : {})}
              given={Object.fromEntries(Object.entries(running.steps.get(step.id)?.measured ?? {}).map(([n, m]) => [n, m.value]))}
              tell={(name, value) => running.say({ kind: "measured", step: step.id, name, value, unit: "mm" })}
            />
            {step.what === "turn" && (
              <details>
                <summary>{say("measuredMarks")}</summary>
                <Correct what="marks" papers={p.papers} />
              </details>
            )}
          </>
        );
      if (step.what === "scribe") return <ScribeMeasures {...measures} />;
      if (step.what === "thickness") return <ThicknessMeasures {...measures} />;
      return <FretMeasures {...measures} />;
    default:
      return (
        <>
          <p className="large">{say("endSays")}</p>
          <div className="row">
            {(["endGood", "endMarked", "endLost"] as const).map((w) => (
              <button
                key={w}
                type="button"
                aria-pressed={ended === say(w)}
                onClick={() => {
                  running.say({ kind: "note", step: step.id, text: say(w) });
                  running.say({ kind: "done", step: step.id });
                }}
              >
                {say(w)}
              </button>
            ))}
          </div>
        </>
      );
  }
}

function Picture(p: { readonly order: string; readonly file: string; readonly says: string }): ReactElement {
  return <img className="where-picture" src={jobFile(p.order, p.file)} alt={p.says} />;
}

/** Time at a step: begins and stops by hand, and is kept with the run. */
function Timer(p: { readonly id: string; readonly running: Running }): ReactElement {
  const say = useSay();
  const before = (p.running.steps.get(p.id) ?? NOTHING).seconds;
  const [from, setFrom] = useState<number | null>(null);
  const [now, setNow] = useState(0);
  useEffect(() => {
    if (from === null) return;
    const tick = setInterval(() => setNow(Date.now()), 500);
    return () => clearInterval(tick);
  }, [from]);
  return (
    <div className="row timer">
      <output>{clock(before + (from === null ? 0 : Math.max(0, now - from) / 1000))}</output>
      <button
        type="button"
        onClick={() => {
          if (from === null) {
            setNow(Date.now());
            setFrom(Date.now());
          } else {
            p.running.say({ kind: "time", step: p.id, seconds: Math.max(0, Math.round((Date.now() - from) / 1000)) });
            setFrom(null);
          }
        }}
      >
        {say(from === null ? "timerStart" : "timerStop")}
      </button>
    </div>
  );
}
