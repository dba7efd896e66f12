import { CAP_HEIGHT, wrapText } from "../draw/metrics.ts";
import type { Drawing, Ink, Item } from "../draw/types.ts";
import { CHECK_BAR, checkBar, SIZE, scaleText } from "../drawings/common.ts";
import { Pen, shifted } from "../drawings/pen.ts";

/*
 * Sets pages from top to bottom: headings, paragraphs, tables, tick lists and drawings. Text is broken with the font's own widths, so
 * the page is known before any writer sees it. Millimetres of paper.
 */

export type Paper = "A4" | "Letter";

/** Sheet sizes, portrait, mm: ISO 216 A4; US Letter is 8.5 x 11 in. */
export const PAPERS: Readonly<Record<Paper, readonly [number, number]>> = { A4: [210, 297], Letter: [215.9, 279.4] };

const MARGIN = 15;
const HEAD = 11;
const FOOT = 11;
export const TEXT = 3.1;
const LEADING = 1.42;
const CELL = 2.75;

export interface Column {
  readonly head: string;
  /** Share of the table's width. */
  readonly share: number;
  readonly align?: "left" | "right";
}

export interface Cell {
  readonly text: string;
  readonly ink?: Ink;
  readonly bold?: boolean;
}

interface PageState {
  readonly pen: Pen;
  readonly width: number;
  readonly height: number;
  readonly title: string;
  scale: number | null;
}

export interface FlowOptions {
  readonly paper: Paper;
  /** Left and right of the head line of every page. */
  readonly headLeft: string;
  readonly headRight: string;
  readonly footLeft: string;
}

/** Room that a figure takes beyond its drawing, for the caption. */
export const CAPTION = 6;

export class Flow {
  private readonly o: FlowOptions;
  private readonly pages: PageState[] = [];
  private page!: PageState;
  private y = 0;

  constructor(o: FlowOptions) {
    this.o = o;
  }

  get left(): number {
    return MARGIN;
  }
  get width(): number {
    return this.page.width - 2 * MARGIN;
  }
  get bottom(): number {
    return this.page.height - MARGIN - FOOT;
  }
  /** Room left on the page. */
  get room(): number {
    return this.bottom - this.y;
  }

  newPage(title: string, lies: "portrait" | "landscape" = "portrait"): void {
    const [w, h] = PAPERS[this.o.paper];
    const [width, height] = lies === "portrait" ? [w, h] : [h, w];
    this.page = { pen: new Pen(), width, height, title, scale: null };
    this.pages.push(this.page);
    this.y = MARGIN + HEAD;
  }

  private continuePage(): void {
    const lies = this.page.width > this.page.height ? "landscape" : "portrait";
    this.newPage(this.page.title, lies);
  }

  /** Starts a new page when less than `height` is left. */
  need(height: number): void {
    if (this.room < height) this.continuePage();
  }

  /** Sets a block on one page: when it runs over, it is taken back and set again on a new one. A block longer than a page flows on. */
  keep(block: () => void): void {
    const [count, y, items] = [this.pages.length, this.y, this.page.pen.items.length];
    block();
    if (this.pages.length === count || y <= MARGIN + HEAD + 1) return;
    this.pages.length = count;
    this.page = this.pages[count - 1];
    this.page.pen.items.length = items;
    this.continuePage();
    block();
  }

  /** Height that a block of text and tables takes up, without setting it; at most a page's. */
  heightOf(block: () => void): number {
    const [count, y, items] = [this.pages.length, this.y, this.page.pen.items.length];
    this.y = MARGIN + HEAD;
    block();
    const height = (this.pages.length === count ? this.y : this.bottom) - MARGIN - HEAD;
    this.pages.length = count;
    this.page = this.pages[count - 1];
    this.page.pen.items.length = items;
    this.y = y;
    return height;
  }

  space(mm: number): void {
    this.y += mm;
  }

  heading(text: string, level: 1 | 2 | 3 = 2): void {
    const size = level === 1 ? 6.2 : level === 2 ? 4.4 : 3.4;
    this.need(size * 4);
    this.y += level === 1 ? 2 : level === 2 ? 3.5 : 2;
    this.page.pen.text([MARGIN, this.y + size * CAP_HEIGHT], text, size, { bold: true });
    this.y += size * CAP_HEIGHT;
    if (level === 2) {
      this.y += 1.7;
      this.page.pen.line("wide", [MARGIN, this.y], [this.page.width - MARGIN, this.y]);
    }
    this.y += level === 3 ? 1.9 : 3;
  }

