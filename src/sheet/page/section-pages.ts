import { clearSays } from "../clear-words.ts";
import { dim } from "../drawings/common.ts";
import { sectionSide, settingDrawing } from "../drawings/settings.ts";
import type { ReportInput } from "../input.ts";
import { CAPTION, type Flow } from "./flow.ts";
import { fitted, holdingTable } from "./parts.ts";

/** Of a neck that is cut in sections: how it goes on, what a seam may come to, and a page for every section of both sides. */
export function sectionPages(flow: Flow, input: ReportInput): void {
  const { neck, holding, shop } = input;
  const plan = holding.sections;
  if (plan === undefined) return;
  const [a, b] = plan.pins;
  const holes = shop.machine.grid;
  const grid = holes !== undefined;
  const across = (v: number): string =>
    Math.abs(v) < 0.05 ? "" : ` and by ${dim(Math.abs(v))} mm across, ${v > 0 ? "toward its datum edge's side" : "away from it"}`;
  flow.newPage("Sections");
  flow.heading(`Cut in ${plan.count} sections`);
  flow.paragraph(
    `The neck is longer than the machine's travel. Each section is cut whole, then the blank is shifted along the bed and found again by two index pins in holes that the section before bored into the waste. The program zero stays where it is through all sections of a side.`,
  );
  flow.list(
    [
      grid
        ? `Index pins: ${dim(a.diameter)} mm, ground (g6), ${dim(a.height)} mm above the bed, in the holes of the bed that each section's page names.`
        : `Index pins: ${dim(a.diameter)} mm, ground (g6), ${dim(a.height)} mm above the sub-plate. Their seats (H7) are bored into the sub-plate by this machine, ${dim(a.along)} mm along from the zero and ${dim(a.across)} and ${dim(b.across)} mm across from the fence line; for the carve side the same distances to the fence line's other side.`,
      grid
        ? "The bed's holes stand where the bed has them, the index holes where this machine bores them: scale and squareness of its axes and the true places of the bed's holes enter the step at a seam, and the table below counts them."
        : "Seats and index holes are bored by the same machine with its axes as they are: their scale and squareness then do not enter the step at a seam.",
      ...(holes === undefined
        ? []
        : [
            `Holes of the bed: ${holes.holes}, for ${dim(holes.diameter)} mm, every ${dim(holes.pitch)} mm from X ${dim(holes.first.x)}, Y ${dim(holes.first.y)} of its corner; counted from there, first along the machine's X, then along its Y, from 1. Set the zero by the pins once they stand.`,
          ]),
      "An index hole keeps a skin of 0.3 mm at the bed: break it out with a knife, and try both pins before the next section is cut.",
      "What stands out over the bed lies on a stand of the bed's height; lift nothing by it, lean nothing on it.",
      "Never take the blank off the pins by its free end; press it up beside the pins.",
    ],
    { box: true },
  );
  flow.table(
    [
      { head: "seam", share: 0.8 },
      { head: "from the end stop", share: 1.6, align: "right" },
      { head: "from the nut", share: 1.4, align: "right" },
      { head: "index holes at", share: 1.6, align: "right" },
      { head: "blank shifted by", share: 1.6, align: "right" },
    ],
    plan.seams.map((s, i) => [
      `${i + 1}`,
      dim(s.at),
      dim(s.neckX),
      dim(s.holesAt),
      `${dim(plan.shifts[i + 1])}${plan.aside === undefined ? "" : ` / ${dim(plan.aside[i + 1])}`}`,
    ]),
  );
  flow.heading("What a seam may come to", 3);
  flow.table(
    [
      { head: "what", share: 4.2 },
      { head: "99 of 100 within", share: 1.5, align: "right" },
      { head: "at worst", share: 1.2, align: "right" },
      { head: "limit", share: 1, align: "right" },
      { head: "most of it comes from", share: 3.6 },
    ],
    plan.budget.map((o) => [
      `${o.says} (${o.id.split("-").at(-1)})`,
      `${o.drawn.within99.toFixed(2)} ${o.unit}`,
      o.worst.toFixed(2),
      dim(o.limit),
      o.shares.length === 0 ? "" : `${o.shares[0].says}, ${Math.round(100 * o.shares[0].share)} %`,
    ]),
    { size: 2.5 },
  );
  flow.paragraph(
    "Measure the step at the seam with a straightedge and a feeler before the piece is freed; a scraper takes out what is left.",
  );
  for (const name of ["board", "carve"] as const) {
    const side = holding.sides[name];
    const clear = clearSays(input.plan, name);
    for (const s of side.sections ?? []) {
      const says = `${name === "board" ? "Board" : "Carve"} side, section ${s.number} of ${plan.count}`;
      flow.newPage(says, "landscape");
      flow.heading(says);
      const shift = plan.shifts[s.number - 1];
      const onPins = s.holding.some((h) => h.role === "index pin");
      flow.paragraph(
        s.number === 1 && onPins
          ? `Zero: ${side.zeroSays}. On the bed, from its corner: X ${dim(side.zeroOnBed[0])}, Y ${dim(side.zeroOnBed[1])} mm. The index holes of section 2 on both index pins, no fence pins and no stop. Rapids across travel at Z ${dim(side.safeZ)} or higher.`
          : s.number === 1
            ? `Zero: ${side.zeroSays}. On the bed, from its corner: X ${dim(side.zeroOnBed[0])}, Y ${dim(side.zeroOnBed[1])} mm. Datum edge on the fence pins, headstock end on the stop, no index pins. Rapids across travel at Z ${dim(side.safeZ)} or higher.`
            : `Blank shifted by ${dim(shift)} mm toward the headstock${across(plan.aside?.[s.number - 1] ?? 0)} from where section 1 lay, both index pins in their holes, fence pins and stop taken away. Zero as it was. Rapids across travel at Z ${dim(side.safeZ)} or higher.`,
      );
      const under = (): void => {
        holdingTable(flow, sectionSide(side, s.number), shop.machine);
        if (clear !== null && s.number === 1) flow.paragraph(`${clear} Counted over all sections of this side.`, { size: 2.6 });
      };
      const room = flow.room - flow.heightOf(under) - CAPTION;
      flow.figure(fitted((scale) => settingDrawing(neck, holding, shop.machine, name, s.number, scale), flow.width, room, 1));
      under();
    }
  }
}
