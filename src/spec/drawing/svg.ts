import { XMLParser, XMLValidator } from "fast-xml-parser";
import type { Finding } from "../../units/index.ts";
import { type Affine, after, mapPiece, shift, stretch } from "./affine.ts";
import { ACTIVE, ASPECT, FORM, LIMIT, MAX_CURVES, MAX_NESTING, NUMBER, OUTSIDE, refuse, tell, UNREAD } from "./rules.ts";
import type { Sink } from "./sink.ts";
import { type Shape, shapeOf } from "./svg-shapes.ts";
import { numberList, physical, splitLength, transformOf, userLength } from "./svg-text.ts";
import type { DrawingUnit, Strokes } from "./types.ts";
import { DRAWING_UNITS, UNIT_MM } from "./units.ts";

interface Node {
  /** Without prefix. */
  readonly tag: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly Node[];
  /** Text directly inside; kept for style sheets only. */
  readonly text: string;
}

const MOST_TAGS = 3 * MAX_CURVES;
const MOST_ATTRIBUTES = 12 * MAX_CURVES;
const MOST_IN_TAG = 20_000;

/** Elements that draw nothing by themselves. */
const QUIET = new Set(
  "defs symbol clipPath mask pattern marker linearGradient radialGradient filter title desc metadata style script namedview view cursor font".split(
    " ",
  ),
);
/** Elements that draw, but no outline. */
const NO_CURVE = new Set("text image foreignObject video audio iframe canvas animate animateTransform animateMotion set mpath".split(" "));
/** CSS properties that change where curves lie. */
const SHAPING = /(?:^|[;{\s])(transform|transform-origin|translate|rotate|scale|zoom|offset-path|d|x|y|cx|cy|r|rx|ry|width|height)\s*:/i;
const HIDING = /(?:^|[;{\s])(display|visibility)\s*:/i;

/** Strokes of an SVG text in user units, y up. Nothing is fetched, run or expanded. Throws a Refusal. */
export function svgStrokes(text: string, findings: Finding[], sink: Sink): Strokes {
  const root = parse(text, sink);
  const ids = new Map<string, Node>();
  survey(root, ids, findings);
  const view = viewOf(root, findings);
  new Walk(ids, sink).element(root, after(stretch(1, -1), view.frame), { layers: [], hidden: false, depth: 0, open: [], root: true });
  return { strokes: sink.strokes, unit: view.unit };
}

function parse(text: string, sink: Sink): Node {
  const external = /<!ENTITY\s+(?:%\s+)?[^\s<>"'%]+\s+(?:SYSTEM|PUBLIC)\b/.exec(text);
  if (external !== null) {
    refuse(
      OUTSIDE,
      lineOf(text, external.index),
      "The drawing declares an entity from outside; nothing is opened or fetched.",
      "Delete the declaration, or save as plain SVG.",
    );
  }
  const sheet = /<\?xml-stylesheet\b/.exec(text);
  if (sheet !== null) {
    refuse(
      OUTSIDE,
      lineOf(text, sheet.index),
      "The drawing asks for a style sheet from outside; nothing is opened or fetched.",
      "Save as plain SVG without style sheets.",
    );
  }
  if (/<!ENTITY\s/.test(text)) sink.skip("entity declaration, never expanded");
  refuseTooMuch(text);
  let raw: RawNode[];
  try {
    const verdict = XMLValidator.validate(text, { allowBooleanAttributes: false });
    if (verdict !== true) {
      const { line, col, msg } = verdict.err;
      return refuse(
        FORM,
        `line ${line}:${col}`,
        `The SVG file is not well formed: ${msg.slice(0, 160)} (line ${line}, column ${col})`,
        "Save it again as plain SVG.",
        {
          value: verdict.err.code,
        },
      );
    }
    raw = new XMLParser({
      preserveOrder: true,
      ignoreAttributes: false,
      attributeNamePrefix: "",
      parseTagValue: false,
      parseAttributeValue: false,
      trimValues: false,
      processEntities: false,
      ignoreDeclaration: true,
      ignorePiTags: true,
      maxNestedTags: 100,
    }).parse(text) as RawNode[];
  } catch (e) {
    if (!(e instanceof Error) || !("message" in e) || e.constructor.name === "Refusal") throw e;
    const said = e.message.slice(0, 120);
    if (/nested/i.test(said))
      refuse(LIMIT, "the drawing", `Groups are nested more than ${MAX_NESTING} deep.`, "Ungroup the outline.", { limit: MAX_NESTING });
    if (/external/i.test(said))
      refuse(OUTSIDE, "the drawing", "The drawing refers to another file, which is not opened.", "Save as plain SVG.");
    refuse(FORM, "the drawing", `The SVG file is not well formed: ${said}`, "Save it again as plain SVG.");
  }
  const roots = raw.map(nodeOf).filter((n) => n.tag !== "");
  const root = roots.find((n) => n.tag === "svg");
  if (root === undefined || roots.length !== 1)
    refuse(FORM, "line 1", "The file is XML, but not one SVG drawing.", "Save it as plain SVG.");
  return root;
}

/** Tags and attributes become objects: this bounds time and memory before any is made. */
function refuseTooMuch(text: string): void {
  const no = (at: number, limit: number, what: string): never =>
    refuse(LIMIT, lineOf(text, at), `The drawing has ${what}, more than ${limit}.`, "Save the outline alone, as one path.", { limit });
  let tags = 0;
  let attributes = 0;
  let inTag = 0;
  for (let k = 0; k < text.length; k++) {
    const c = text.charCodeAt(k);
    if (c === 60) {
      inTag = 0;
      if (++tags > MOST_TAGS) no(k, MOST_TAGS, "too many tags");
    } else if (c === 61) {
      if (++attributes > MOST_ATTRIBUTES) no(k, MOST_ATTRIBUTES, "too many attributes");
      if (++inTag > MOST_IN_TAG) no(k, MOST_IN_TAG, "too many attributes in one tag");
    }
  }
}

type RawNode = Record<string, unknown>;

function nodeOf(raw: RawNode): Node {
  const name = Object.keys(raw).find((k) => k !== ":@") ?? "";
  if (name.startsWith("#") || name.startsWith("?") || name.startsWith("!"))
    return { tag: "", attributes: {}, children: [], text: String(raw[name] ?? "") };
  const tag = local(name);
  const inside = (raw[name] as RawNode[] | undefined) ?? [];
  const all = inside.map(nodeOf);
  return {
    tag,
    attributes: (raw[":@"] as Record<string, string> | undefined) ?? {},
    children: all.filter((n) => n.tag !== ""),
    text: tag === "style" ? all.map((n) => n.text).join("\n") : "",
  };
}

const local = (name: string): string => name.slice(name.indexOf(":") + 1);
const lineOf = (text: string, index: number): string => `line ${text.slice(0, index).split("\n").length}`;

/** Ids of all elements; scripts, handlers and style sheets of the whole file. */
function survey(root: Node, ids: Map<string, Node>, findings: Finding[]): void {
  let scripts = 0;
  let handlers = 0;
  const visit = (n: Node): void => {
    const { id } = n.attributes;
    if (id !== undefined && !ids.has(id)) ids.set(id, n);
    if (n.tag === "script") scripts++;
    for (const [name, value] of Object.entries(n.attributes)) {
      if (/^on/i.test(local(name)) || /^\s*javascript:/i.test(value)) handlers++;
    }
    const shaping = n.tag === "style" ? (SHAPING.exec(n.text) ?? HIDING.exec(n.text) ?? /@(import)/i.exec(n.text)) : null;
    if (shaping !== null) {
      refuse(
        UNREAD,
        "the style sheet",
        `The style sheet sets "${shaping[1]}", which could change or hide curves and is not read.`,
        "Save as plain SVG, with attributes in place of the style sheet.",
        {
          value: shaping[1],
        },
      );
    }
    n.children.forEach(visit);
  };
  visit(root);
  if (scripts + handlers > 0) {
    findings.push(
      tell(
        ACTIVE,
        "the drawing",
        `The drawing holds ${scripts} scripts and ${handlers} event handlers; they were not run.`,
        "Use a drawing without them if you did not expect any.",
        {
          value: scripts + handlers,
          limit: 0,
        },
      ),
    );
  }
}

/** The frame from width, height and viewBox, and what one user unit is. */
function viewOf(root: Node, findings: Finding[]): { frame: Affine; unit: Strokes["unit"] } {
  const where = "svg";
  const at = (name: string): string | undefined => attribute(root, name, where);
  if (at("transform") !== undefined) {
    refuse(UNREAD, where, "A transform of the whole drawing is not read.", "Put it on a group inside, or apply it to the curves.");
  }
  const box = at("viewBox");
  const [w, h] = [at("width"), at("height")];
  for (const size of [w, h]) {
    if (size === undefined || size.trim() === "auto" || splitLength(size) !== null) continue;
    refuse(NUMBER, where, `The drawing's size "${size.slice(0, 40)}" is not a length.`, "Give it a width and a height like 180mm.", {
      value: size.slice(0, 40),
    });
  }
  const [wide, high] = [physical(splitLength(w ?? "")), physical(splitLength(h ?? ""))];
  if (box === undefined) return { frame: shift(0, 0), unit: null };
  const v = numberList(box, "viewBox", where);
  if (v.length !== 4 || !(v[2] > 0) || !(v[3] > 0)) {
    refuse(
      NUMBER,
      where,
      `viewBox "${box.slice(0, 60)}" is not four numbers with a width and a height above 0.`,
      "Save the drawing again.",
      { value: box.slice(0, 60) },
    );
  }
  if (wide === null && high === null) return { frame: shift(0, 0), unit: null };
  if ((wide !== null && !(wide > 0)) || (high !== null && !(high > 0))) {
    refuse(NUMBER, where, `The drawing is ${w ?? "?"} wide and ${h ?? "?"} high.`, "Give it a size above 0.");
  }
  const sx = wide === null ? (high as number) / v[3] : wide / v[2];
  const sy = high === null ? sx : high / v[3];
  const fit = at("preserveAspectRatio") ?? "xMidYMid meet";
  const unequal = Math.abs(sx / sy - 1) > 1e-3;
  let mm = sx;
  let frame = shift(0, 0);
  if (/^\s*none\b/.test(fit)) frame = stretch(1, sy / sx);
  else {
    mm = /\bslice\b/.test(fit) ? Math.max(sx, sy) : Math.min(sx, sy);
    // sizes are written with few digits: take the width's word for it when both agree
    if (!unequal) mm = sx;
  }
  if (unequal) {
    findings.push(
      tell(
        ASPECT,
        where,
        `Width over viewBox gives ${+sx.toFixed(6)} mm to the unit, height over viewBox ${+sy.toFixed(6)}; ${+mm.toFixed(6)} is taken.`,
        "Check a known length of the outline.",
        {
          value: +(sx / sy).toFixed(6),
          limit: 1,
        },
      ),
    );
  }
  const name = DRAWING_UNITS.find((u) => Math.abs(mm / UNIT_MM[u] - 1) < 1e-6);
  // a unit by its name is that unit, not what rounding of the width made of it
  if (name !== undefined) mm = UNIT_MM[name];
  const from = wide !== null ? `width ${w} over viewBox ${v[2]}` : `height ${h} over viewBox ${v[3]}`;
  return { frame, unit: { mm, name: (name ?? "other") as DrawingUnit | "other", from } };
}

interface Context {
  readonly layers: readonly string[];
  readonly hidden: boolean;
  readonly depth: number;
  /** Ids of the uses that are being resolved. */
  readonly open: readonly string[];
  readonly root?: boolean;
}

class Walk {
  private readonly ids: ReadonlyMap<string, Node>;
  private readonly sink: Sink;
  private visits = 0;

  constructor(ids: ReadonlyMap<string, Node>, sink: Sink) {
    this.ids = ids;
    this.sink = sink;
  }

  element(n: Node, m: Affine, c: Context): void {
    if (QUIET.has(n.tag)) return;
    const own = namesOf(n);
    const where = own.length > 0 ? `${n.tag} ${own[0].slice(0, 40)}` : n.tag;
    if (++this.visits > 2 * MAX_CURVES)
      refuse(
        LIMIT,
        where,
        "Elements used within used elements multiply beyond all measure.",
        "Unlink the copies and save the outline alone.",
      );
    if (NO_CURVE.has(n.tag)) {
      this.sink.skip(n.tag);
      return;
    }
    const style = attribute(n, "style", where) ?? "";
    const shaping = SHAPING.exec(style) ?? (n.attributes["transform-origin"] !== undefined ? ["", "transform-origin"] : null);
    if (shaping !== null)
      refuse(
        UNREAD,
        where,
        `"${shaping[1]}" in the style changes the shape and is not read.`,
        "Save as plain SVG, with the transform as an attribute.",
        { value: shaping[1] },
      );
    if ((css(style, "display") ?? attribute(n, "display", where)) === "none") {
      this.sink.skip("hidden element");
      return;
    }
    const visibility = css(style, "visibility") ?? attribute(n, "visibility", where);
    const hidden = visibility === undefined || visibility === "inherit" ? c.hidden : visibility !== "visible";
    if (n.attributes["clip-path"] !== undefined || n.attributes.mask !== undefined) this.sink.skip("clip path or mask, not applied");
    const transform = attribute(n, "transform", where);
    const here = transform === undefined ? m : after(m, transformOf(transform, where));
    const inside: Context = { ...c, root: false, hidden, layers: own.length > 0 ? [...c.layers, ...own] : c.layers };
    if (n.tag === "g" || n.tag === "a" || (n.tag === "svg" && c.root === true)) {
      if (c.depth >= MAX_NESTING)
        refuse(LIMIT, where, `Groups are nested more than ${MAX_NESTING} deep.`, "Ungroup the outline.", { limit: MAX_NESTING });
      for (const child of n.children) this.element(child, here, { ...inside, depth: c.depth + 1 });
      return;
    }
    if (n.tag === "use") {
      this.use(n, here, inside, where);
      return;
    }
    if (n.tag === "svg" || n.tag === "switch")
      refuse(UNREAD, where, `<${n.tag}> inside the drawing is not read.`, "Ungroup it, then save as plain SVG.", { value: n.tag });
    const shapes = shapeOf(n.tag, (name) => attribute(n, name, where), where);
    if (shapes === null) {
      this.sink.skip(n.tag.slice(0, 40));
      return;
    }
    if (hidden) {
      this.sink.skip("hidden element");
      return;
    }
    for (const s of shapes) this.put(s, here, inside.layers, where);
  }

  private put(s: Shape, m: Affine, layers: readonly string[], where: string): void {
    if (s.pieces.length === 0) this.sink.nothings++;
    else
      this.sink.figure(
        s.pieces.map((p) => mapPiece(m, p)),
        s.closed,
        layers,
        where,
      );
  }

  private use(n: Node, m: Affine, c: Context, where: string): void {
    const entry = Object.entries(n.attributes).find(([name]) => local(name) === "href");
    const href = entry === undefined ? "" : plain(entry[1], "href", where).trim();
    if (href === "") {
      this.sink.skip("use without href");
      return;
    }
    if (!href.startsWith("#")) {
      refuse(
        OUTSIDE,
        where,
        `"${href.slice(0, 60)}" lies in another file, which is not opened or fetched.`,
        "Copy the shape into this drawing.",
        { value: href.slice(0, 60) },
      );
    }
    const id = href.slice(1);
    const target = this.ids.get(id);
    if (target === undefined)
      refuse(FORM, where, `"${href.slice(0, 60)}" is used, but not in the drawing.`, "Copy the shape into this drawing.", {
        value: href.slice(0, 60),
      });
    if (c.open.includes(id)) refuse(FORM, where, `"${href.slice(0, 60)}" uses itself.`, "Unlink the copies.", { value: href.slice(0, 60) });
    if (c.open.length >= MAX_NESTING)
      refuse(LIMIT, where, `Uses are nested more than ${MAX_NESTING} deep.`, "Unlink the copies.", { limit: MAX_NESTING });
    if (target.tag === "symbol" || target.tag === "svg") {
      refuse(
        UNREAD,
        where,
        `A used <${target.tag}> has a view of its own, which is not read.`,
        "Unlink the copies, then save as plain SVG.",
        { value: target.tag },
      );
    }
    const by = (name: string): number => {
      const v = attribute(n, name, where);
      return v === undefined ? 0 : userLength(v, name, where);
    };
    this.element(target, after(m, shift(by("x"), by("y"))), { ...c, open: [...c.open, id] });
  }
}

/** Names by which a group or shape can be asked for. */
function namesOf(n: Node): string[] {
  const names: string[] = [];
  for (const [name, value] of Object.entries(n.attributes)) {
    if ((name === "id" || name === "data-name" || local(name) === "label") && value !== "" && !names.includes(value)) names.push(value);
  }
  return names;
}

const css = (style: string, property: string): string | undefined =>
  new RegExp(`(?:^|;)\\s*${property}\\s*:\\s*([a-z-]+)`, "i").exec(style)?.[1].toLowerCase();

function attribute(n: Node, name: string, where: string): string | undefined {
  const v = n.attributes[name];
  return v === undefined ? undefined : plain(v, name, where);
}

const NAMED: Readonly<Record<string, string>> = { amp: "&", lt: "<", gt: ">", quot: '"', apos: "'" };

/** Character references and the five names of XML; any other entity is refused, as none is expanded. */
const plain = (text: string, name: string, where: string): string =>
  text.includes("&")
    ? text.replace(/&([^;&\s]{0,40});?/g, (all, ref: string) => {
        const code = /^#x([0-9a-f]{1,6})$/i.exec(ref) ?? /^#(\d{1,7})$/.exec(ref);
        const point = code === null ? -1 : Number.parseInt(code[1], /^#x/i.test(ref) ? 16 : 10);
        if (point > 0 && point <= 0x10ffff) return String.fromCodePoint(point);
        if (Object.hasOwn(NAMED, ref)) return NAMED[ref];
        return refuse(
          OUTSIDE,
          where,
          `${name} refers to the entity "${all.slice(0, 40)}", which is not expanded.`,
          "Save as plain SVG without entities.",
          { value: all.slice(0, 40) },
        );
      })
    : text;
