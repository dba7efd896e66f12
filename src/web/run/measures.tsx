import { type ReactElement, useMemo } from "react";
import type { JobFile, ProofFile } from "../../job/files.ts";
import type { Holding, Neck } from "../../job/live.ts";
import { centsOfFret, readScribe } from "../../job/measured.ts";
import { type Measured as Meant, measureHeight, placementEntry } from "../../job/readings.ts";
import { LengthField } from "../length-field.tsx";
import { useSay } from "../settings.tsx";
import { KeepIt, type Papers } from "./keeping.tsx";
import { NOTHING, type Running } from "./run-store.ts";

interface Props {
  readonly job: JobFile;
  readonly proof: ProofFile | null;
  readonly neck: Neck;
  readonly holding: Holding | null;
  readonly running: Running;
  /** Step that the measurements belong to. */
  readonly id: string;
  readonly inches: boolean;
  readonly papers: Papers;
}

const measuredOf = (p: Props, name: string): number | null => (p.running.steps.get(p.id) ?? NOTHING).measured[name]?.value ?? null;

function Measured(
  p: Props & { readonly name: string; readonly label: string; readonly reason: string; readonly most?: number },
): ReactElement {
  const v = measuredOf(p, p.name);
  return (
    <LengthField
      label={p.label}
      reason={p.reason}
      unit="mm"
      min={0}
      max={p.most ?? 2000}
      value={v ?? undefined}
      fallback=""
      inches={p.inches}
      onChange={(n) => {
        if (typeof n === "number") p.running.say({ kind: "measured", step: p.id, name: p.name, value: n, unit: "mm" });
      }}
    />
  );
}

/** Distances from the scribed outline to the blank's edges, and where the neck would lie better. */
export function ScribeMeasures(p: Props): ReactElement {
  const say = useSay();
  const { neck } = p;
  const { tip, end } = neck.places;
  const stations = useMemo(
    () => [tip + 0.15 * (end - tip), tip + 0.55 * (end - tip), end - 0.06 * (end - tip)].map((x) => Math.round(x)),
    [tip, end],
  );
  const readings = stations.flatMap((x) => {
    const [near, far] = [measuredOf(p, `${x} near`), measuredOf(p, `${x} far`)];
    return near === null || far === null ? [] : [{ x, near, far }];
  });
  const key = JSON.stringify(readings);
  const { holding } = p;
  // biome-ignore lint/correctness/useExhaustiveDependencies: the readings are compared as text
  const found = useMemo(
    () =>
      readings.length < 2 || holding === null
        ? null
        : readScribe(neck, { ...holding.placement, rotation: neck.order.blank.rotation ?? 0 }, readings),
    [key, holding, neck],
  );
  const asked = neck.order.blank.margin;
  return (
    <>
      <p className="large">{say("scribeHelp")}</p>
      {stations.map((x) => (
        <fieldset key={x}>
          <legend>{say("stationAt", x)}</legend>
          <Measured {...p} name={`${x} near`} label={say("toDatum")} reason={say("stationAt", x)} most={500} />
          <Measured {...p} name={`${x} far`} label={say("toFar")} reason={say("stationAt", x)} most={500} />
        </fieldset>
      ))}
      {found !== null && !found.ok && (
        <p className="refusal" role="alert">
          {found.says} {found.tryThis}
        </p>
      )}
      {found?.ok && (
        <div role="status">
          <p className="large">{say("scribeNow", found.value.now.toFixed(1), asked.toFixed(1))}</p>
          {found.value.slid.margin > found.value.now + 0.2 && (
            <p className="large">
              {say(
                "scribeBetter",
                found.value.slid.to.tipFromEnd.toFixed(1),
                found.value.slid.to.centreFromDatum.toFixed(1),
                found.value.slid.margin.toFixed(1),
              )}
            </p>
          )}
          <p className="why">{say("scribeTake")}</p>
          {found.value.slid.margin > found.value.now + 0.2 && (
            <KeepIt
              key={JSON.stringify(found.value.slid.to)}
              papers={p.papers}
              entry={placementEntry(found.value.slid.to)}
              reason={`measured at the scribe: ${readings.map((r) => `${r.x}:${r.near}:${r.far}`).join(", ")}`}
            />
          )}
        </div>
      )}
    </>
  );
}

/** Thickness at the stations that the proof has, beside what was ordered. */
export function ThicknessMeasures(p: Props): ReactElement {
  const say = useSay();
  const rows = (p.proof?.both.measures ?? []).filter((m) => m.unit === "mm");
  const offs = rows.flatMap((m) => {
    const v = measuredOf(p, m.id);
    return v === null ? [] : [v - m.ordered];
  });
  // one reading says little of a side; the mean of several says where its zero was
  const by = offs.length < 2 ? 0 : offs.reduce((sum, v) => sum + v, 0) / offs.length;
  return (
    <>
      <p className="large">{say("thicknessHelp")}</p>
      {rows.map((m) => {
        const v = measuredOf(p, m.id);
        const off = v === null ? null : v - m.ordered;
        return (
          <div key={m.id} className="measured-row">
            <Measured {...p} name={m.id} label={m.id} reason={`${say("ordered")} ${m.ordered.toFixed(2)} mm, ${m.what}`} most={100} />
            {off !== null && (
              <output className={Math.abs(off) > 0.3 ? "refusal" : ""}>
                {off >= 0 ? "+" : "−"}
                {Math.abs(off).toFixed(2)} mm
              </output>
            )}
          </div>
        );
      })}
      {Math.abs(by) >= 0.05 && Math.abs(by) <= 1.5 && (
        <div role="status">
          <p className="large">{say("thicknessMeans", Math.abs(by).toFixed(2), say(by > 0 ? "tooHigh" : "tooDeep"))}</p>
          <KeepIt key={by} papers={p.papers} {...heightOf(by, offs.length)} />
        </div>
      )}
    </>
  );
}

/** A height of the carve side, from the mean of what was measured. */
function heightOf(by: number, n: number): { readonly entry: Meant["entry"]; readonly reason: string } {
  return { entry: measureHeight("carve", 0, by).entry, reason: `mean of ${n} thicknesses: ${by.toFixed(2)} mm off` };
}

/** Places of some frets from the nut, and what their errors mean in cents. */
export function FretMeasures(p: Props): ReactElement {
  const say = useSay();
  const { neck } = p;
  const frets = [1, 5, 7, 12, neck.order.frets.count].filter((n, k, all) => n >= 1 && n <= neck.order.frets.count && all.indexOf(n) === k);
  return (
    <>
      <p className="large">{say("fretsHelp")}</p>
      {frets.map((n) => {
        const x = neck.fretAt(n);
        const v = measuredOf(p, `fret ${n}`);
        const cents = v === null ? null : centsOfFret(neck, n, v);
        return (
          <div key={n} className="measured-row">
            <Measured {...p} name={`fret ${n}`} label={say("fretFromNut", n)} reason={`${say("ordered")} ${x.toFixed(2)} mm`} />
            {cents !== null && (
              <output className={Math.abs(cents) > 3 ? "refusal" : ""}>
                {cents >= 0 ? "+" : "−"}
                {Math.abs(cents).toFixed(1)} cent
              </output>
            )}
          </div>
        );
      })}
    </>
  );
}
