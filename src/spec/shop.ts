import { issuesToFindings } from "./issues.ts";
import { readJson } from "./json.ts";
import { migrate } from "./migrate.ts";
import type { Parsed } from "./order.ts";
import { checkShop } from "./shop-check.ts";
import { fillShop } from "./shop-defaults.ts";
import { SHOP_FILE } from "./shop-schema.ts";
import type { ShopSpec } from "./types.ts";

/** Reads a shop file: a complete shop (defaults filled in, mm, radians, mm/s) and findings, or findings alone. Never throws. */
export function parseShop(input: string | Uint8Array): Parsed<ShopSpec> {
  const read = readJson(input);
  if (read.value === undefined) return { findings: read.findings };
  const parsed = parseShopObject(read.value);
  return { ...parsed, findings: [...read.findings, ...parsed.findings] };
}

/** The same for a shop that is already an object. */
export function parseShopObject(input: unknown): Parsed<ShopSpec> {
  const migrated = migrate("shop", input);
  if (!migrated.ok) return { findings: [migrated.finding] };
  const result = SHOP_FILE.safeParse(migrated.doc, { reportInput: true });
  if (!result.success) return { findings: issuesToFindings(result.error.issues, SHOP_FILE) };
  const value = fillShop(result.data);
  return { value, findings: checkShop(value) };
}
