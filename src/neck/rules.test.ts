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
