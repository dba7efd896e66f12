// Writes out/gallery/index.html, every example's drawings beside what is kept of them. `npm run gallery`; with `-- --keep` it keeps them as they are now.
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { escapeXml } from "../src/sheet/draw/svg.ts";
import { caseNames, drawCase } from "../test/cases/cases.ts";

const keep = process.argv.includes("--keep");
const root = process.cwd();
const cases = caseNames(root).map((n) => drawCase(root, n));
const data = (text: string): string => `data:image/svg+xml;base64,${Buffer.from(text).toString("base64")}`;
const page: string[] = [
  "<!doctype html><html lang=en><meta charset=utf-8><title>The drawings that are kept</title>",
  "<style>body{font:1rem/1.5 system-ui;margin:2rem;max-width:75rem}figure{margin:1rem 0}img{max-width:100%;border:1px solid #ccc;background:#fff}.new{outline:3px solid #b35c00}</style>",
  "<h1>The drawings that are kept</h1>",
];
const list: string[] = [
  "# The drawings that are kept",
  "",
  "Every example order, drawn without a shop: plan, side, sections, headstock, and how far each fret is out of tune. A test compares them with",
  "what the code draws (`npx vitest run test/cases`); `npm run gallery` lays old and new side by side, `npm run gallery -- --keep` keeps the new.",
  "",
];
let changes = 0;
for (const c of cases) {
  page.push(`<h2>${escapeXml(c.title)}</h2>`);
  list.push(`## ${c.title}`, "");
  const dir = join(root, "test", "cases", c.name);
  if (keep) {
    rmSync(dir, { recursive: true, force: true });
    mkdirSync(dir, { recursive: true });
  }
  for (const p of c.pictures) {
    const file = join(dir, `${p.id}.svg`);
    const old = existsSync(file) ? readFileSync(file, "utf8") : null;
    if (old !== p.svg) changes++;
    if (keep) writeFileSync(file, p.svg);
    list.push(`![${p.title}](${c.name}/${p.id}.svg)`, "");
    const was = old !== null && old !== p.svg ? `<p>kept</p><img alt="${escapeXml(p.title)}, as kept" src="${data(old)}">` : "";
    page.push(
      `<figure><figcaption>${escapeXml(p.title)}${old === p.svg ? "" : keep ? "" : old === null ? ": not kept yet" : ": changed"}</figcaption>${was}<img${old === p.svg ? "" : " class=new"} alt="${escapeXml(p.title)}" src="${data(p.svg)}"></figure>`,
    );
  }
}
mkdirSync(join(root, "out", "gallery"), { recursive: true });
writeFileSync(join(root, "out", "gallery", "index.html"), page.join("\n"));
if (keep) writeFileSync(join(root, "test", "cases", "README.md"), `${list.join("\n").trimEnd()}\n`);
console.log(
  `${cases.length} cases, ${changes} drawings ${keep ? "taken anew" : "differ from what is kept"}; look at out/gallery/index.html`,
);