  paragraph(text: string, o: { readonly size?: number; readonly bold?: boolean; readonly ink?: Ink; readonly indent?: number } = {}): void {
    const { size = TEXT, bold = false, ink = "ink", indent = 0 } = o;
    for (const line of wrapText(text, this.width - indent, size, bold)) {
      this.need(size * LEADING);
      this.y += size * LEADING;
      this.page.pen.text([MARGIN + indent, this.y - size * 0.32], line, size, { bold, ink });
    }
    this.y += size * 0.45;
  }

  /** Lines with a mark before them: a bullet, or a box to tick. */
  list(lines: readonly string[], o: { readonly box?: boolean; readonly indent?: number; readonly size?: number } = {}): void {
    const { box = false, indent = 0, size = TEXT } = o;
    const hang = box ? 5.6 : 4;
    for (const text of lines) {
      const broken = wrapText(text, this.width - indent - hang, size);
      this.need(size * LEADING * broken.length);
      broken.forEach((line, i) => {
        this.y += size * LEADING;
        const base = this.y - size * 0.32;
        if (i === 0 && box) this.tick(MARGIN + indent, base);
        else if (i === 0) this.page.pen.circle("none", [MARGIN + indent + 1.2, base - size * 0.34], 0.5, { fill: "ink" });
        this.page.pen.text([MARGIN + indent + hang, base], line, size);
      });
      this.y += size * (box ? 0.34 : 0.22);
    }
  }

  /** A box to tick whose lower edge stands on the baseline. */
  private tick(x: number, base: number): void {
    this.page.pen.rect("narrow", [x + 0.2, base - 3], [x + 3.4, base + 0.2]);
  }

  /** A framed note on a shaded ground. */
  note(title: string, lines: readonly string[], ink: Ink = "ink"): void {
    const pad = 3;
    const inner = this.width - 2 * pad;
    const broken = lines.flatMap((l) => wrapText(l, inner, TEXT));
    const height = pad * 2 + TEXT * LEADING * broken.length + (title === "" ? 0 : 5.4);
    this.need(height + 2);
    const pen = this.page.pen;
    pen.rect("wide", [MARGIN, this.y], [this.page.width - MARGIN, this.y + height], { fill: "shade", ink });
    let y = this.y + pad;
    if (title !== "") {
      pen.text([MARGIN + pad, y + 3], title, 3.5, { bold: true, ink });
      y += 5.4;
    }
    for (const l of broken) {
      y += TEXT * LEADING;
      pen.text([MARGIN + pad, y - TEXT * 0.32], l, TEXT);
    }
    this.y += height + 2.4;
  }

  table(
    columns: readonly Column[],
    rows: readonly (readonly (string | Cell)[])[],
    o: { readonly size?: number; readonly ruleEvery?: number } = {},
  ): void {
    const size = o.size ?? CELL;
    const total = columns.reduce((s, c) => s + c.share, 0);
    const widths = columns.map((c) => (c.share / total) * this.width);
    const pad = 1.1;
    const lead = size * 1.34;
    const head = (): void => {
      const heads = columns.map((c, i) => wrapText(c.head, widths[i] - 2 * pad, size, true));
      const n = Math.max(...heads.map((h) => h.length));
      this.y += 0.6;
      let x = MARGIN;
      columns.forEach((c, i) => {
        heads[i].forEach((l, k) => {
          const base = this.y + lead * (n - heads[i].length + k + 1) - size * 0.3;
          const [tx, anchor] = c.align === "right" ? ([x + widths[i] - pad, "end"] as const) : ([x + pad, "start"] as const);
          this.page.pen.text([tx, base], l, size, { anchor, bold: true });
        });
        x += widths[i];
      });
      this.y += lead * n + 0.9;
      this.page.pen.line("wide", [MARGIN, this.y], [MARGIN + this.width, this.y]);
    };
    this.need(lead * 4);
    head();
    for (const row of rows) {
      const cells = row.map((c): Cell => (typeof c === "string" ? { text: c } : c));
      const broken = cells.map((c, i) => wrapText(c.text, widths[i] - 2 * pad, size, c.bold));
      const n = Math.max(1, ...broken.map((b) => b.length));
      const height = lead * n + 1.3;
      if (this.room < height) {
        this.continuePage();
        head();
      }
      let x = MARGIN;
      cells.forEach((c, i) => {
        broken[i].forEach((l, k) => {
          const base = this.y + 0.55 + lead * (k + 1) - size * 0.3;
          const right = columns[i].align === "right";
          this.page.pen.text([right ? x + widths[i] - pad : x + pad, base], l, size, {
            anchor: right ? "end" : "start",
            ink: c.ink ?? "ink",
            bold: c.bold ?? false,
          });
        });
        x += widths[i];
      });
      this.y += height;
      this.page.pen.line("hair", [MARGIN, this.y], [MARGIN + this.width, this.y], { ink: "soft" });
    }
    this.y += 2.4;
  }

