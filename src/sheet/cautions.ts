/*
 * What stands first on every run sheet. Advice of the trade; the machine's manual, local rules and trained people come before it.
 */

export const CAUTIONS_TITLE = "Read before you switch anything on";

export const DEFERS =
  "This sheet does not know your machine, your room or your training. The machine's manual, the rules of your workshop and of your country, and the people trained on this machine come before anything printed here. If two of them disagree, or a figure looks wrong, stop and ask.";

export const CAUTIONS: readonly string[] = [
  "Eyes: safety glasses with side protection for everyone in the room. Ears: hearing protection before the spindle starts.",
  "Dust: extraction running before the spindle, and a mask suited to the wood. Do not sweep dry or blow dust down.",
  "Spinning cutter: it does not stop when it seems to. Hands stay out of the travel while power is on; no gloves, loose sleeves, long hair or strings of an apron near it.",
  "Cutters are sharp in the hand too. Change them with the spindle stopped and its power off; clean collet, full length of shank gripped, stick-out as printed.",
  "Holding: pull at the piece before every program. Blocks, screws and pins as drawn, nothing else on the bed, nothing in the way of the cutter's holder.",
  "First run in air: every program runs once with the cutter clear above the wood, hand at the stop, before it runs in wood.",
  "Stay at the machine while it cuts, hand at the emergency stop; know where it is before you start. A smell of burning, a squeal or a change of sound means stop.",
  "Rubbing makes heat: never let a cutter turn in the wood without feed. After dusty work look for smouldering, empty the extraction, and come back to look again.",
];

/** Published limits, with where they stand. Figures for orientation: what holds in your workshop is decided where you are. */
export const EXPOSURE: readonly { readonly what: string; readonly limit: string; readonly source: string }[] = [
  { what: "Wood dust, 8 h, GB", limit: "hardwood 3 mg/m³, softwood 5 mg/m³ inhalable", source: "HSE, EH40 workplace exposure limits" },
  { what: "Wood dust, 8 h, EU", limit: "hardwood 2 mg/m³", source: "Directive 2004/37/EC as amended, from January 2023" },
  {
    what: "Wood dust, 8 h, USA",
    limit: "15 mg/m³ total, 5 mg/m³ respirable; advised 1 mg/m³",
    source: "OSHA (as particulates not otherwise regulated); NIOSH REL",
  },
  { what: "Wood dust, kind of harm", limit: "causes cancer in humans (group 1)", source: "IARC" },
  { what: "Noise, GB", limit: "act at 80 and 85 dB(A), limit 87 dB(A)", source: "Control of Noise at Work Regulations 2005" },
  {
    what: "Noise, USA",
    limit: "90 dBA for 8 h, act at 85; advised 85 dBA for 8 h, half the time for each 3 dB more",
    source: "OSHA 29 CFR 1910.95; NIOSH REL",
  },
];

/** Hours at a level by the 3 dB exchange (NIOSH, criteria document 98-126): T = 8 / 2^((L - 85) / 3). */
export const hoursAt = (level: number): number => 8 / 2 ** ((level - 85) / 3);
