import { readFileSync } from "node:fs";
import { writeFiles } from "../src/job/write.ts";
import { PLANS_FILE, PLANS_ORDER, PLANS_SHOPS, plansText } from "./plans-text.ts";

/*
 * npm run plans: plans the demo neck for both example shops and writes every cut with its speeds, loads, time and what limited it into
 * docs/plans.md. Nothing is entered by hand.
 */

const text = plansText(PLANS_ORDER, PLANS_SHOPS, (path) => readFileSync(path));
await writeFiles("docs", [{ path: PLANS_FILE, bytes: new TextEncoder().encode(text) }]);
console.log(`docs/${PLANS_FILE}: ${PLANS_ORDER} in ${PLANS_SHOPS.join(" and ")}`);
