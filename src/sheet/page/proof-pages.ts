import type { ReportInput } from "../input.ts";
import { mapFigure } from "../proof-figure.ts";
import { fixed, groupMeasures, isWithin, timeText, verdictSays } from "../words.ts";
import type { Flow } from "./flow.ts";

/** What the proof found from the program text alone: regions, measures beside the order, the programs' own figures. */
export function proofPages(flow: Flow, input: ReportInput): void {
  flow.newPage("Proof");
  flow.heading("Proof");
  flow.paragraph(
    "The programs' text was read back and run against a model of the blank; what is left was compared with the neck ordered. These figures are about geometry: they know nothing of a loose blank, a dull cutter or a slipping belt.",
  );
  flow.paragraph(verdictSays(input.proof), { bold: true });
  if (input.proof.length === 0) return;
  flow.heading("Finished surfaces, by region", 3);
  flow.table(
    [
      { head: "region", share: 2.4 },
      { head: "side", share: 0.9 },
      { head: "deepest below", share: 1.3, align: "right" },
      { head: "limit", share: 0.9, align: "right" },
      { head: "most above", share: 1.2, align: "right" },
      { head: "limit", share: 0.9, align: "right" },
      { head: "95 % under", share: 1.1, align: "right" },
      { head: "mean", share: 0.9, align: "right" },
      { head: "holds", share: 0.8 },
    ],
    input.proof.flatMap((s) =>
      s.regions.map((r) => {
        const [b, a] = [r.worstBelow <= r.limitBelow, r.worstAbove <= r.limitAbove];
        return [
          r.region,
          r.side,
          { text: fixed(r.worstBelow), ink: b ? ("ink" as const) : ("accent" as const), bold: !b },
          fixed(r.limitBelow),
          { text: fixed(r.worstAbove), ink: a ? ("ink" as const) : ("accent" as const), bold: !a },
          fixed(r.limitAbove),
          fixed(r.p95Above),
          fixed(r.meanAbove),
          a && b ? "yes" : { text: "NO", ink: "accent" as const, bold: true },
        ];
      }),
    ),
  );
  for (const s of input.maps) {
    for (const what of ["above", "below"] as const) {
      const d = mapFigure(s, what, flow.width);
      flow.figure(d);
    }
  }
  const measures = input.proof.flatMap((s) => s.measures);
  if (measures.length > 0) {
    flow.heading("Measured on what is left, beside the order", 3);
    flow.table(
      [
        { head: "what", share: 1.9 },
        { head: "measured", share: 3.2 },
        { head: "how many", share: 0.9, align: "right" },
        { head: "worst at", share: 1.6 },
        { head: "ordered", share: 1.1, align: "right" },
        { head: "is", share: 1.1, align: "right" },
        { head: "differs", share: 1.1, align: "right" },
        { head: "tolerance", share: 1.3, align: "right" },
        { head: "holds", share: 0.8 },
      ],
      groupMeasures(measures).map((g) => {
        const ok = g.out === 0;
        const ink = ok ? ("ink" as const) : ("accent" as const);
        const w = g.worst;
        return [
          g.kind,
          `${g.what}${w.unit === "mm" ? "" : `, ${w.unit}`}`,
          `${g.count}`,
          g.count > 1 ? w.id : "",
          fixed(w.ordered),
          fixed(w.measured),
          { text: fixed(w.measured - w.ordered), ink, bold: !ok },
          `± ${fixed(w.tolerance)}`,
          { text: ok ? "yes" : `NO: ${g.out}`, ink, bold: !ok },
        ];
      }),
      { size: 2.5 },
    );
    flow.paragraph(
      `Of each kind the one that differs most for its tolerance. All ${measures.length} stand in report.html and proof.json.`,
      { size: 2.6, ink: "soft" },
    );
    const out = measures.filter((m) => !isWithin(m));
    if (out.length > 0)
      flow.list(
        out.map(
          (m) =>
            `OUTSIDE: ${m.id}, ${m.what}: ordered ${fixed(m.ordered)}, is ${fixed(m.measured)}, tolerance ± ${fixed(m.tolerance)} ${m.unit}.`,
        ),
      );
  }
  flow.heading("Programs, as read back", 3);
  flow.table(
    [
      { head: "file", share: 3.4 },
      { head: "moves", share: 0.9, align: "right" },
      { head: "in feed, m", share: 1, align: "right" },
      { head: "rapids, m", share: 1, align: "right" },
      { head: "wood removed, cm³", share: 1.4, align: "right" },
      { head: "lowest Z", share: 0.9, align: "right" },
      { head: "time", share: 1.5, align: "right" },
    ],
    input.proof.flatMap((s) =>
      s.programs.map((p) => [
        p.file,
        `${p.moves}`,
        (p.feedLength / 1000).toFixed(2),
        (p.rapidLength / 1000).toFixed(2),
        (p.removed / 1000).toFixed(2),
        p.min[2].toFixed(2),
        timeText(p.seconds),
      ]),
    ),
    { size: 2.5 },
  );
}
