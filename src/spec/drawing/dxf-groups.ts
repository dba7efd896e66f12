import type { Finding } from "../../units/index.ts";
import { FORM, LIMIT, MAX_CURVES, NUMBER, REPAIRED, refuse, tell } from "./rules.ts";

/*
 * DXF is pairs of lines: a group code and a value. Before the parser sees a file, every pair is checked and only those pairs that shape
 * a curve are handed on, each entity with its line in place of its handle. So the parser meets no structure that it would loop on,
 * skip or misread: a polyline without its end, tables in disorder, "12,5" for a number, vertices with ids.
 */

/** Codes handed on, by kind of entity. */
const COMMON = [8, 60, 67, 210, 220, 230];
const XYZ = [10, 20, 30];
const KEPT: ReadonlyMap<string, ReadonlySet<number>> = new Map(
  Object.entries({
    LINE: [...XYZ, 11, 21, 31],
    ARC: [...XYZ, 40, 50, 51],
    CIRCLE: [...XYZ, 40],
    ELLIPSE: [...XYZ, 11, 21, 31, 40, 41, 42],
    LWPOLYLINE: [10, 20, 38, 42, 70],
    POLYLINE: [30, 70],
    VERTEX: [...XYZ, 42, 70],
    SEQEND: [],
    SPLINE: [...XYZ, 11, 21, 31, 40, 41, 70, 71],
    INSERT: [2, ...XYZ, 41, 42, 44, 45, 50, 70, 71],
    BLOCK: [1, 2, ...XYZ, 70],
    ENDBLK: [],
  }).map(([kind, codes]) => [kind, new Set([...COMMON, ...codes])]),
);

/** Curves, and as many vertices, ends of blocks and polylines. */
const MOST_ENTITIES = 3 * MAX_CURVES;

const CODE = /^\s*-?\d{1,4}\s*$/;
const DECIMAL = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/;
const WHOLE = /^[+-]?\d{1,9}$/;

export interface CheckedDxf {
  /** BLOCKS and ENTITIES again, checked and reduced. Block names are "B:" and capitals. */
  readonly text: string;
  /** $INSUNITS; null when the file has none. */
  readonly insUnits: number | null;
  /** Layers that are off or frozen, in capitals. What is inserted on a frozen layer is hidden whole. */
  readonly hidden: ReadonlyMap<string, "off" | "frozen">;
  /** Kinds of entities that are not read, with their count. */
  readonly skipped: ReadonlyMap<string, number>;
}

/** Checks and reduces the text of a DXF file. Throws a Refusal that names the line. */
export function checkDxf(text: string, findings: Finding[]): CheckedDxf {
  const lines = text.split(/\r\n|\r|\n/);
  let count = lines.length;
  while (count > 0 && lines[count - 1].trim() === "") count--;
  return new Scan(lines, count, findings).file();
}

class Scan {
  private readonly lines: readonly string[];
  private readonly count: number;
  private readonly findings: Finding[];
  /** Index of the line of the current code. */
  private at = -2;
  private code = -1;
  private value = "";
  private readonly out: string[] = [];
  private insUnits: number | null = null;
  private readonly hidden = new Map<string, "off" | "frozen">();
  private readonly blocks = new Set<string>();
  private entities = 0;
  private readonly skipped = new Map<string, number>();

  constructor(lines: readonly string[], count: number, findings: Finding[]) {
    this.lines = lines;
    this.count = count;
    this.findings = findings;
  }

