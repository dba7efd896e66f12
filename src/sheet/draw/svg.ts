import { base64 } from "./base64.ts";
import { hatchRuns } from "./hatch.ts";
import { num, plainItems } from "./plain.ts";
import { colourOf, dashes, FONT_FAMILY, lineWidth } from "./style.ts";
import type { Drawing, Ink, LineKind, PathStep, PlainItem, XY } from "./types.ts";

/** Escapes text for XML; characters that XML 1.0 forbids become U+FFFD. */
export function escapeXml(text: string): string {
  return text
    .replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, "\uFFFD")
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
}

/** How a drawing is written as SVG. */
export interface SvgOptions {
  /** Leaves width and height out, for a page that scales the drawing to its column. */
  readonly flow?: boolean;
  readonly idPrefix?: string;
  /** For a screen: open lines of one style that follow each other are one path, and places are written to 0.01 mm. Looks the same, and changes faster. */
  readonly joined?: boolean;
}

/**
 * A drawing as SVG 1.1: width and height in mm with a viewBox of the same numbers, so that it prints true. No scripts, no links,
 * no style attributes; colours are presentation attributes, and classes (`i-ink`, `f-ink`, ...) let a page that holds it recolour it.
 */
export function svg(d: Drawing, options: SvgOptions = {}): string {
  const { open, groups } = svgParts(d, options);
  const parts = groups.flatMap((g) => (g.open === "" ? g.within : [g.open, ...g.within, "</g>"]));
  return `${[open, ...parts, "</svg>"].join("\n")}\n`;
}

/** Neighbours of one style: the group's opening tag, and one text for each element in it. Without a tag there is one element, and no group. */
export interface SvgGroup {
  readonly open: string;
  readonly within: readonly string[];
}

/** The same in pieces, so that a screen puts in only those that changed. */
export interface SvgParts {
  readonly open: string;
  readonly groups: readonly SvgGroup[];
}

export function svgParts(d: Drawing, options: SvgOptions = {}): SvgParts {
  const id = (options.idPrefix ?? "") + d.id;
  const joined = options.joined === true;
  const n: Write = joined ? hundredths : num;
  const size = options.flow ? "" : ` width="${num(d.width)}mm" height="${num(d.height)}mm"`;
  const groups: SvgGroup[] = [
    `<title id="${id}-title">${escapeXml(d.title)}</title>`,
    `<desc id="${id}-desc">${escapeXml(d.says)}</desc>`,
    `<rect class="f-paper" width="${num(d.width)}" height="${num(d.height)}" fill="${colourOf("paper")}"/>`,
  ].map((text) => ({ open: "", within: [text] }));
  let open = "";
  let within: string[] = [];
  const tags = new Map<string, string>();
  const style = (key: string, make: () => string): void => {
    let tag = tags.get(key);
    if (tag === undefined) {
      tag = make();
      tags.set(key, tag);
    }
    if (tag === open) return;
    open = tag;
    within = [];
    if (tag !== "") groups.push({ open, within });
  };
  const put = (text: string): void => {
    if (open === "") groups.push({ open, within: [text] });
    else within.push(text);
  };
  /** Path data of the lines that were put last, and the group they are in. */
  let lines = "";
  let linesIn: string[] | null = null;
  const putLines = (data: string): void => {
    const goesOn = linesIn === within;
    lines = goesOn ? lines + data : data;
    const text = `<path d="${lines}"/>`;
    if (goesOn) within[within.length - 1] = text;
    else put(text);
    linesIn = within;
  };
  for (const one of d.items) {
    if (one.kind === "hatch") {
      // all lines of a hatch are one path: a fraction of the text, and of the time
      const ink = one.ink ?? "soft";
      const path = runsPath(hatchRuns(one), n);
      if (path === "") continue;
      style(`hatch|${ink}`, () => `<g ${merge('fill="none"', strokeOf(ink, "hair", d.group))}>`);
      put(`<path d="${path}"/>`);
      linesIn = null;
      continue;
    }
    // only dimensions and texts fall into pieces
    for (const item of one.kind === "dimension" || one.kind === "text" ? plainItems([one]) : [one]) {
      const line = item.kind === "image" || item.kind === "text" ? item.kind : item.line;
      style(`${line}|${item.kind === "image" ? "" : item.ink}|${"fill" in item ? item.fill : ""}`, () => groupOf(item, d.group));
      const data = joined ? linesOf(item, n) : "";
      if (data !== "") putLines(data);
      else {
        put(element(item, n));
        linesIn = null;
      }
    }
  }
  return {
    open: `<svg xmlns="http://www.w3.org/2000/svg"${size} viewBox="0 0 ${num(d.width)} ${num(d.height)}" role="img" aria-labelledby="${id}-title ${id}-desc" font-family="${FONT_FAMILY}" stroke-linejoin="round">`,
    groups,
  };
}

/** The group's opening tag that carries the item's style: equal for neighbours of one style. */
function groupOf(item: PlainItem, group: number): string {
  if (item.kind === "image") return "";
  if (item.kind === "text") {
    const ink = item.ink ?? "ink";
    return `<g ${fillOf(ink)} stroke="none">`;
  }
  const ink = item.ink ?? "ink";
  const fill = "fill" in item && item.fill !== undefined ? fillOf(item.fill) : 'fill="none"';
  const line = item.line;
  if (line === "none") return `<g ${fill} stroke="none">`;
  return `<g ${merge(fill, strokeOf(ink, line, group))}>`;
}

