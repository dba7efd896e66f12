export { BOW_LIMIT, type Bow, contactsOf, planningForce, type Stretch, worstBow } from "./bow.ts";
export { type AlongNeck, alongNeck, checkHolding, unturned } from "./check.ts";
export { extent, SWATH } from "./extent.ts";
export { planHolding } from "./plan.ts";
export { HO_RULES } from "./rules.ts";
export { apply, compose, inverse, QUARTER_TURN } from "./transform.ts";
export type * from "./types.ts";
export { upOf, whereInBlank } from "./where.ts";
