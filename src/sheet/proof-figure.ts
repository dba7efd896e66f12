import { wrapText } from "./draw/metrics.ts";
import type { Drawing } from "./draw/types.ts";
import { dim, SIZE } from "./drawings/common.ts";
import { Pen } from "./drawings/pen.ts";
import type { SideMaps } from "./map-image.ts";
import { hexOf, rampColour } from "./ramp.ts";
import { fixed } from "./words.ts";

const TITLES = { above: "left over", below: "below target" } as const;

/** A proof picture with frame, legend and figures, `width` mm wide. */
export function mapFigure(side: SideMaps, what: "above" | "below", width: number): Drawing {
  const map = side[what];
  const pen = new Pen();
  const height = Math.max(14, (width * map.height) / map.width);
  const title = `${side.side === "board" ? "Board" : "Carve"} side, ${TITLES[what]}`;
  const share = map.cells > 0 ? (100 * map.pastLimit) / map.cells : 0;
  const says =
    map.cells === 0
      ? "Nothing was compared on this side."
      : `Largest ${fixed(map.worst)} mm; ${map.pastLimit === 0 ? "no cell" : `${map.pastLimit} cells (${share < 0.01 ? "under 0.01" : share.toFixed(2)} %)`} past ${map.widest - map.limit < 1e-9 ? "the limit" : "the strictest limit"}, ${fixed(map.limit)} mm, of ${map.cells} compared.`;
  pen.items.push({ kind: "image", at: [0, 0], width, height, png: map.png, alt: `${title}. ${says}` });
  pen.rect("narrow", [0, 0], [width, height]);
  const y = height + 3;
  const barWidth = Math.min(80, width * 0.45);
  const n = 64;
  for (let k = 0; k < n; k++) {
    const x = (barWidth * k) / n;
    pen.rect("none", [x, y], [Math.min(barWidth, x + (1.6 * barWidth) / n), y + 3], { fill: hexOf(rampColour(what, (k + 0.5) / n)) });
  }
  pen.rect("narrow", [0, y], [barWidth, y + 3]);
  for (const share of [0, 0.25, 0.5, 0.75, 1]) {
    const x = barWidth * share;
    pen.line("narrow", [x, y + 3], [x, y + 4]);
    const text = `${share === 1 ? "≥ " : ""}${fixed(map.top * share)}`;
    pen.text([x, y + 6.6], text, SIZE.small, { anchor: share === 0 ? "start" : "middle" });
  }
  const same = map.widest - map.limit < 1e-9;
  for (const [value, name, anchor] of same
    ? ([[map.limit, "limit", "middle"]] as const)
    : ([
        [map.limit, "strictest limit", "end"],
        [map.widest, "widest limit", "start"],
      ] as const)) {
    const x = (barWidth * value) / map.top;
    pen.text([x, y - 0.7], name, SIZE.small, { anchor, ink: "accent" });
    pen.line("wide", [x, y], [x, y + 3], { ink: "accent" });
  }
  const turned = map.turned ? " Along the page: program Y." : "";
  const words = [
    `mm ${TITLES[what]}. ${says}`,
    `As the piece lies at the machine; each point shows the worst of the cells under it. Picture ${dim(Math.abs(map.max[0] - map.min[0]))} x ${dim(Math.abs(map.max[1] - map.min[1]))} mm.${turned}`,
  ].flatMap((w) => wrapText(w, width - barWidth - 8, SIZE.small));
  words.forEach((line, k) => {
    pen.text([barWidth + 8, y + 1.8 + k * 3], line, SIZE.small, { ink: "soft" });
  });
  const tall = Math.max(8.5, 2.6 + words.length * 3);
  return { id: `map-${side.side}-${what}`, title, says, width, height: y + tall, group: 0.35, items: pen.items, scale: null };
}
