import { memo, type ReactElement, useState } from "react";
import type { Finding } from "../units/index.ts";
import type { Json, Path } from "./document.ts";
import { useSay } from "./settings.tsx";

interface Props {
  readonly findings: readonly Finding[];
  readonly chosen: Finding | null;
  readonly choose: (f: Finding) => void;
  readonly valueAt: (path: Path) => Json | undefined;
  readonly set: (path: Path, value: Json | undefined) => void;
  readonly override: (rule: string, reason: string) => void;
  readonly overridden: readonly string[];
}

const shown = (v: number | string | null, unit: string): string =>
  v === null ? "" : `${typeof v === "number" ? Math.round(v * 1e4) / 1e4 : v}${unit === "" ? "" : ` ${unit}`}`;

/** Everything found, each pinned to where it is, with value, limit and what to try. */
export const Findings: React.MemoExoticComponent<(p: Props) => ReactElement> = memo(function Findings(p: Props): ReactElement {
  const say = useSay();
  if (p.findings.length === 0) return <p className="sound">{say("noFindings")}</p>;
  return (
    <ol className="findings">
      {p.findings.map((f, k) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: findings have no name of their own
        <li key={k} className={`${f.severity}${f === p.chosen ? " chosen" : ""}`}>
          <One {...p} f={f} say={say} />
        </li>
      ))}
    </ol>
  );
});

function One({ f, say, ...p }: Props & { readonly f: Finding; readonly say: ReturnType<typeof useSay> }): ReactElement {
  const [why, setWhy] = useState<string | null>(null);
  const path = f.where.split(".");
  const now = p.valueAt(path);
  // a remedy is offered only where the finding's value is the very number that stands in the order
  const remedy =
    typeof f.limit === "number" && typeof f.value === "number" && typeof now === "number" && Math.abs(now - f.value) < 1e-6
      ? f.limit
      : null;
  const passed = p.overridden.includes(f.rule);
  return (
    <>
      <button type="button" className="finding" onClick={() => p.choose(f)}>
        <strong>
          {say(`is-${f.severity}`)} {f.rule}
        </strong>{" "}
        <span className="where">{f.where}</span>
        <span className="says" lang="en">
          {f.says}
        </span>
      </button>
      {(f.value !== null || f.limit !== null) && (
        <p className="against">
          {f.value !== null && `${say("value")} ${shown(f.value, f.unit)}`}
          {f.limit !== null && ` · ${say("limit")} ${shown(f.limit, f.unit)}`}
        </p>
      )}
      <p className="try">
        {say("tryThis")}: <span lang="en">{f.tryThis}</span>
      </p>
      {remedy !== null && (
        <button type="button" className="small" onClick={() => p.set(path, remedy)}>
          {say("setTo", f.where, shown(remedy, f.unit))}
        </button>
      )}
      {f.severity === "stop" && !passed && why === null && (
        <button type="button" className="small" onClick={() => setWhy("")}>
          {say("override")}
        </button>
      )}
      {why !== null && (
        <form
          onSubmit={(e) => {
            e.preventDefault();
            if (why.trim().length < 3) return;
            p.override(f.rule, why.trim());
            setWhy(null);
          }}
        >
          <label>
            {say("overrideWhy")}
            <input value={why} minLength={3} required onChange={(e) => setWhy(e.target.value)} />
          </label>
          <button type="submit" className="small">
            {say("override")}
          </button>
        </form>
      )}
    </>
  );
}