  /** A drawing, centred; its scale is stated under it and the page gets its check bars when it is to scale. */
  figure(d: Drawing, o: { readonly caption?: string; readonly bars?: boolean } = {}): void {
    const bars = o.bars ?? d.scale !== null;
    const foot = 5;
    if (this.room < d.height + foot) this.continuePage();
    const x = MARGIN + Math.max(0, (this.width - d.width) / 2);
    this.page.pen.items.push(...shifted(d.items, x, this.y));
    this.y += d.height + 3.2;
    const caption = o.caption ?? d.title;
    const text = d.scale === null ? caption : `${caption}, scale ${scaleText(d.scale)}. Dimensions in mm.`;
    this.page.pen.text([MARGIN + this.width / 2, this.y], text, SIZE.figure, { anchor: "middle", ink: "soft" });
    this.y += 2;
    if (bars && d.scale !== null) this.page.scale = d.scale;
  }

  /** Number in a box, name of the step, and what goes with it at the right. */
  stepHead(number: string, name: string, right: string): void {
    this.need(16);
    this.y += 3.4;
    const pen = this.page.pen;
    pen.line("narrow", [MARGIN, this.y], [this.page.width - MARGIN, this.y]);
    this.y += 1.6;
    pen.rect("wide", [MARGIN, this.y], [MARGIN + 8.4, this.y + 6.6]);
    pen.text([MARGIN + 4.2, this.y + 4.7], number, 3.8, { anchor: "middle", bold: true });
    pen.text([MARGIN + 11, this.y + 4.6], name, 3.6, { bold: true });
    pen.text([this.page.width - MARGIN, this.y + 4.6], right, TEXT, { anchor: "end", ink: "soft" });
    this.y += 7.4;
  }

  /** Empty lines to write on. */
  ruledLines(count: number): void {
    for (let k = 0; k < count && this.room > 9; k++) {
      this.y += 8;
      this.page.pen.line("hair", [MARGIN, this.y], [this.page.width - MARGIN, this.y], { ink: "soft" });
    }
  }

  /** Raw items, placed with their origin at the left margin and the present height. */
  place(items: readonly Item[], height: number): void {
    this.need(height);
    this.page.pen.items.push(...shifted(items, MARGIN, this.y));
    this.y += height;
  }

  /** Finished pages: head, foot, page numbers, check bars on pages with something to scale. */
  done(): Drawing[] {
    const n = this.pages.length;
    return this.pages.map((p, i): Drawing => {
      const pen = new Pen();
      const { width, height } = p;
      const top = MARGIN + 3;
      pen.text([MARGIN, top], this.o.headLeft, 2.8, { bold: true });
      pen.text([width - MARGIN, top], this.o.headRight, 2.8, { anchor: "end", ink: "soft" });
      pen.line("narrow", [MARGIN, top + 2.2], [width - MARGIN, top + 2.2]);
      const base = height - MARGIN - 1;
      pen.line("narrow", [MARGIN, base - 4.4], [width - MARGIN, base - 4.4]);
      pen.text([MARGIN, base], this.o.footLeft, 2.5, { ink: "soft" });
      pen.text([width - MARGIN, base], `page ${i + 1} of ${n}`, 2.8, { anchor: "end" });
      if (p.scale !== null) {
        checkBar(pen, [(width - CHECK_BAR) / 2, height - 8], "x");
        checkBar(pen, [7, (height + CHECK_BAR) / 2], "y");
      }
      return {
        id: `page-${i + 1}`,
        title: p.title,
        says: "",
        width,
        height,
        group: 0.35,
        items: [...p.pen.items, ...pen.items],
        scale: p.scale,
      };
    });
  }
}
