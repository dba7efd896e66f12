import { type ReactElement, type ReactNode, useContext, useState } from "react";
import {
  correctionText,
  type Measured,
  measureAxes,
  measureBlank,
  measureHeight,
  measureMarks,
  measureTurn,
  measureWidth,
} from "../../job/readings.ts";
import { LengthField } from "../length-field.tsx";
import { Heads, Refused, sentence } from "../parts.tsx";
import { SettingsContext, useNames, useSay } from "../settings.tsx";
import type { Word } from "../words.ts";
import { KeepIt, ofShop, type Papers } from "./keeping.tsx";

/* Forms for what was measured at the machine: the readings, and what they change before and after. */

export type What = "axes" | "cutter" | "turn" | "marks" | "height" | "blank";

type Readings = { readonly [name: string]: number | undefined };

interface FieldOf {
  readonly name: string;
  readonly label: Word;
  /** Filled into the label. */
  readonly part?: number;
  readonly min: number;
  readonly max: number;
  readonly fallback?: (p: Papers) => number;
}

const side = (name: string, label: Word, fallback?: number): FieldOf => ({
  name,
  label,
  min: 20,
  max: 3000,
  ...(fallback === undefined ? {} : { fallback: () => fallback }),
});

const FIELDS: { readonly [W in What]: readonly FieldOf[] } = {
  axes: [
    side("along", "patternAlong", 400),
    side("across", "patternAcross", 150),
    side("x1", "patternX1"),
    side("x2", "patternX2"),
    side("y1", "patternY1"),
    side("y2", "patternY2"),
    side("d1", "patternD1"),
    side("d2", "patternD2"),
  ],
  cutter: [
    { name: "slot", label: "slotWidth", min: 0.1, max: 90 },
    { name: "calliper", label: "byCalliper", min: 0.1, max: 90 },
  ],
  turn: [
    { name: "x", label: "stepX", min: -60, max: 60 },
    { name: "y", label: "stepY", min: -60, max: 60 },
  ],
  marks: [1, 2].flatMap((k) => [
    { name: `${k} x`, label: "markAtX", part: k, min: -3000, max: 3000 },
    { name: `${k} y`, label: "markAtY", part: k, min: -1000, max: 1000 },
    { name: `${k} step x`, label: "markStepX", part: k, min: -60, max: 60 },
    { name: `${k} step y`, label: "markStepY", part: k, min: -60, max: 60 },
  ]),
  height: [
    { name: "expected", label: "wasToBe", min: 0.5, max: 150 },
    { name: "measured", label: "isThick", min: 0.5, max: 150 },
  ],
  blank: [
    { name: "shaft", label: "shaftThick", min: 0, max: 300 },
    { name: "board", label: "boardThick", min: 0, max: 300 },
  ],
};

/** What each form says of how to measure. */
const HELP: { readonly [W in What]: Word } = {
  axes: "axesHelp",
  cutter: "cutterHelp",
  turn: "turnHelp",
  marks: "marksHelp",
  height: "heightHelp",
  blank: "blankMeasureHelp",
};

/** What the readings come to; null while some are missing, a sentence when they cannot be. */
function meaning(what: What, r: Readings, p: Papers, side: "board" | "carve", cutter: number): Measured | string | null {
  const has = (...names: readonly string[]): boolean => names.every((n) => r[n] !== undefined);
  const v = (n: string): number => r[n] as number;
  try {
    switch (what) {
      case "axes": {
        if (p.shop === null || !has("x1", "x2", "y1", "y2", "d1", "d2")) return null;
        const pattern = {
          along: r.along ?? 400,
          across: r.across ?? 150,
          x: [v("x1"), v("x2")],
          y: [v("y1"), v("y2")],
          diagonals: [v("d1"), v("d2")],
        } as const;
        return measureAxes(p.shop, pattern, p.neck.order.scale);
      }
      case "cutter": {
        const c = p.shop?.cutters.find((k) => k.number === cutter);
        return c === undefined || !has("slot") ? null : measureWidth(c, v("slot"), r.calliper ?? null);
      }
      case "turn":
        return has("x") || has("y") ? measureTurn(r.x ?? 0, r.y ?? 0) : null;
      case "marks":
        return has(...FIELDS.marks.map((f) => f.name))
          ? measureMarks([1, 2].map((k) => ({ x: v(`${k} x`), y: v(`${k} y`), dx: v(`${k} step x`), dy: v(`${k} step y`) })))
          : null;
      case "height":
        return has("expected", "measured") ? measureHeight(side, v("expected"), v("measured")) : null;
      case "blank":
        return has("shaft") || has("board") ? measureBlank(p.neck.order, r.shaft ?? null, r.board ?? null) : null;
    }
  } catch (e) {
    return sentence(e);
  }
}

