import { memo, type ReactElement, useContext, useId, useState } from "react";
import type { Json, Path } from "./document.ts";
import { LengthField } from "./length-field.tsx";
import { JsonText } from "./parts.tsx";
import { defaultOf, kindOf, memberOf, type Node } from "./schema.ts";
import { SettingsContext, useNames, useSay } from "./settings.tsx";

export interface FieldsProps {
  readonly node: Node;
  readonly path: Path;
  readonly valueAt: (path: Path) => Json | undefined;
  readonly instrument: string;
  readonly set: (path: Path, value: Json | undefined, drag?: boolean) => void;
  readonly label?: string;
}

const text = (v: Json): string => (typeof v === "string" ? v : JSON.stringify(v));

/** One place of the order with everything below it, as its schema describes it. */
export function Fields(p: FieldsProps): ReactElement {
  const value = p.valueAt(p.path);
  const members = p.node.anyOf ?? p.node.oneOf;
  if (members !== undefined) return <Union {...p} value={value} />;
  return <One {...p} value={value} />;
}

const nameOf = (n: Node): string =>
  n.const !== undefined
    ? text(n.const)
    : (n.title ?? (kindOf(n) === "group" ? Object.keys(n.properties ?? {}).join(", ") : (n.enum ?? []).map(text).join(", ")));

/** A value to begin with when this way of saying it is chosen. */
function firstOf(n: Node, instrument: string): Json {
  const known = defaultOf(n, instrument);
  if (known !== null && "value" in known) return known.value;
  if (n.const !== undefined) return n.const;
  if (n.enum !== undefined) return n.enum[0];
  const kind = kindOf(n);
  if (kind === "group")
    return Object.fromEntries((n.required ?? []).map((k) => [k, firstOf(memberOf(n.properties![k], undefined), instrument)]));
  if (kind === "switch") return false;
  if (kind === "text") return "";
  if (kind === "other") return [];
  return n.minimum ?? 0;
}

/** The same in the person's language. */
const shownName = (n: Node, name: (text: string) => string): string =>
  n.const === undefined && n.title === undefined && n.enum !== undefined ? n.enum.map((v) => name(text(v))).join(", ") : name(nameOf(n));

type OneProps = FieldsProps & { readonly value: Json | undefined };

/** Whether a place looks as before: what stands there is the same data, whatever else of the order has changed. */
const alike = (a: OneProps, b: OneProps): boolean =>
  a.node === b.node &&
  a.value === b.value &&
  a.instrument === b.instrument &&
  a.label === b.label &&
  a.set === b.set &&
  a.path.length === b.path.length &&
  a.path.every((key, k) => key === b.path[k]);

const Union: React.MemoExoticComponent<(p: OneProps) => ReactElement> = memo(function Union(p: OneProps): ReactElement {
  const say = useSay();
  const name = useNames();
  const id = useId();
  const members = p.node.anyOf ?? p.node.oneOf ?? [];
  const current = memberOf(p.node, p.value);
  const index = members.findIndex((m) => nameOf(m) === nameOf(memberOf({ anyOf: members }, p.value)));
  const fallback = defaultOf(p.node, p.instrument);
  const simple = current.const !== undefined || p.value === undefined;
  const label = p.label ?? name(p.node.title ?? String(p.path.at(-1)));
  return (
    <fieldset className="union">
      <legend>{label}</legend>
      <div className="field">
        <label htmlFor={id} className="quiet">
          {p.node.description ?? ""}
        </label>
        <select
          id={id}
          aria-label={label}
          value={p.value === undefined ? "default" : String(index)}
          onChange={(e) => p.set(p.path, e.target.value === "default" ? undefined : firstOf(members[Number(e.target.value)], p.instrument))}
        >
          <option value="default">
            {say("isDefault")}
            {fallback === null ? "" : `: ${name("value" in fallback ? text(fallback.value) : fallback.says)}`}
          </option>
          {members.map((m, k) => (
            <option key={nameOf(m)} value={String(k)}>
              {shownName(m, name)}
            </option>
          ))}
        </select>
      </div>
      {!simple && <One {...p} node={members[Math.max(0, index)]} value={p.value} />}
    </fieldset>
  );
}, alike);

