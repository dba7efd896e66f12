// The process that is killed: node killed-writer.mjs FOLDER
import { writeSync } from "node:fs";
import { writeForEver } from "./killing.ts";

// written at once, not when the loop comes round: what is said is said before the next thing is begun
await writeForEver(process.argv[2], (line) => void writeSync(1, `${line}\n`));
