export { checkPlan } from "./check.ts";
export { type Coupon, type CouponAsk, couponAllowances, planCoupon } from "./coupon.ts";
export { type PlanOptions, planCuts, zSet } from "./plan.ts";
export { fitRecesses } from "./recess-fit.ts";
export { PA_RULES } from "./rules.ts";
export type * from "./types.ts";
export { arrangeWork, checkOrder, inStages } from "./work.ts";