  file(): CheckedDxf {
    let entities = false;
    let ended = false;
    while (this.next()) {
      if (this.code === 999) continue;
      if (this.code !== 0) this.fault(`group ${this.code} between sections`);
      if (this.value === "EOF") {
        ended = true;
        break;
      }
      if (this.value !== "SECTION") this.fault(`"${clip(this.value)}" where a section should begin`);
      const name = this.sectionName();
      if (name === "HEADER") this.header();
      else if (name === "TABLES") this.tables();
      else if (name === "BLOCKS") this.section("BLOCKS");
      else if (name === "ENTITIES") {
        if (entities) this.fault("a second section of entities");
        entities = true;
        this.section("ENTITIES");
      } else this.toEnd(name);
    }
    if (!entities) this.fault("no section of entities");
    if (!ended) {
      const where = `line ${this.count}`;
      this.findings.push(
        tell(
          REPAIRED,
          where,
          "The file has no end mark (EOF); its sections are complete.",
          "Save it again if a part of the drawing is missing.",
        ),
      );
    }
    this.out.push("0", "EOF", "");
    return { text: this.out.join("\n"), insUnits: this.insUnits, hidden: this.hidden, skipped: this.skipped };
  }

  /** Reads the next pair; false at the end of the file. */
  private next(): boolean {
    this.at += 2;
    if (this.at >= this.count) return false;
    const code = this.lines[this.at];
    if (!CODE.test(code)) this.fault(`"${clip(code)}" where a group code should stand`);
    // the last value may be an empty text
    if (this.at + 1 >= this.lines.length) this.fault("a group code without a value: the file is cut off");
    this.code = Number(code);
    this.value = this.lines[this.at + 1].trim();
    return true;
  }

  private sectionName(): string {
    if (!this.next() || this.code !== 2) this.fault("a section without a name");
    return this.value;
  }

  private must(inside: string): void {
    if (!this.next()) this.fault(`the end of the file inside ${inside}: the file is cut off`);
  }

  private fault(what: string): never {
    const line = Math.min(this.at, this.count) + 1;
    refuse(
      FORM,
      `line ${line}`,
      `The DXF file is not well formed: ${what} (line ${line}).`,
      "Save it again as DXF, R12 or later, in text form.",
      {
        value: what,
      },
    );
  }

  private toEnd(section: string): void {
    do this.must(`section ${clip(section)}`);
    while (!(this.code === 0 && this.value === "ENDSEC"));
  }

  private header(): void {
    let name = "";
    for (;;) {
      this.must("section HEADER");
      if (this.code === 0 && this.value === "ENDSEC") return;
      if (this.code === 9) name = this.value;
      else if (name === "$INSUNITS" && this.code === 70) {
        this.checkNumber();
        this.insUnits = Number(this.value);
      }
    }
  }

  private tables(): void {
    let layer: { name: string; off: boolean; frozen: boolean } | null = null;
    const keep = (): void => {
      if (layer?.off || layer?.frozen) this.hidden.set(layer.name.toUpperCase(), layer.frozen ? "frozen" : "off");
    };
    for (;;) {
      this.must("section TABLES");
      if (this.code === 0) {
        keep();
        if (this.value === "ENDSEC") return;
        layer = this.value === "LAYER" ? { name: "", off: false, frozen: false } : null;
      } else if (layer !== null && this.code === 2) layer.name = this.value;
      else if (layer !== null && this.code === 62 && this.value.startsWith("-")) layer.off = true;
      else if (layer !== null && this.code === 70 && (Number(this.value) & 1) === 1) layer.frozen = true;
    }
  }

