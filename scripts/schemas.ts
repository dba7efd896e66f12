// Writes schemas/*.schema.json and docs/order.md from the schemas in src/spec/. `npm run schemas`
import { mkdirSync, writeFileSync } from "node:fs";
import { orderDoc } from "../src/spec/doc.ts";
import { orderSchema, shopSchema } from "../src/spec/json-schema.ts";

mkdirSync("schemas", { recursive: true });
mkdirSync("docs", { recursive: true });
const files: [string, string][] = [
  ["schemas/order.schema.json", `${JSON.stringify(orderSchema(), null, 2)}\n`],
  ["schemas/shop.schema.json", `${JSON.stringify(shopSchema(), null, 2)}\n`],
  ["docs/order.md", orderDoc()],
];
for (const [file, text] of files) {
  writeFileSync(file, text);
  console.log(`${file}: ${text.length} bytes`);
}
