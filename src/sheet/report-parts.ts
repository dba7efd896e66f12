import { escapeXml, svg } from "./draw/svg.ts";
import type { Drawing } from "./draw/types.ts";
import { scaleText } from "./drawings/common.ts";

/* Pieces of the report's HTML that every section is made of. */

const e = escapeXml;

/** Width that a drawing is laid out for, mm: with the page's column its text comes out at reading size. */
export const COLUMN = 250;

export interface Cell {
  readonly text: string;
  readonly out?: boolean;
}

/** A table; columns whose name begins with "#" hold numbers; the first column heads its row. */
export function table(caption: string, heads: readonly string[], rows: readonly (readonly (string | Cell)[])[]): string {
  const isNumber = heads.map((h) => h.startsWith("#"));
  const head = heads.map((h, i) => `<th scope="col"${isNumber[i] ? ' class="n"' : ""}>${e(h.replace(/^#/, ""))}</th>`).join("");
  const body = rows.map((row) => {
    const cells = row.map((c, i) => {
      const { text, out = false } = typeof c === "string" ? { text: c } : c;
      const classes = [isNumber[i] ? "n" : "", out ? "out" : ""].filter((k) => k !== "").join(" ");
      const attribute = classes === "" ? "" : ` class="${classes}"`;
      return i === 0 ? `<th scope="row"${attribute}>${e(text)}</th>` : `<td${attribute}>${e(text)}</td>`;
    });
    return `<tr>${cells.join("")}</tr>`;
  });
  return `<div class="scroll" tabindex="0" role="region" aria-label="${e(caption)}"><table><caption>${e(caption)}</caption>
<thead><tr>${head}</tr></thead>
<tbody>
${body.join("\n")}
</tbody></table></div>`;
}

export const section = (id: string, name: string, body: string): string => `<section id="${id}" aria-labelledby="h-${id}">
<h2 id="h-${id}">${e(name)}</h2>
${body}
</section>`;

/** A drawing inline. Anything wider than a phone scrolls inside its own frame. */
export const figure = (d: Drawing, small = false): string =>
  `<figure${small ? ' class="small"' : ""}><div class="scroll" tabindex="0" role="region" aria-label="${e(d.title)}">${svg(d, { flow: true, idPrefix: "d-" })}</div>
<figcaption>${e(d.title)}${d.scale === null ? "" : `, drawn ${scaleText(d.scale)} (the files in drawings/ are at true size)`}. ${e(d.says)}</figcaption></figure>`;
