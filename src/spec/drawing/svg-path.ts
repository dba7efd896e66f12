import svgpath from "svgpath";
import type { Point } from "../../kernel/curve.ts";
import { svgArc } from "./oval.ts";
import { NUMBER, refuse } from "./rules.ts";
import { raised } from "./spline.ts";
import { refuseLongPath, repeated } from "./svg-text.ts";
import type { Piece } from "./types.ts";

export interface SubPath {
  readonly pieces: readonly Piece[];
  readonly closed: boolean;
}

interface Parsed {
  readonly err: string;
  readonly segments: readonly (readonly [string, ...number[]])[];
}

/** Subpaths of path data, in user units: every command of SVG 1.1, section 8.3. Throws a Refusal. */
export function subPaths(d: string, where: string): SubPath[] {
  refuseLongPath(d, where);
  const parsed = svgpath(repeated(d, where)) as unknown as Parsed;
  if (parsed.err !== "") {
    const said = parsed.err.replace(/^SvgPath: /, "").slice(0, 80);
    refuse(NUMBER, where, `The path data cannot be read: ${said}.`, "Save the drawing again, or draw this path again.", { value: said });
  }
  const out: SubPath[] = [];
  let pieces: Piece[] = [];
  let at: Point = { x: 0, y: 0 };
  let first: Point = at;
  /** Last control point, for S after a cubic and T after a parabola. */
  let cubic: Point | null = null;
  let parabola: Point | null = null;
  const flush = (closed: boolean): void => {
    if (pieces.length > 0) out.push({ pieces, closed });
    pieces = [];
  };
  const put = (p: Piece, to: Point): void => {
    pieces.push(p);
    at = to;
  };
  for (const [command, ...v] of parsed.segments) {
    const o = command === command.toLowerCase() ? at : { x: 0, y: 0 };
    const p = (k: number): Point => ({ x: o.x + v[k], y: o.y + v[k + 1] });
    const wasCubic: Point | null = cubic;
    const wasParabola: Point | null = parabola;
    cubic = null;
    parabola = null;
    switch (command.toUpperCase()) {
      case "M":
        flush(false);
        at = p(0);
        first = at;
        break;
      case "Z":
        if (at.x !== first.x || at.y !== first.y) pieces.push({ kind: "line", a: at, b: first });
        flush(true);
        at = first;
        break;
      case "L":
        put({ kind: "line", a: at, b: p(0) }, p(0));
        break;
      case "H": {
        const b = { x: o.x + v[0], y: at.y };
        put({ kind: "line", a: at, b }, b);
        break;
      }
      case "V": {
        const b = { x: at.x, y: o.y + v[0] };
        put({ kind: "line", a: at, b }, b);
        break;
      }
      case "C":
        cubic = p(2);
        put({ kind: "cubic", p0: at, p1: p(0), p2: cubic, p3: p(4) }, p(4));
        break;
      case "S": {
        const p1 = mirrored(wasCubic, at);
        cubic = p(0);
        put({ kind: "cubic", p0: at, p1, p2: cubic, p3: p(2) }, p(2));
        break;
      }
      case "Q":
        parabola = p(0);
        put(raised(at, parabola, p(2)), p(2));
        break;
      case "T":
        parabola = mirrored(wasParabola, at);
        put(raised(at, parabola, p(0)), p(0));
        break;
      case "A": {
        const b = p(5);
        const piece = svgArc(at, v[0], v[1], v[2], v[3] === 1, v[4] === 1, b);
        if (piece !== null) put(piece, b);
        break;
      }
      default:
        refuse(NUMBER, where, `The path data hold "${command}", which is no command.`, "Save the drawing again.", { value: command });
    }
  }
  flush(false);
  return out;
}

/** The control point that goes on smoothly: the last one mirrored at `at`, or `at` after a command of another kind. */
const mirrored = (control: Point | null, at: Point): Point =>
  control === null ? at : { x: 2 * at.x - control.x, y: 2 * at.y - control.y };
