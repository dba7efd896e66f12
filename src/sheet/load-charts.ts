import type { Drawing } from "./draw/types.ts";
import { CHART_COLUMNS, loadsChart } from "./drawings/loads-chart.ts";
import type { ReportInput } from "./input.ts";
import { loadSeries } from "./load-series.ts";

/** A chart for every program that moves, in the order of work. */
export function loadCharts(input: Pick<ReportInput, "plan" | "shop" | "holding" | "programs" | "proof">, width: number): Drawing[] {
  const figures = input.proof.flatMap((s) => s.programs);
  return input.programs.flatMap((p) => {
    const cutter = input.shop.cutters.find((c) => c.number === p.cutter);
    const cuts = input.plan.cuts.filter((c) => p.cuts.includes(c.id) && c.moves.count > 0);
    if (!cutter || cuts.length === 0) return [];
    const top = input.holding.sides[p.side].stock.max[2];
    const figure = figures.find((f) => f.file === p.file);
    const found = figure?.engagement ?? [];
    const audited = new Map(found.map((f) => [f.cut, f.maxDegrees]));
    const series = loadSeries(cuts, cutter, input.shop.machine, top, CHART_COLUMNS, audited, figure?.engagementTrace);
    const file = /([^/]+)\.[^.]*$/.exec(p.file)?.[1] ?? p.file;
    return [loadsChart(series, `loads-${file}`, `Loads along ${p.file}, T${cutter.number} ${cutter.name}`, width)];
  });
}
