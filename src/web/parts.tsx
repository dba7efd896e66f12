import { type ReactElement, useState } from "react";
import type { Json } from "./document.ts";
import { useSay } from "./settings.tsx";

/* Small things that several pages have. */

/** What went wrong, with what to try where the error says so. */
export const sentence = (e: unknown): string =>
  !(e instanceof Error) ? String(e) : "tryThis" in e ? `${e.message}. ${String(e.tryThis)}`.replace(/\.\. |\. $/, ". ").trim() : e.message;

/** Why something was not taken; nothing where there is nothing to say. */
export const Refused = ({ says }: { readonly says: string }): ReactElement | null =>
  says === "" ? null : (
    <p className="refusal" role="alert">
      {says}
    </p>
  );

/** The heads of a table's columns. */
export const Heads = ({ names }: { readonly names: readonly string[] }): ReactElement => (
  <thead>
    <tr>
      {names.map((n) => (
        <th key={n} scope="col">
          {n}
        </th>
      ))}
    </tr>
  </thead>
);

/** A file chosen on this device, or a picture taken with it; the same one can be chosen again. */
export function FilePick(p: {
  readonly label: string;
  readonly accept: string;
  /** On a device with a camera that is used. */
  readonly camera?: boolean;
  readonly take: (file: File) => void;
}): ReactElement {
  return (
    <label>
      {p.label}{" "}
      <input
        type="file"
        accept={p.accept}
        {...(p.camera === true ? { capture: "environment" as const } : {})}
        onChange={(e) => {
          const file = e.target.files?.[0];
          e.target.value = "";
          if (file !== undefined) p.take(file);
        }}
      />
    </label>
  );
}

/** Data as its text, to be changed by hand; what is no JSON is said and not taken. */
export function JsonText(p: {
  readonly text: string;
  readonly rows: number;
  readonly label: string;
  /** Nothing written takes the place away. */
  readonly mayBeEmpty?: boolean;
  readonly take: (value: Json | undefined) => void;
}): ReactElement {
  const say = useSay();
  const [typed, setTyped] = useState<string | null>(null);
  const [refusal, setRefusal] = useState("");
  return (
    <>
      <textarea rows={p.rows} aria-label={p.label} spellCheck={false} value={typed ?? p.text} onChange={(e) => setTyped(e.target.value)} />
      <Refused says={refusal} />
      <button
        type="button"
        className="small"
        disabled={typed === null}
        onClick={() => {
          try {
            const text = typed ?? "";
            p.take(p.mayBeEmpty === true && text.trim() === "" ? undefined : (JSON.parse(text) as Json));
            setTyped(null);
            setRefusal("");
          } catch (e) {
            setRefusal(sentence(e));
          }
        }}
      >
        {say("take")}
      </button>
    </>
  );
}