  /** BLOCKS or ENTITIES. */
  private section(name: "BLOCKS" | "ENTITIES"): void {
    this.out.push("0", "SECTION", "2", name);
    let block: "none" | "open" = "none";
    let polyline = 0;
    this.must(`section ${name}`);
    for (;;) {
      if (this.code !== 0) this.fault(`group ${this.code} before the first entity`);
      const kind = this.value;
      if (polyline > 0 && kind !== "VERTEX" && kind !== "SEQEND") this.fault(`a polyline (line ${polyline}) without its SEQEND`);
      if (kind === "ENDSEC") break;
      if (kind === "SECTION" || kind === "EOF") this.fault(`section ${name} without its end`);
      if (name === "BLOCKS" && block === "none" && kind !== "BLOCK") this.fault(`"${clip(kind)}" outside of a block`);
      if (kind === "BLOCK") {
        if (name !== "BLOCKS" || block === "open") this.fault("a block inside another");
        block = "open";
      }
      if (kind === "ENDBLK") {
        if (block !== "open") this.fault("the end of a block that was not begun");
        block = "none";
      }
      if (kind === "VERTEX" && polyline === 0) this.fault("a vertex outside of a polyline");
      const line = this.at + 1;
      const kept = kind === "SEQEND" && polyline === 0 ? undefined : KEPT.get(kind);
      if (kept === undefined && !/^(?:SEQEND|ATTRIB|ATTDEF)$/.test(kind)) this.skip(clip(kind));
      if (kept !== undefined && ++this.entities > MOST_ENTITIES) {
        refuse(LIMIT, `line ${line}`, `The drawing has more than ${MOST_ENTITIES} entities and vertices.`, "Save the outline alone.", {
          limit: MOST_ENTITIES,
        });
      }
      if (kind === "POLYLINE") polyline = line;
      if (kind === "SEQEND") polyline = 0;
      this.entity(kind, line, kept, name);
    }
    if (block === "open") this.fault("a block without its end");
    this.out.push("0", "ENDSEC");
  }

  private skip(kind: string): void {
    const key = this.skipped.size < 1000 || this.skipped.has(kind) ? kind : "other";
    this.skipped.set(key, (this.skipped.get(key) ?? 0) + 1);
  }

  /** Copies the pairs of one entity that are kept; leaves the next entity's pair as the current one. */
  private entity(kind: string, line: number, kept: ReadonlySet<number> | undefined, section: string): void {
    const { out } = this;
    if (kept !== undefined) out.push("0", kind, "5", `${line}`);
    let foreign = false;
    let named = false;
    let wantsY = 0;
    for (;;) {
      this.must(`section ${section}`);
      if (this.code === 0) break;
      // embedded objects and extended data bring coordinates that are not the entity's
      if (this.code === 101 || this.code >= 1000) foreign = true;
      if (kept === undefined || foreign || !kept.has(this.code)) continue;
      const { code } = this;
      let value = this.value;
      if (wantsY > 0 && code !== wantsY) this.fault(`group ${code} where the y of a point (${wantsY}) should stand`);
      wantsY = code === 10 || code === 11 ? code + 10 : 0;
      if (code >= 10) this.checkNumber();
      if (code === 2) {
        if (value === "") this.fault(`${kind} without a name`);
        if (kind === "BLOCK") {
          if (this.blocks.has(value.toUpperCase())) this.fault(`a second block "${clip(value)}"`);
          this.blocks.add(value.toUpperCase());
        }
        named = true;
        value = `B:${value.toUpperCase()}`;
      }
      out.push(`${code}`, value);
    }
    if (wantsY > 0) this.fault(`a point of ${kind} (line ${line}) without its y`);
    if ((kind === "BLOCK" || kind === "INSERT") && !named) this.fault(`${kind} (line ${line}) without a name`);
  }

  private checkNumber(): void {
    const { code, value } = this;
    const whole = code >= 60 && code <= 99;
    if (whole ? WHOLE.test(value) : DECIMAL.test(value) && Math.abs(Number(value)) < 1e15) return;
    const line = this.at + 2;
    refuse(
      NUMBER,
      `line ${line}`,
      `"${clip(value)}" (line ${line}, group ${code}) is not a ${whole ? "whole" : "decimal"} number of usable size.`,
      value.includes(",") ? "Write numbers with a decimal point, not a comma." : "Save the drawing again, or draw this curve again.",
      { value: clip(value) },
    );
  }
}

const clip = (text: string): string => (text.length > 40 ? `${text.slice(0, 40)}...` : text).replace(/[^\x20-\x7e\u00a0-\uffff]/g, "?");
