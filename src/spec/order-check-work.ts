import { nearestWoodName, woodByName } from "../materials/woods.ts";
import { boardReach, depthBelowGlue, headLength } from "./order-size.ts";
import * as R from "./rules.ts";
import { mm, type Tell } from "./tell.ts";
import type { OrderSpec } from "./types.ts";

/* What an order contradicts in itself about blank, holding, cutting, woods and overrides. */

export function checkBlank(o: OrderSpec, boardEnd: number, tell: Tell): void {
  const b = o.blank;
  const deep = depthBelowGlue(o);
  if (!(b.shaftThickness >= deep)) {
    tell(
      R.BLANK_THICK,
      "blank.shaftThickness",
      b.shaftThickness,
      deep,
      `The neck reaches ${mm(deep)} mm below the glue plane; the blank has ${b.shaftThickness} mm there.`,
      "Take a thicker blank, or make heel or headstock thinner.",
    );
  } else if (b.shaftThickness > deep + 6) {
    tell(
      R.BLANK_THICK_WASTE,
      "blank.shaftThickness",
      b.shaftThickness,
      deep + 6,
      `${mm(b.shaftThickness - deep)} mm of the blank's shaft become dust.`,
      "Plane the blank first: the machine works faster and cutters reach further.",
    );
  }
  if (b.kind === "board-glued" && !(b.boardThickness >= o.board.thickness)) {
    tell(
      R.BLANK_BOARD,
      "blank.boardThickness",
      b.boardThickness,
      o.board.thickness,
      `The blank's board of ${b.boardThickness} mm is thinner than the finished one.`,
      "Glue on a board that is 0.2 to 0.5 mm thicker than the finished one.",
    );
  }
  if (b.kind === "shaft-alone" && b.boardThickness !== 0) {
    tell(
      R.BLANK_BOARD,
      "blank.boardThickness",
      b.boardThickness,
      0,
      "A shaft alone has no board.",
      'Leave out boardThickness, or choose "kind": "board-glued".',
    );
  }
  const need = headLength(o) + boardEnd + 2 * b.margin;
  if (!(b.length >= need))
    tell(
      R.BLANK_LENGTH,
      "blank.length",
      b.length,
      need,
      `Neck and margins are ${mm(need)} mm long; the blank has ${b.length} mm.`,
      "Take a longer blank.",
    );
  const t = o.headstock.tuners;
  const rows = t.layout === "split" ? Math.max(t.rowAtFirst, t.rowAtLast) + o.headstock.edge : 0;
  const wide = 2 * (Math.max(boardReach(o, boardEnd), rows) + b.margin);
  if (!(b.width >= wide))
    tell(
      R.BLANK_WIDTH,
      "blank.width",
      b.width,
      wide,
      `Neck and margins are ${mm(wide)} mm wide; the blank has ${b.width} mm.`,
      "Take a wider blank or glue ears to its headstock end.",
    );
}

export function checkHoldingAndCutting(o: OrderSpec, tell: Tell): void {
  const { block, pin } = o.holding;
  const thick = o.blank.shaftThickness + o.blank.boardThickness;
  if (!(block.grip < block.length))
    tell(
      R.HOLD_BLOCK,
      "holding.block.grip",
      block.grip,
      block.length,
      "The block reaches over the blank with all its length.",
      "Make the grip smaller or the block longer.",
    );
  if (!(pin.height < thick))
    tell(
      R.HOLD_BLOCK,
      "holding.pin.height",
      pin.height,
      thick,
      `Pins ${pin.height} mm high stand above a blank of ${mm(thick)} mm.`,
      "Use lower pins.",
    );
  const c = o.cutting;
  if (!(c.scribeDepth < thick / 4))
    tell(
      R.CUT_SCRIBE,
      "cutting.scribeDepth",
      c.scribeDepth,
      thick / 4,
      "The scribed line is deeper than a quarter of the blank.",
      "Scribe about 0.4 mm deep.",
    );
  if (!(c.release.thickness < thick / 2))
    tell(
      R.CUT_RELEASE,
      "cutting.release.thickness",
      c.release.thickness,
      thick / 2,
      "What holds the neck is thicker than half the blank.",
      "Make tabs or skin thinner.",
    );
  if (!(c.roughLeave > c.cusp))
    tell(
      R.CUSP_ROUGH,
      "cutting.roughLeave",
      c.roughLeave,
      c.cusp,
      "Roughing leaves less than the cusps of finishing.",
      "Leave about 0.5 mm.",
    );
}

export function checkWoods(o: OrderSpec, tell: Tell): void {
  for (const part of ["shaft", "board"] as const) {
    const name = o.wood[part];
    if (woodByName(name) !== undefined) continue;
    const near = nearestWoodName(name);
    tell(
      R.WOOD_KNOWN,
      `wood.${part}`,
      name,
      near,
      `The wood ${JSON.stringify(name)} is not in the table of woods; the nearest is ${JSON.stringify(near)}.`,
      "Use a name from the table, the wood closest to yours in density.",
      "",
    );
  }
}

export function checkOverrides(o: OrderSpec, tell: Tell): void {
  const seen = new Set<string>();
  o.overrides.forEach((v, i) => {
    if (seen.has(v.rule))
      tell(R.OVERRIDE_RULE, `overrides[${i}].rule`, v.rule, null, `The rule ${v.rule} is overridden twice.`, "Keep one of the two.", "");
    seen.add(v.rule);
  });
}
