import { parseShop } from "../spec/index.ts";
import type { Kind, Said, Store } from "./types.ts";

/* The tables of a shop: its machine, cutters, woods and hardware each as a document of its own, so that each has its own history. */

/** Which shop a part belongs to, from its name; the forms cannot be mistaken for each other, whatever a shop is called. */
const OWNERS: { readonly [K in "machine" | "cutter" | "hardware"]: RegExp } = {
  machine: /^(.+)$/,
  cutter: /^(.+)-t\d+$/,
  hardware: /^(.+)-(?:tuners|rods|bars|bolts|inserts|wires|nuts)-\d+$/,
};

/** What of a shop's file goes into which table: kind, name, and the part as the shop means it, complete. */
export function partsOf(shop: string, text: string): { readonly kind: Kind; readonly name: string; readonly text: string }[] {
  const { value } = parseShop(new TextEncoder().encode(text));
  if (value === null || value === undefined) return [];
  const part = (kind: Kind, name: string, v: unknown): { kind: Kind; name: string; text: string } => ({
    kind,
    name,
    text: JSON.stringify(v),
  });
  const { hardware, corrections = [] } = value;
  const shelf = Object.entries(hardware ?? {}).flatMap(([key, list]: [string, readonly unknown[]]) =>
    list.map((one, k) => part("hardware", `${shop}-${key}-${k + 1}`, one)),
  );
  return [
    part("machine", shop, { ...value.machine, corrections: corrections.filter((c) => c.kind === "axes") }),
    ...value.cutters.map((c) =>
      part("cutter", `${shop}-t${c.number}`, {
        ...c,
        corrections: corrections.filter((r) => r.kind === "cutter" && r.number === c.number),
      }),
    ),
    ...shelf,
  ];
}

/** Brings the tables to what the shop's file says: changed parts get a version, parts that are gone are taken away. */
export function keepParts(store: Store, shop: string, text: string, said: Said): void {
  const parts = partsOf(shop, text);
  if (parts.length === 0) return;
  const wanted = new Map(parts.map((p) => [`${p.kind}/${p.name}`, p]));
  for (const p of wanted.values()) store.put(p.kind, p.name, p.text, store.get(p.kind, p.name)?.mark ?? null, said);
  for (const kind of ["machine", "cutter", "hardware"] as const)
    for (const head of store.list(kind))
      if (!wanted.has(`${kind}/${head.name}`) && OWNERS[kind].exec(head.name)?.[1] === shop) store.remove(kind, head.name, head.mark, said);
}
