import type { Rule, Severity } from "../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name =
  | "margin"
  | "tooThin"
  | "boardThin"
  | "bed"
  | "travelZ"
  | "inTheWay"
  | "turn"
  | "rocks"
  | "screwRoom"
  | "endRoom"
  | "pinsHigh"
  | "region"
  | "askew"
  | "uncorrected"
  | "bareOutline"
  | "crossed"
  | "likely"
  | "noSections"
  | "seamStep"
  | "placed"
  | "bow"
  | "noHole"
  | "pinRoom"
  | "press";

export const HO: Readonly<Record<Name, Rule>> = {
  margin: rule("HO-001", "stop", "The neck's outline lies inside the blank with at least the ordered margin of wood on every side."),
  tooThin: rule("HO-002", "stop", "The shaft's blank is at least 0.2 mm thicker than the neck's deepest back."),
  boardThin: rule("HO-003", "stop", "The board on the blank is at least as thick as the finished board."),
  bed: rule("HO-004", "stop", "The blank and everything that holds it lie on the machine's bed."),
  travelZ: rule("HO-005", "stop", "The machine's height travel reaches from the bed to the safe height."),
  inTheWay: rule("HO-006", "stop", "Pins, blocks and screws stand at least 10 mm off the neck's outline, outside every cutter's way."),
  turn: rule("HO-007", "stop", "Turning the piece lays its datum edge on the second pair of pins and its end on the stop, to 1e-9 mm."),
  rocks: rule("HO-008", "warn", "A radiused board that lies face down has supports under its edges."),
  screwRoom: rule("HO-009", "warn", "The waste beside the shaft is wide enough for the ordered screws."),
  endRoom: rule("HO-010", "stop", "Beyond tip and board end the blank is long enough for the blocks' grip and the outline's cutter."),
  pinsHigh: rule("HO-011", "warn", "Fence pins stay below the blank's upper face, out of the cutters' way."),
  region: rule(
    "HO-012",
    "stop",
    "The neck keeps the ordered margin to a rough blank's outline and to every defect, and lies inside its figure.",
  ),
  askew: rule("HO-013", "stop", "A neck that is turned in its blank is turned by 5 degrees at most."),
  uncorrected: rule(
    "HO-014",
    "stop",
    "All corrections in force together stay within what is posted away: 2 % of scale, 1 degree of squareness, 3 mm and half a degree after turning, 1.5 mm of height.",
  ),
  bareOutline: rule("HO-015", "stop", "Fence pins and end stop touch a rough blank's own outline, and the blocks grip wood of it."),
  crossed: rule("HO-016", "stop", "The outlines of blank, defects and figure do not cross themselves."),
  likely: rule("HO-017", "warn", "By the error budget no limit of the neck is broken in more than 5 of 100 trials."),
  noSections: rule(
    "HO-018",
    "stop",
    "A neck longer than the bed can be cut in sections: seams, index holes and blocks find their places, and every section lies on the bed.",
  ),
  seamStep: rule("HO-019", "warn", "In 99 of 100 trials of its error budget a seam's step stays within its limit."),
  placed: rule(
    "HO-020",
    "stop",
    "What the order places by hand is a pin, block, screw or strip that the plan has; in sections it stands on the bed where it was put.",
  ),
  bow: rule(
    "HO-021",
    "warn",
    "Between its supports the turned piece bows less than 0.05 mm under the greatest force the machine is planned for.",
  ),
  pinRoom: rule(
    "HO-023",
    "stop",
    "Pins through the waste find room for their holes beyond both ends of the neck; a blank cut in sections has index holes of its own.",
  ),
  press: rule(
    "HO-024",
    "stop",
    "Vacuum or tape alone holds twice the greatest force the machine is planned for, sideways and upward, on the ground that the side lies on.",
  ),
  noHole: rule("HO-022", "stop", "On a bed with a grid of holes every pin, stop, screw and block stands over a hole of its own."),
};

export const HO_RULES: readonly Rule[] = Object.values(HO);
