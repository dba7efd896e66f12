import type { Finding } from "../units/index.ts";
import { finding } from "../units/index.ts";
import type { Json } from "./json.ts";
import { nearest } from "./nearest.ts";
import { FORMAT } from "./rules.ts";

/*
 * Files say which version they are ("neckwright": "order/1"). A newer program reads an older file by numbered steps, each of
 * which turns version n into n + 1; nothing is repaired at load. Every step keeps a before and an after file in its test.
 */

export type FileKind = "order" | "shop";
type Doc = { readonly [key: string]: Json };

/** The version this program writes and reads, and the steps that lead to it: STEPS[kind][n - 1] turns version n into n + 1. */
export const CURRENT: Readonly<Record<FileKind, number>> = { order: 1, shop: 1 };
const STEPS: Readonly<Record<FileKind, readonly ((doc: Doc) => Doc)[]>> = { order: [], shop: [] };

export type Migrated = { readonly ok: true; readonly doc: Doc; readonly from: number } | { readonly ok: false; readonly finding: Finding };

/** Brings a file of a kind to the current version, or says why it cannot. */
export function migrate(kind: FileKind, value: unknown): Migrated {
  const want = `${kind}/${CURRENT[kind]}`;
  const refuse = (shown: string | null, says: string, tryThis: string): Migrated => ({
    ok: false,
    finding: finding(FORMAT, { where: "neckwright", value: shown, limit: want, unit: "", says, tryThis }),
  });
  if (typeof value !== "object" || value === null || Array.isArray(value)) {
    return refuse(null, `The file does not hold an object in braces.`, `Start with { "neckwright": "${want}", … }.`);
  }
  const doc = value as Doc;
  const tag = Object.hasOwn(doc, "neckwright") ? doc.neckwright : undefined;
  if (tag === undefined) {
    const near = nearest("neckwright", Object.keys(doc).slice(0, 200));
    const hint = near?.toLowerCase().startsWith("neck") ? ` (there is ${JSON.stringify(near.slice(0, 40))})` : "";
    return refuse(null, `The key "neckwright" that names the kind of file is missing${hint}.`, `Add "neckwright": "${want}".`);
  }
  const m = typeof tag === "string" ? /^(order|shop)\/([1-9]\d{0,3})$/.exec(tag) : null;
  const shown = typeof tag === "string" ? tag.slice(0, 60) : typeof tag;
  if (m === null) return refuse(shown, `"neckwright" is not a kind of file and its version.`, `Write "neckwright": "${want}".`);
  if (m[1] !== kind)
    return refuse(
      shown,
      `This is a file of kind ${m[1]} where ${kind === "order" ? "an order" : "a shop"} is expected.`,
      `Give a NAME.${kind}.json.`,
    );
  const from = Number(m[2]);
  if (from > CURRENT[kind]) {
    return refuse(
      shown,
      `The file is of version ${from}; this program reads up to ${CURRENT[kind]}.`,
      "Use a newer version of this program.",
    );
  }
  let current = doc;
  for (let v = from; v < CURRENT[kind]; v++) current = STEPS[kind][v - 1]!(current);
  return { ok: true, doc: current, from };
}
