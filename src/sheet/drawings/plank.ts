import type { PlankAsk, PlankPlan } from "../../holding/plank.ts";
import type { Mm } from "../../units/index.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { dim } from "./common.ts";
import { Pen } from "./pen.ts";

const MARGIN = 20;

/** A plank from above, its first end left: where each blank lies in it, with the distances of its corner. */
export function plankDrawing(ask: PlankAsk, plan: PlankPlan & { readonly at: readonly (readonly [Mm, Mm])[] }, scale: number): Drawing {
  const pen = new Pen();
  const at = (x: Mm, y: Mm): XY => [MARGIN + x * scale, MARGIN + (ask.width - y) * scale];
  pen.rect("wide", at(0, 0), at(ask.length, ask.width));
  for (const d of ask.keepOut) pen.rect("narrow", at(d.xMin, d.yMin), at(d.xMax, d.yMax), { ink: "soft", fill: "shade" });
  plan.at.forEach(([x, y], k) => {
    const b = ask.blanks[k];
    pen.rect("heavy", at(x, y), at(x + b.length, y + b.width));
    const p = at(x + b.length / 2, y + b.width / 2);
    pen.text([p[0], p[1] - 0.6], `${k + 1}  ${b.name}`, 2.5, { anchor: "middle", bold: true });
    pen.text([p[0], p[1] + 2.8], `${dim(b.length)} x ${dim(b.width)}, corner at ${dim(x)}, ${dim(y)}`, 2, { anchor: "middle" });
  });
  const low = at(0, 0)[1];
  pen.dimension({ a: at(0, 0), b: at(plan.used, 0), along: "x", line: low + 6, text: dim(plan.used), ground: true, size: 2.2 });
  pen.dimension({ a: at(0, 0), b: at(ask.length, 0), along: "x", line: low + 11, text: dim(ask.length), ground: true, size: 2.2 });
  pen.dimension({ a: at(0, 0), b: at(0, ask.width), along: "y", line: MARGIN - 6, text: dim(ask.width), ground: true, size: 2.2 });
  return {
    id: "plank",
    title: "Blanks in the plank",
    says: `A plank of ${dim(ask.length)} x ${dim(ask.width)} mm with ${ask.blanks.length} blanks along its grain; corners are measured from its first end and its lower edge. Grey: kept out.`,
    width: 2 * MARGIN + ask.length * scale,
    height: 2 * MARGIN + ask.width * scale,
    group: 0.35,
    items: pen.items,
    scale,
  };
}
