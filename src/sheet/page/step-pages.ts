import { dim } from "../drawings/common.ts";
import type { ReportInput, SheetProgram, SheetStep } from "../input.ts";
import { type Checks, checksFor } from "../step-checks.ts";
import { timeText } from "../words.ts";
import type { Flow } from "./flow.ts";

/** The order of work: programs and hand steps, each with what to check, in boxes to tick. */
export function stepPages(flow: Flow, input: ReportInput): void {
  flow.newPage("Steps");
  flow.heading("Steps, in order");
  flow.paragraph("Do them in this order and tick as you go. When a check fails, stop: do not run the next program.");
  const seen = new Set<string>();
  let lies: SheetProgram["side"] = "board";
  input.steps.forEach((step, i) => {
    const n = i + 1;
    if ("hand" in step) {
      const turning = step.side !== lies;
      lies = step.side;
      seen.add(step.side);
      flow.keep(() => {
        if (turning) turnNote(flow, input, step.side);
        handStep(flow, n, step);
      });
      return;
    }
    const program = input.programs.find((p) => p.file === step.program);
    if (!program) {
      flow.stepHead(`${n}`, step.program, "missing from the job: do not go on");
      return;
    }
    const first = !seen.has(program.side);
    seen.add(program.side);
    const cutter = input.shop.cutters.find((c) => c.number === program.cutter);
    const checks = checksFor(input, program, cutter, first);
    const turning = program.side !== lies;
    lies = program.side;
    flow.keep(() => {
      if (turning) turnNote(flow, input, program.side);
      programStep(flow, input, n, program, checks);
    });
  });
}

function handStep(flow: Flow, n: number, step: Extract<SheetStep, { hand: string }>): void {
  flow.stepHead(`${n}`, "By hand", `${step.side} side`);
  flow.list([step.hand], { box: true, indent: 11 });
  if (step.fills.length === 0) return;
  flow.paragraph(`Fills: ${step.fills.join(", ")}. Let glue cure before the next program cuts there.`, {
    indent: 11,
    size: 2.7,
    ink: "soft",
  });
}

function programStep(flow: Flow, input: ReportInput, n: number, program: SheetProgram, checks: Checks): void {
  const cutter = input.shop.cutters.find((c) => c.number === program.cutter);
  const cutOf = (id: string): ReportInput["plan"]["cuts"][number] | undefined => input.plan.cuts.find((c) => c.id === id);
  const rpm = [...new Set(program.cuts.flatMap((id) => cutOf(id)?.conditions.rpm ?? []))];
  const words = [
    `${program.cuts.map((id) => cutOf(id)?.title ?? id).join("; ")}.`,
    `Cutter T${program.cutter}${cutter ? ` ${cutter.name}` : ""}${rpm.length > 0 ? `, ${rpm.map(dim).join(" / ")} rpm` : ""};`,
    `zero of the ${program.side} side; Z ${dim(program.bounds.min[2])} to ${dim(program.bounds.max[2])} mm; ${(program.feedLength / 1000).toFixed(1)} m in feed.`,
  ];
  flow.stepHead(`${n}`, program.file, `${program.side} side, ${timeText(program.seconds)}`);
  flow.paragraph(words.join(" "), { indent: 11 });
  const why = program.cuts.flatMap((id) => {
    const cut = cutOf(id);
    return cut === undefined || cut.why === "" ? [] : [`${cut.title}: ${cut.why}`];
  });
  if (why.length > 0) flow.paragraph(`Why here. ${why.join(" ")}`, { indent: 11, size: 2.7, ink: "soft" });
  flow.paragraph("Before", { indent: 11, size: 2.7, bold: true });
  flow.list(checks.before, { box: true, indent: 11 });
  flow.paragraph("After", { indent: 11, size: 2.7, bold: true });
  flow.list(checks.after, { box: true, indent: 11 });
}

/** What stands before a step on the other side. */
function turnNote(flow: Flow, input: ReportInput, side: SheetProgram["side"]): void {
  const about = input.neck.order.holding.turn;
  const down = side === "carve" ? "the board faces the bed" : "the back faces the bed";
  flow.note(
    "Turn the piece over",
    [
      about === "x"
        ? `Spindle off. Turn the blank about its long axis: the headstock end stays at the same end, the datum edge goes to the ${side === "carve" ? "second" : "first"} pair of pins, ${down}. Clean the bed, lay in the supports, hold it as drawn.`
        : `Spindle off. Turn the blank end for end about its short axis: the same edge against the pins, the headstock end at the other stop, ${down}. Clean the bed, lay in the supports, hold it as drawn.`,
    ],
    "accent",
  );
}
