import { strToU8, zipSync } from "fflate";
import type { Mesh } from "./types.ts";

/** The same date in every package, so that the same neck gives the same bytes: the ZIP format's first day. */
const DATE = "1980-01-01T00:00:00";

const CONTENT_TYPES = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
`;

const RELATIONSHIPS = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="model" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
`;

const escaped = (s: string): string => s.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");

/** Six places: a millionth of a mm, without a negative zero. */
const num = (v: number): string => {
  const s = v.toFixed(6).replace(/\.?0+$/, "");
  return s === "-0" ? "0" : s;
};

/** A package of the 3MF Core Specification 1.3: one object of type model in one build item, unit millimeter. */
export function threeMfOf(mesh: Mesh, metadata: { readonly Title: string; readonly Description: string }): Uint8Array {
  const { positions: p, triangles: t } = mesh;
  const lines: string[] = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
    `<metadata name="Title">${escaped(metadata.Title)}</metadata>`,
    `<metadata name="Description">${escaped(metadata.Description)}</metadata>`,
    "<resources>",
    `<object id="1" type="model" name="${escaped(metadata.Title)}"><mesh><vertices>`,
  ];
  for (let k = 0; k < p.length; k += 3) lines.push(`<vertex x="${num(p[k])}" y="${num(p[k + 1])}" z="${num(p[k + 2])}"/>`);
  lines.push("</vertices><triangles>");
  for (let k = 0; k < t.length; k += 3) lines.push(`<triangle v1="${t[k]}" v2="${t[k + 1]}" v3="${t[k + 2]}"/>`);
  lines.push("</triangles></mesh></object>", "</resources>", '<build><item objectid="1"/></build>', "</model>", "");
  return zipSync(
    {
      "[Content_Types].xml": strToU8(CONTENT_TYPES),
      "_rels/.rels": strToU8(RELATIONSHIPS),
      "3D/3dmodel.model": strToU8(lines.join("\n")),
    },
    { level: 6, mtime: DATE },
  );
}
