import { useEffect, useState } from "react";
import { listTable, readRow } from "../api.ts";
import { sentence } from "../parts.tsx";

/* Rows of the shop's tables, as every part of the page reads them. */

export interface Row<T> {
  readonly name: string;
  readonly mark: string;
  readonly row: T;
}

/** The rows of a table, read whole. */
export function useRows<T>(kind: string): { readonly rows: readonly Row<T>[]; readonly read: () => void; readonly refusal: string } {
  const [rows, setRows] = useState<readonly Row<T>[]>([]);
  const [refusal, setRefusal] = useState("");
  const [asked, setAsked] = useState(0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when it is asked for
  useEffect(() => {
    let gone = false;
    const all = async (): Promise<Row<T>[]> => {
      const found = await Promise.all((await listTable(kind)).map(async (h) => [h.name, await readRow(kind, h.name)] as const));
      return found.flatMap(([name, doc]) => (doc === null ? [] : [{ name, mark: doc.mark, row: JSON.parse(doc.text) as T }]));
    };
    all().then(
      (r) => {
        if (!gone) setRows(r);
      },
      (e: unknown) => setRefusal(sentence(e)),
    );
    return () => {
      gone = true;
    };
  }, [kind, asked]);
  return { rows, read: () => setAsked((n) => n + 1), refusal };
}
