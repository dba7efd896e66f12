import { woodByName } from "../materials/woods.ts";
import * as R from "./rules.ts";
import { climateOf, setupOf } from "./setup.ts";
import type { Tell } from "./tell.ts";
import type { OrderSpec } from "./types.ts";

/* What an order contradicts in itself about the keys that only the figures read. */

export function checkMeaning(o: OrderSpec, tell: Tell): void {
  const s = o.strings;
  for (const key of ["pitches", "gauges", "cores", "unitWeights"] as const) {
    const list = s[key];
    if (list !== undefined && list.length !== s.count)
      tell(
        R.STRING_LISTS,
        `strings.${key}`,
        list.length,
        s.count,
        `${list.length} entries are given for ${s.count} strings.`,
        "Give one entry per string, bass to treble, or leave the list out.",
        "",
      );
  }
  const outside = s.gauges ?? (s.diameters.length === s.count ? s.diameters : undefined);
  s.cores?.forEach((core, i) => {
    const d = outside?.[i];
    if (d !== undefined && core > d + 1e-9)
      tell(
        R.STRING_CORES,
        `strings.cores[${i}]`,
        core,
        d,
        `The core is thicker than its string of ${d} mm.`,
        "Give the core's own diameter.",
      );
  });
  const { nut, twelfth } = setupOf(o);
  if (!(twelfth >= nut))
    tell(
      R.STRING_HEIGHTS,
      "setup.twelfth",
      twelfth,
      nut,
      `Strings ${twelfth} mm over fret 12 lie lower than at the nut, ${nut} mm.`,
      "Raise the strings at fret 12 or lower them at the nut.",
    );
  const { home } = climateOf(o);
  const [low, high] = [home.humidity - home.swing, home.humidity + home.swing];
  if (low < 2 || high > 98)
    tell(
      R.CLIMATE_SWING,
      "climate.home.swing",
      home.swing,
      Math.min(home.humidity - 2, 98 - home.humidity),
      `The humidity would swing from ${low} to ${high} %.`,
      "Give a smaller swing; the figures stop at 2 and 98 %.",
      "%",
    );
  o.wood.strips?.forEach((strip, i) => {
    if (woodByName(strip.wood) === undefined)
      tell(
        R.WOOD_KNOWN,
        `wood.strips[${i}].wood`,
        strip.wood,
        null,
        `The wood ${JSON.stringify(strip.wood)} is not in the table of woods.`,
        "Use a name from the table, the wood closest to yours in density.",
        "",
      );
  });
}