/** Joins the class attributes of fill and stroke into one. */
function merge(fill: string, stroke: string): string {
  const classes: string[] = [];
  const rest = `${fill} ${stroke}`.replace(/class="([^"]*)" ?/g, (_, c: string) => {
    classes.push(c);
    return "";
  });
  return classes.length > 0 ? `class="${classes.join(" ")}" ${rest}` : rest;
}

const classOf = (prefix: string, ink: Ink): string => (ink.startsWith("#") ? "" : `class="${prefix}-${ink}" `);
const fillOf = (ink: Ink): string => `${classOf("f", ink)}fill="${colourOf(ink)}"`;

function strokeOf(ink: Ink, line: LineKind, group: number): string {
  const dash = dashes(line, group);
  const dashed = dash.length > 0 ? ` stroke-dasharray="${dash.map((v) => num(v)).join(" ")}"` : "";
  return `${classOf("s", ink)}stroke="${colourOf(ink)}" stroke-width="${num(lineWidth(line, group), 4)}"${dashed}`;
}

/** How a length is written. */
type Write = (v: number) => string;
const hundredths: Write = (v) => num(Math.round(v * 100) / 100);

/** Open runs of x, y, x, y, ... as path data. */
function runsPath(runs: readonly (readonly number[])[], n: Write): string {
  let d = "";
  for (const run of runs) {
    d += `M${n(run[0])} ${n(run[1])}L`;
    for (let k = 2; k < run.length; k += 2) d += k === 2 ? `${n(run[k])} ${n(run[k + 1])}` : ` ${n(run[k])} ${n(run[k + 1])}`;
  }
  return d;
}

/** Path data of what is a line and nothing else; "" of any other item. */
function linesOf(item: PlainItem, n: Write): string {
  if (item.kind === "line") return `M${n(item.a[0])} ${n(item.a[1])}L${n(item.b[0])} ${n(item.b[1])}`;
  if (item.kind !== "polyline" || item.closed || item.fill !== undefined || item.line === "none") return "";
  let d = "";
  for (const [x, y] of item.points) d += d === "" ? `M${n(x)} ${n(y)}L` : ` ${n(x)} ${n(y)}`;
  return item.points.length < 2 ? "" : d;
}

function pointsText(points: readonly XY[], n: Write): string {
  let text = "";
  for (let k = 0; k < points.length; k++) text += `${k === 0 ? "" : " "}${n(points[k][0])},${n(points[k][1])}`;
  return text;
}

function element(item: PlainItem, n: Write): string {
  switch (item.kind) {
    case "line":
      return `<line x1="${n(item.a[0])}" y1="${n(item.a[1])}" x2="${n(item.b[0])}" y2="${n(item.b[1])}"/>`;
    case "polyline":
      return `<${item.closed ? "polygon" : "polyline"} points="${pointsText(item.points, n)}"/>`;
    case "path":
      return `<path fill-rule="evenodd" d="${svgPath(item.steps, n)}"/>`;
    case "circle":
      return `<circle cx="${n(item.centre[0])}" cy="${n(item.centre[1])}" r="${n(item.radius)}"/>`;
    case "text": {
      const anchor = item.anchor === "start" ? "" : ` text-anchor="${item.anchor}"`;
      const turn = item.turn ? ` transform="rotate(${num(item.turn, 2)} ${n(item.at[0])} ${n(item.at[1])})"` : "";
      const bold = item.bold ? ' font-weight="bold"' : "";
      return `<text x="${n(item.at[0])}" y="${n(item.at[1])}" font-size="${n(item.size)}"${anchor}${bold}${turn}>${escapeXml(item.text)}</text>`;
    }
    case "image":
      return `<image x="${num(item.at[0])}" y="${num(item.at[1])}" width="${num(item.width)}" height="${num(item.height)}" preserveAspectRatio="none" href="data:image/png;base64,${base64(item.png)}"><title>${escapeXml(item.alt)}</title></image>`;
  }
}

/** SVG path data. Arcs wider than half a turn are written in two pieces, so that the flags stay unambiguous. */
export function svgPath(steps: readonly PathStep[], n: Write = num): string {
  const out: string[] = [];
  for (const s of steps) {
    if (s.to === "move") out.push(`M${n(s.x)} ${n(s.y)}`);
    else if (s.to === "line") out.push(`L${n(s.x)} ${n(s.y)}`);
    else if (s.to === "cubic") out.push(`C${n(s.x1)} ${n(s.y1)} ${n(s.x2)} ${n(s.y2)} ${n(s.x)} ${n(s.y)}`);
    else if (s.to === "close") out.push("Z");
    else {
      const pieces = Math.abs(s.sweep) > Math.PI * 0.99 ? Math.ceil(Math.abs(s.sweep) / (Math.PI * 0.75)) : 1;
      for (let k = 1; k <= pieces; k++) {
        const a = s.start + (s.sweep * k) / pieces;
        const [x, y] = k === pieces ? [s.x, s.y] : [s.cx + s.r * Math.cos(a), s.cy + s.r * Math.sin(a)];
        out.push(`A${n(s.r)} ${n(s.r)} 0 0 ${s.sweep > 0 ? 1 : 0} ${n(x)} ${n(y)}`);
      }
    }
  }
  return out.join("");
}
