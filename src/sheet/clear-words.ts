import { CLEAR } from "../holding/extent.ts";
import type { SideName } from "../holding/types.ts";
import type { Clearance, CutPlan } from "../paths/types.ts";
import { dim } from "./drawings/common.ts";

/** How near what turns comes to what holds a side, for the page that shows its holding; null where nothing was planned. */
export function clearSays(plan: Pick<CutPlan, "clear" | "cuts">, side: SideName): string | null {
  const found = plan.clear?.find((c) => c.side === side);
  if (found === undefined) return null;
  const title = (id: string): string => plan.cuts.find((c) => c.id === id)?.title ?? id;
  // a tenth less rather than a tenth more
  const one = (c: Clearance): string => `${c.name}, ${dim(Math.floor(c.mm * 10) / 10)} mm from the ${c.part} (${title(c.cut)})`;
  const parts = [
    ...(found.standing === undefined ? [] : [`nearest of what stands: ${one(found.standing)}`]),
    ...(found.under === undefined ? [] : [`of the strips under the piece: ${one(found.under)}`]),
  ];
  return `Clear of every cutter, shank and holder, over every move of this side: ${parts.join("; ")}. Planned to stay at least ${CLEAR} mm apart. Parts that are put elsewhere than drawn are not covered by this.`;
}
