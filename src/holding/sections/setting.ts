import type { Mm } from "../../units/index.ts";
import type { Side, Solid } from "../types.ts";
import type { SideSection } from "./types.ts";

type Placing = Pick<SideSection, "number" | "shift" | "holding">;

/** A solid elsewhere on the bed. */
export function moved(s: Solid, dx: Mm, dy: Mm): Solid {
  if (s.kind === "box") return { ...s, min: [s.min[0] + dx, s.min[1] + dy, s.min[2]], max: [s.max[0] + dx, s.max[1] + dy, s.max[2]] };
  if (s.kind === "cylinder") return { ...s, x: s.x + dx, y: s.y + dy };
  return { ...s, points: s.points.map(([x, y]) => [x + dx, y + dy] as const) };
}

/**
 * A place in a section's program and `shift` make the place in the side's frame; `holding` is what holds the piece in that section, in
 * the side's frame too. Without sections: no shift, and the side's own holding.
 */
export function settingOf(
  side: Pick<Side, "holding"> & { readonly sections?: readonly Placing[] },
  section: number | undefined,
): { readonly shift: readonly [Mm, Mm]; readonly holding: readonly Solid[] } {
  const setting = side.sections?.find((s) => s.number === section);
  if (setting === undefined) return { shift: [0, 0], holding: side.holding };
  const [dx, dy] = setting.shift;
  return { shift: setting.shift, holding: setting.holding.map((s) => moved(s, dx, dy)) };
}

/** A side's settings, one after the other, in the side's frame: its sections, or the side itself. `says`: in words, to name the place of a finding. */
export function settingsOf(
  side: Pick<Side, "name" | "holding"> & { readonly sections?: readonly Placing[] },
): readonly { readonly says: string; readonly holding: readonly Solid[]; readonly section?: Placing }[] {
  const { sections } = side;
  if (sections === undefined) return [{ says: `${side.name} side`, holding: side.holding }];
  return sections.map((section) => ({
    says: `${side.name} side, section ${section.number} of ${sections.length}`,
    holding: settingOf(side, section.number).holding,
    section,
  }));
}
