import { describe, expect, it } from "vitest";
import type { OrderSpec } from "../spec/types.ts";
import { guitar } from "./fixture.test-data.ts";
import { makeNeck } from "./neck.ts";
import { NK_RULES } from "./rules.ts";

type Change = (o: OrderSpec) => OrderSpec;
const head =
  (h: Partial<OrderSpec["headstock"]>): Change =>
  (o) => ({ ...o, headstock: { ...o.headstock, ...h } });
const tuners =
  (t: Partial<OrderSpec["headstock"]["tuners"]>): Change =>
  (o) =>
    head({ tuners: { ...o.headstock.tuners, ...t } })(o);
const board =
  (b: Partial<OrderSpec["board"]>): Change =>
  (o) => ({ ...o, board: { ...o.board, ...b } });
const heel =
  (h: Partial<OrderSpec["heel"]>): Change =>
  (o) => ({ ...o, heel: { ...o.heel, ...h } });
const screws =
  (s: Partial<OrderSpec["heel"]["screws"]>): Change =>
  (o) =>
    heel({ screws: { ...o.heel.screws, ...s } })(o);
const rod =
  (r: object): Change =>
  (o) => ({ ...o, rod: { ...o.rod, ...r } as OrderSpec["rod"] });
const face =
  (f: object): Change =>
  (o) => ({ ...o, markers: { ...o.markers, face: { ...o.markers.face, ...f } } });

const more =
  (o: Partial<OrderSpec>): Change =>
  (g) => ({ ...g, ...o });
const deg = Math.PI / 180;
const scarf = (angle: number, extra: Partial<OrderSpec["headstock"]> = {}): Change =>
  head({ kind: "scarfed", angle: angle * deg, ...extra });
const slotted = { width: 12, wall: 9, from: 44, length: 95, rollerBore: 10, rollerDepth: 26 };
const slot =
  (s: Partial<typeof slotted>): Change =>
  (o) =>
    head({
      slotted: { ...slotted, ...s },
      tuners: { ...o.headstock.tuners, rowAtFirst: 20, rowAtLast: 20, post: 6, bush: 6, bushDepth: 0 },
    })(o);
const square = (half: number): NonNullable<OrderSpec["headstock"]["drawing"]> => {
  const p = [
    { x: -160, y: -half },
    { x: 10, y: -half },
    { x: 10, y: half },
    { x: -160, y: half },
  ];
  return { name: "drawn", curves: p.map((a, i) => ({ kind: "line" as const, a, b: p[(i + 1) % 4] })) };
};
/** Wide enough, true at the throat, with a notch into its tip. */
const notched: Change = (o) => {
  const from = makeNeck(o).outline.curves.flatMap((c) => (c.kind === "line" ? [c.a] : c.kind === "cubic" ? [c.p0] : []));
  const tip = Math.min(...from.map((p) => p.x));
  const at = from.findIndex((p) => p.x === tip);
  const points = [...from.slice(0, at), { x: tip, y: 8 }, { x: tip + 6, y: 0 }, { x: tip, y: -8 }, ...from.slice(at + 1)];
  return head({
    drawing: { name: "drawn", curves: points.map((a, i) => ({ kind: "line" as const, a, b: points[(i + 1) % points.length] })) },
  })(o);
};
const bars = { count: 2, width: 4, height: 6, offset: 9, roof: 2, from_x: 10, to_x: 380, material: "carbon" as const };

/** Every design rule, and an order that breaks it. */
const BREAKS: Record<string, Change> = {
  "NK-001": rod({ height: 10 }),
  "NK-002": (o) => ({ ...o, strings: { ...o.strings, spreadAtNut: 38.5 } }),
  "NK-003": (o) => ({ ...o, strings: { ...o.strings, spreadAtNut: 44 } }),
  "NK-004": (o) => ({ ...o, frets: { ...o.frets, depth: 5.2 } }),
  "NK-005": head({ edge: 7.2 }),
  "NK-006": head({ edge: 5 }),
  "NK-007": tuners({ pitch: 14 }),
  "NK-008": tuners({ sideAngle: 0.05 }),
  "NK-009": tuners({ rowAtFirst: 16, rowAtLast: 40 }),
  "NK-010": screws({ along: 70 }),
  "NK-011": screws({ depth: 18.5 }),
  "NK-012": screws({ depth: 26 }),
  "NK-013": head({ throat: 20 }),
  "NK-014": heel({ length: 440 }),
  "NK-015": (o) => ({ ...o, carve: { stations: o.carve.stations.map((s) => ({ ...s, thickness: 9 })) } }),
  "NK-016": (o) => ({ ...o, nut: { ...o.nut, floor: 6.3 } }),
  "NK-017": head({ rampRadius: 8 }),
  "NK-018": board({ radius: { nut: 20, end: 20 } }),
  "NK-019": face({ depth: 5.9 }),
  "NK-020": face({ diameter: 14 }),
  "NK-021": rod({ to_x: 520 }),
  "NK-022": (o) => ({ ...o, frets: { ...o.frets, count: 60 } }),
  "NK-023": board({ pastLastFret: 0.5 }),
  "NK-024": head({ throat: 160 }),
  "NK-025": head({ thickness: 4 }),
  "NK-026": head({ backLength: 14 }),
  "NK-027": rod({ roof: 0.5 }),
  "NK-028": (o) => ({ ...o, rod: { kind: "none" } }),
  "NK-043": head({ outline: { drawing: "head.svg" } }),
  "NK-044": notched,
  "NK-029": head({ drawing: square(30) }),
  "NK-030": scarf(10.5),
  "NK-031": scarf(20, { thickness: 14 }),
  "NK-032": slot({ width: 30 }),
  "NK-033": slot({ rollerDepth: 12 }),
  "NK-034": head({ kind: "angled", angle: 25 * deg }),
  "NK-035": heel({ kind: "set", tenon: { length: 90, width: 40, depth: 15 } }),
  "NK-036": heel({ setUp: { bridgeHeight: 30, action: 1.5, boardAtBody: 5 } }),
  "NK-037": (o) => ({ ...o, carve: { ...o.carve, volute: { at: -20, length: 20, height: 2 } } }),
  "NK-038": more({ bars: { ...bars, offset: 4 } }),
  "NK-039": more({ fan: { bass: 620, treble: 676, square: 7 } }),
  "NK-040": board({ fallAway: { from: 14, drop: 4 } }),
  "NK-041": (o) => ({ ...o, carve: { stations: o.carve.stations.map((q) => ({ ...q, shoulder: 9 })) } }),
  "NK-042": more({ wood: { ...guitar.wood, strips: [{ wood: "hard maple", width: 40 }] } }),
};

describe("design rules", () => {
  it.each(NK_RULES.map((r) => [r.id, r] as const))("%s is broken by an order that earns it", (id, rule) => {
    const change = BREAKS[id];
    expect(change, `no order breaks ${id}`).toBeDefined();
    const found = makeNeck(change(guitar)).findings.find((f) => f.rule === id);
    expect(found?.severity).toBe(rule.severity);
    expect(found?.says.length).toBeGreaterThan(10);
    expect(found?.tryThis.length).toBeGreaterThan(10);
  });
});
