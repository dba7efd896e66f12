import { type ReactElement, useId, useRef, useState } from "react";
import { MM_PER_INCH, parseSum } from "../units/index.ts";
import { readField } from "./field-value.ts";
import { useNames, useSay } from "./settings.tsx";

interface Props {
  readonly label: string;
  readonly reason: string;
  /** "mm", "deg", "mm/min", "" ... of a plain number. */
  readonly unit: string;
  readonly min: number | undefined;
  readonly max: number | undefined;
  /** As it stands in the order; undefined: the default holds. */
  readonly value: number | string | undefined;
  /** What holds when nothing is written. */
  readonly fallback: string;
  readonly whole?: boolean;
  /** Also a text like "fret 12" names a place. */
  readonly place?: boolean;
  readonly inches: boolean;
  readonly onChange: (value: number | string | undefined, drag: boolean) => void;
}

/** Of a drag of one screen dot, in the unit's own measure. */
const PER_DOT: Readonly<Record<string, number>> = { mm: 0.05, deg: 0.05, "mm/min": 10 };

const rounded = (v: number): number => Math.round(v * 1e4) / 1e4;

/** A quantity as text: typed in any unit or as a sum, dragged by its label, moved by arrow keys. What cannot be taken is said, never clamped. */
export function LengthField(p: Props): ReactElement {
  const say = useSay();
  const name = useNames();
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const [refusal, setRefusal] = useState("");
  const drag = useRef<{ x: number; from: number } | null>(null);
  const inch = p.inches && p.unit === "mm";
  const shown = p.value === undefined ? "" : inch && typeof p.value === "number" ? `${rounded(p.value / MM_PER_INCH)} in` : String(p.value);
  const now = (): number | null => {
    if (typeof p.value === "number") return p.value;
    const text = p.value ?? p.fallback;
    const r = p.unit === "mm" ? parseSum(text) : null;
    if (r?.ok) return r.value;
    const n = Number(text);
    return Number.isFinite(n) && text !== "" ? n : null;
  };
  const take = (value: number | string | undefined, isDrag = false): void => {
    setTyped(null);
    setRefusal("");
    p.onChange(value, isDrag);
  };
  const move = (by: number, isDrag: boolean, from = now()): void => {
    if (from === null) return;
    let v = rounded(from + by);
    if (p.whole) v = Math.round(v);
    if ((p.min !== undefined && v < p.min) || (p.max !== undefined && v > p.max)) {
      setRefusal(say("outside", v, p.min ?? "–", p.max ?? "–"));
      return;
    }
    take(v, isDrag);
  };
  const finish = (): void => {
    if (typed === null) return;
    const r = readField(typed, { unit: p.unit, min: p.min, max: p.max, whole: p.whole === true, place: p.place === true, inches: inch });
    if (r.ok) take(r.value);
    else setRefusal(r.outside ? say("outside", typed, p.min ?? "–", p.max ?? "–") : say("notLength", name(r.says), name(r.tryThis)));
  };
  return (
    <div className="field">
      <label
        htmlFor={id}
        className="drag"
        title={p.reason}
        onPointerDown={(e) => {
          const from = now();
          if (from === null || e.button !== 0) return;
          drag.current = { x: e.clientX, from };
          e.currentTarget.setPointerCapture(e.pointerId);
        }}
        onPointerMove={(e) => {
          if (drag.current === null) return;
          const dots = e.clientX - drag.current.x;
          if (Math.abs(dots) < 3) return;
          move(dots * (p.whole ? 0.1 : (PER_DOT[p.unit] ?? 0.01)) * (e.shiftKey ? 10 : 1), true, drag.current.from);
        }}
        onPointerUp={() => {
          drag.current = null;
        }}
        onPointerCancel={() => {
          drag.current = null;
        }}
      >
        {p.label}
      </label>
      <span className="entry">
        <input
          id={id}
          inputMode="text"
          autoComplete="off"
          spellCheck={false}
          className={p.value === undefined ? "is-default" : ""}
          value={typed ?? shown}
          placeholder={p.fallback}
          aria-invalid={refusal !== ""}
          aria-describedby={`${id}-why${refusal === "" ? "" : ` ${id}-no`}`}
          onChange={(e) => {
            setTyped(e.target.value);
            setRefusal("");
          }}
          onBlur={finish}
          onKeyDown={(e) => {
            if (e.key === "Enter") finish();
            else if (e.key === "Escape") {
              setTyped(null);
              setRefusal("");
            } else if (e.key === "ArrowUp" || e.key === "ArrowDown") {
              e.preventDefault();
              const step = (p.whole ? 1 : p.unit === "mm" ? 0.1 : p.unit === "mm/min" ? 50 : 0.1) * (e.shiftKey ? 10 : 1);
              move(e.key === "ArrowUp" ? step : -step, true);
            }
          }}
        />
        <span className="unit">{p.unit}</span>
        {p.value !== undefined && p.fallback !== "" && (
          <button
            type="button"
            className="small"
            title={`${say("backToDefault")}: ${p.fallback}`}
            aria-label={`${p.label}: ${say("backToDefault")}`}
            onClick={() => take(undefined)}
          >
            ↺
          </button>
        )}
      </span>
      <span className="why" id={`${id}-why`}>
        {p.reason}
        {p.min !== undefined && p.max !== undefined ? ` ${p.min} ${say("to")} ${p.max}${p.unit === "" ? "" : ` ${p.unit}`}.` : ""}
      </span>
      {refusal !== "" && (
        <span className="refusal" role="alert" id={`${id}-no`}>
          {refusal}
        </span>
      )}
    </div>
  );
}