/** Fields for the readings of one kind, what they change before and after, and keeping it. */
export function Correct(p: {
  readonly what: What;
  readonly papers: Papers;
  /** Of a height: the side that was cut. */
  readonly side?: "board" | "carve";
  /** What was to be there, when the page knows. */
  readonly given?: Readings;
  readonly tell?: (name: string, value: number) => void;
}): ReactElement {
  const say = useSay();
  const { inches } = useContext(SettingsContext);
  const [readings, setReadings] = useState<Readings>(p.given ?? {});
  const [turned, setTurned] = useState<"board" | "carve">(p.side ?? "carve");
  const slots = (p.papers.shop?.cutters ?? []).filter((c) => c.shape === "flat" || c.shape === "ball" || c.shape === "bull");
  const [cutter, setCutter] = useState(slots[0]?.number ?? 0);
  // what was kept counts from now on: the same readings are not held against it again
  const [kept, setKept] = useState(false);
  const found = kept ? null : meaning(p.what, readings, p.papers, turned, cutter);
  if (ofShop(p.what) && p.papers.shop === null) return <p className="why">{say("needShop")}</p>;
  return (
    <div className="correct">
      <p>{say(HELP[p.what])}</p>
      {p.what === "cutter" && (
        <label>
          {say("cutter")}{" "}
          <select value={cutter} onChange={(e) => setCutter(Number(e.target.value))}>
            {slots.map((c) => (
              <option key={c.number} value={c.number}>{`T${c.number}, ${c.name}, ${c.diameter} mm`}</option>
            ))}
          </select>
        </label>
      )}
      {p.what === "height" && p.side === undefined && (
        <label>
          {say("side")}{" "}
          <select value={turned} onChange={(e) => setTurned(e.target.value as "board" | "carve")}>
            <option value="board">{say("boardSide")}</option>
            <option value="carve">{say("carveSide")}</option>
          </select>
        </label>
      )}
      {FIELDS[p.what].map((f) => (
        <LengthField
          key={f.name}
          label={say(f.label, ...(f.part === undefined ? [] : [f.part]))}
          reason=""
          unit="mm"
          min={f.min}
          max={f.max}
          value={readings[f.name]}
          fallback={f.fallback === undefined ? "" : String(f.fallback(p.papers))}
          inches={inches}
          onChange={(value, drag) => {
            const n = typeof value === "number" ? value : undefined;
            setKept(false);
            setReadings((r) => ({ ...r, [f.name]: n }));
            if (n !== undefined && !drag) p.tell?.(f.name, n);
          }}
        />
      ))}
      {kept && <p role="status">{say("keptIt")}</p>}
      {typeof found === "string" && <Refused says={found} />}
      {found !== null && typeof found !== "string" && (
        <Outcome key={JSON.stringify(found)} found={found}>
          <KeepIt papers={p.papers} entry={found.entry} reason={found.says} kept={() => setKept(true)} />
        </Outcome>
      )}
    </div>
  );
}

/** A correction in words, and what it changes. */
function Outcome({ found, children }: { readonly found: Measured; readonly children: ReactNode }): ReactElement {
  const say = useSay();
  const name = useNames();
  const shown = (v: number, unit: string): string => `${v.toFixed(unit === "mm" ? 3 : 2)} ${unit}`;
  return (
    <div>
      <p role="status">
        <strong>{correctionText(found.entry)}</strong>
      </p>
      <table>
        <Heads names={[say("whatChanges"), say("before"), say("afterAbout")]} />
        <tbody>
          {found.effects.map((e) => (
            <tr key={e.what}>
              <th scope="row">{name(e.what)}</th>
              <td className="number">{shown(e.before, e.unit)}</td>
              <td className="number">{shown(Math.abs(e.after), e.unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {children}
    </div>
  );
}
