import pkg from "../../package.json" with { type: "json" };
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import type { Neck } from "../neck/types.ts";
import { blankOf, type ExportInput, FLAT_KINDS, type FlatKind, flatExport } from "../sheet/exports/index.ts";
import { pdf } from "../sheet/index.ts";
import { type SolidFile, stepBytes, stlBytes, threeMfBytes } from "../sheet/solids/index.ts";
import { checkHardware } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { readFonts } from "./fonts.ts";
import type { Paper } from "./papers.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import { judge } from "./verdict.ts";
import type { OutFile } from "./write.ts";

/** Everything that leaves the house, flat or solid, by the name the command takes. */
export const EXPORT_KINDS: readonly ExportKind[] = [...FLAT_KINDS, "stl", "3mf", "step"];
export type ExportKind = FlatKind | keyof typeof SOLIDS;

const SOLIDS: Readonly<Record<"stl" | "3mf" | "step", (neck: Neck) => SolidFile>> = {
  stl: (neck) => stlBytes(neck),
  "3mf": (neck) => threeMfBytes(neck),
  step: (neck) => stepBytes(neck),
};

export interface Exported {
  /** Null when the order or the shop cannot be read. */
  readonly files: readonly OutFile[] | null;
  /** Kinds asked for that this neck does not have, each with its reason; `stopped` when a finding stands in the way. */
  readonly left: readonly { readonly kind: ExportKind; readonly why: string; readonly stopped: boolean }[];
  readonly findings: readonly Finding[];
  /** Stops of the design that the order does not override; the files are written, and say so. */
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
}

/** The files of an order in the kinds asked for; every kind once, in the order of EXPORT_KINDS. */
export async function exportOrder(
  orderSource: Source,
  shopSource: Source | null,
  kinds: readonly ExportKind[],
  paper: Paper,
): Promise<Exported> {
  const order = readOrder(orderSource);
  const shop = shopSource === null ? null : readShop(shopSource);
  const findings: Finding[] = [...order.findings, ...(shop?.findings ?? [])];
  if (order.value === null || (shop !== null && shop.value === null))
    return { files: null, left: [], findings, blocking: findings, overridden: [] };
  const input = inputOf(order.value, order.sha256, shop?.value ?? null, findings);
  const files: OutFile[] = [];
  const left: { kind: ExportKind; why: string; stopped: boolean }[] = [];
  // what stands in the way of one kind of file is no fault of the design
  const { blocking, overridden } = judge(findings, order.value.overrides);
  const asked = new Set(kinds);
  const fonts = await readFonts();
  for (const kind of EXPORT_KINDS) {
    if (!asked.has(kind)) continue;
    if (kind === "stl" || kind === "3mf" || kind === "step") {
      const made = SOLIDS[kind](input.neck);
      // the three solids say the same of the same neck: once is enough
      for (const f of made.findings)
        if (!findings.some((g) => g.rule === f.rule && g.where === f.where && g.says === f.says)) findings.push(f);
      if (made.bytes === null) left.push({ kind, why: made.findings.map((f) => f.says).join(" "), stopped: true });
      else files.push({ path: `${input.orderName}.${kind}`, bytes: made.bytes });
      continue;
    }
    const made = flatExport(kind, input, paper);
    if (made.none !== null) left.push({ kind, why: made.none, stopped: false });
    for (const t of made.texts) files.push({ path: t.path, bytes: new TextEncoder().encode(t.text) });
    for (const { path, sheet } of made.sheets) {
      const subject = `Order ${input.orderName}, SHA-256 ${input.orderHash}`;
      files.push({ path, bytes: await pdf(sheet.pages, fonts, { title: sheet.title, subject }) });
    }
  }
  return { files, left, findings, blocking, overridden };
}

/** Geometry, checks, blank; what is found goes into `findings`. */
function inputOf(order: OrderSpec, orderHash: string, shop: ShopSpec | null, findings: Finding[]): ExportInput {
  const neck = makeNeck(order);
  findings.push(...neck.findings);
  let blank = blankOf(neck);
  if (shop !== null) {
    if (shop.hardware) findings.push(...checkHardware(order, shop.hardware));
    const holding = planHolding(neck, shop.machine, shop.cutters);
    findings.push(...holding.findings);
    blank = { blank: holding.blank, placement: holding.placement };
  }
  return {
    orderName: order.name,
    orderTitle: order.title,
    orderHash,
    neck,
    blocking: judge(findings, order.overrides).blocking,
    blank,
    hardware: shop?.hardware ?? null,
    version: pkg.version,
  };
}
