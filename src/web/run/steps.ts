import type { JobFile, JobProgram } from "../../job/files.ts";

/** One thing to do at the machine. */
export type Step =
  | { readonly id: string; readonly kind: "ready" }
  | { readonly id: string; readonly kind: "lay"; readonly side: "board" | "carve" }
  | { readonly id: string; readonly kind: "hand"; readonly side: "board" | "carve"; readonly says: string }
  | {
      readonly id: string;
      readonly kind: "program";
      readonly side: "board" | "carve";
      readonly program: JobProgram;
      readonly newCutter: boolean;
      readonly air: boolean;
    }
  | { readonly id: string; readonly kind: "measure"; readonly what: "blank" | "scribe" | "turn" | "thickness" | "frets" }
  | { readonly id: string; readonly kind: "measure"; readonly what: "height"; readonly side: "board" | "carve" }
  | { readonly id: string; readonly kind: "end" };

/** The job's steps as somebody at the machine goes through them, one at a time. */
export function stepsOf(job: JobFile): Step[] {
  const out: Step[] = [
    { id: "ready", kind: "ready" },
    { id: "measure-blank", kind: "measure", what: "blank" },
  ];
  const laid: string[] = [];
  const roughed = new Set<string>();
  let side: "board" | "carve" | null = null;
  let cutter = -1;
  const lay = (next: "board" | "carve"): void => {
    if (next === side) return;
    side = next;
    cutter = -1;
    out.push({ id: `lay-${next}`, kind: "lay", side: next });
  };
  job.steps.forEach((s, k) => {
    if (!("program" in s)) {
      lay(s.side);
      out.push({ id: `hand-${k}`, kind: "hand", side: s.side, says: s.hand });
      return;
    }
    const program = job.programs.find((p) => p.file === s.program);
    if (program === undefined) return;
    const isFirst = program.side !== side;
    lay(program.side);
    // programs are known to the shop's memory by their file: cutters wear by what is done
    out.push({ id: program.file, kind: "program", side: program.side, program, newCutter: program.cutter !== cutter, air: isFirst });
    cutter = program.cutter;
    // what both sides cut can be compared as soon as the second has cut anything
    if (isFirst && laid.length > 0 && !laid.includes(program.side)) out.push({ id: "measure-turn", kind: "measure", what: "turn" });
    laid.push(program.side);
    if (program.cuts.some((c) => c.includes("rough")) && !roughed.has(program.side)) {
      roughed.add(program.side);
      out.push({ id: `measure-height-${program.side}`, kind: "measure", what: "height", side: program.side });
    }
    if (program.cuts.some((c) => c.includes("scribe"))) out.push({ id: "measure-scribe", kind: "measure", what: "scribe" });
  });
  out.push({ id: "measure-thickness", kind: "measure", what: "thickness" });
  if (job.programs.some((p) => p.cuts.some((c) => c.includes("fret")))) out.push({ id: "measure-frets", kind: "measure", what: "frets" });
  out.push({ id: "end", kind: "end" });
  return out;
}
