export { checkPlan } from "./check.ts";
export { type Coupon, type CouponAsk, couponAllowances, planCoupon } from "./coupon.ts";
export type { Context } from "./operations/context.ts";
export { type CutAhead, contextOf, cutsAhead, type PlannedCut, type PlanOptions, planCut, planCuts, type Remember, zSet } from "./plan.ts";
export { fitRecesses } from "./recess-fit.ts";
export { PA_RULES } from "./rules.ts";
export { inTurn, type Slab, type SlabsAhead } from "./strategies/clear.ts";
export type * from "./types.ts";
export { arrangeWork, checkOrder, inStages } from "./work.ts";
