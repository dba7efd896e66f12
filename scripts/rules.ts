// Writes RULES.md from the rules of every stage (src/job/rule-book.ts). `npm run rules`
import { writeFileSync } from "node:fs";
import { RULE_BOOK, ruleBookText } from "../src/job/rule-book.ts";

writeFileSync("RULES.md", ruleBookText());
console.log(`RULES.md: ${RULE_BOOK.reduce((n, stage) => n + stage.rules.length, 0)} rules`);
