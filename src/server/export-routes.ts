import { extname } from "node:path";
import { zipSync } from "fflate";
import { Hono } from "hono";
import type { ShopFolder } from "../job/shop-folder.ts";
import { plain, TYPES } from "./app.ts";

/** So many are waited for at once; each takes up to a few seconds of a thread. */
const MOST_WAITING = 4;

/** What of a neck leaves the house: GET /exports/ORDER/KIND is its file, or all of its files in one archive. */
export function exportRoutes(shop: ShopFolder): Hono {
  const app = new Hono();
  let waiting = 0;
  app.get("/exports/:order/:kind", async (c) => {
    // writers of sheets and solids are loaded where something is exported
    const { EXPORT_KINDS } = await import("../job/export.ts");
    const kind = EXPORT_KINDS.find((k) => k === c.req.param("kind"));
    if (kind === undefined) return plain(c, 404, `There is no such kind; there are ${EXPORT_KINDS.join(", ")}.`);
    if (waiting >= MOST_WAITING) return plain(c, 429, "Others are exporting; try again in a few seconds.");
    const order = c.req.param("order");
    waiting++;
    try {
      const made = await shop.exported(order, c.req.query("shop") || null, kind, c.req.query("paper") === "Letter" ? "Letter" : "A4");
      if (made.files === null) return plain(c, 409, made.findings.map((f) => `${f.where}: ${f.says}`).join(" "));
      const [first] = made.files;
      if (first === undefined) return plain(c, 409, made.left.map((l) => l.why).join(" "));
      const one = made.files.length === 1;
      const name = one ? first.path : `${order}-${kind}.zip`;
      const bytes = one ? first.bytes : zipSync(Object.fromEntries(made.files.map((f) => [f.path, f.bytes])));
      c.header("Content-Type", TYPES[extname(name)] ?? "application/octet-stream");
      c.header("Content-Disposition", `attachment; filename="${name.replaceAll(/[^A-Za-z0-9._-]/g, "-")}"`);
      c.header("Cache-Control", "no-store");
      return c.body(new Uint8Array(bytes));
    } finally {
      waiting--;
    }
  });
  return app;
}