const One: React.MemoExoticComponent<(p: OneProps) => ReactElement> = memo(function One(p: OneProps): ReactElement {
  const { inches } = useContext(SettingsContext);
  const say = useSay();
  const name = useNames();
  const id = useId();
  const { node, path, value } = p;
  const label = p.label ?? name(node.title ?? String(path.at(-1)));
  const reason = node.description ?? "";
  const fallback = defaultOf(node, p.instrument);
  const fallbackText = fallback === null ? "" : name("value" in fallback ? text(fallback.value) : fallback.says);
  const kind = kindOf(node);
  if (node.const !== undefined) return <p className="why">{node.description ?? name(text(node.const))}</p>;
  switch (kind) {
    case "group":
      return (
        <fieldset>
          <legend>{label}</legend>
          {reason !== "" && <p className="why">{reason}</p>}
          {Object.entries(node.properties ?? {}).map(([key, child]) => {
            const { label: _, ...rest } = p;
            return <Fields key={key} {...rest} node={child} path={[...path, key]} />;
          })}
        </fieldset>
      );
    case "quantity":
    case "number":
    case "integer":
      return (
        <LengthField
          label={label}
          reason={reason}
          unit={node.unit ?? ""}
          min={node.minimum}
          max={node.maximum}
          value={typeof value === "number" || typeof value === "string" ? value : undefined}
          fallback={fallbackText}
          whole={kind === "integer"}
          place={kind === "quantity" && node.minimum === undefined}
          inches={inches}
          onChange={(v, drag) => p.set(path, v, drag)}
        />
      );
    case "choice":
      return (
        <div className="field">
          <label htmlFor={id}>{label}</label>
          <select
            id={id}
            aria-describedby={`${id}-why`}
            value={value === undefined ? "" : text(value)}
            onChange={(e) => p.set(path, e.target.value === "" ? undefined : e.target.value)}
          >
            {(value === undefined || fallbackText !== "") && (
              <option value="">{`${say("isDefault")}${fallbackText === "" ? "" : `: ${fallbackText}`}`}</option>
            )}
            {node.enum!.map((v) => (
              <option key={text(v)} value={text(v)}>
                {name(text(v))}
              </option>
            ))}
          </select>
          <span className="why" id={`${id}-why`}>
            {reason}
          </span>
        </div>
      );
    case "switch":
      return (
        <div className="field">
          <label htmlFor={id}>{label}</label>
          <input id={id} type="checkbox" checked={value === true} onChange={(e) => p.set(path, e.target.checked)} />
          <span className="why">{reason}</span>
        </div>
      );
    case "text":
      return (
        <TextField
          label={label}
          reason={reason}
          value={typeof value === "string" ? value : ""}
          fallback={fallbackText}
          set={(v) => p.set(path, v)}
        />
      );
    default:
      return node.items === undefined ? <AsFile {...p} label={label} /> : <List {...p} label={label} fallback={fallbackText} />;
  }
}, alike);

function TextField(p: {
  label: string;
  reason: string;
  value: string;
  fallback: string;
  set: (v: string | undefined) => void;
}): ReactElement {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const finish = (): void => {
    if (typed !== null && typed !== p.value) p.set(typed === "" ? undefined : typed);
    setTyped(null);
  };
  return (
    <div className="field">
      <label htmlFor={id}>{p.label}</label>
      <input
        id={id}
        value={typed ?? p.value}
        placeholder={p.fallback}
        autoComplete="off"
        aria-describedby={`${id}-why`}
        onChange={(e) => setTyped(e.target.value)}
        onBlur={finish}
        onKeyDown={(e) => e.key === "Enter" && finish()}
      />
      <span className="why" id={`${id}-why`}>
        {p.reason}
      </span>
    </div>
  );
}

/** A list: of quantities or words in one line, of anything else item by item. */
function List(p: FieldsProps & { readonly value: Json | undefined; readonly fallback: string }): ReactElement {
  const say = useSay();
  const name = useNames();
  const item = p.node.items!;
  const list = Array.isArray(p.value) ? (p.value as readonly Json[]) : [];
  return (
    <fieldset>
      <legend>{p.label}</legend>
      <p className="why">
        {p.node.description ?? ""}{" "}
        {list.length === 0 && p.fallback !== "" ? `${say("isDefault")}: ${p.fallback === "[]" ? say("none") : p.fallback}` : ""}
      </p>
      {list.map((_, k) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: items have no name but their place
        <div key={k} className="item">
          <Fields
            node={item}
            path={[...p.path, k]}
            valueAt={p.valueAt}
            instrument={p.instrument}
            set={p.set}
            label={`${item.title === undefined ? p.label : name(item.title)} ${k + 1}`}
          />
          <button
            type="button"
            className="small"
            aria-label={`${say("remove")}: ${item.title === undefined ? p.label : name(item.title)} ${k + 1}`}
            onClick={() => p.set(p.path, list.length === 1 ? undefined : list.filter((_item, j) => j !== k))}
          >
            {say("remove")}
          </button>
        </div>
      ))}
      <button
        type="button"
        className="small"
        onClick={() => p.set(p.path, [...list, list.at(-1) ?? firstOf(memberOf(item, undefined), p.instrument)])}
      >
        {say("add")}
        <span className="unseen">: {p.label}</span>
      </button>
    </fieldset>
  );
}

/** What no form fits: the part of the file itself. */
function AsFile(p: FieldsProps & { readonly value: Json | undefined; readonly label: string }): ReactElement {
  return (
    <div className="field">
      <span>{p.label}</span>
      <JsonText
        text={p.value === undefined ? "" : JSON.stringify(p.value)}
        rows={3}
        label={p.label}
        mayBeEmpty
        take={(v) => p.set(p.path, v)}
      />
    </div>
  );
}
