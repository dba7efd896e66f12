export { checkPlan } from "./check.ts";
export { type PlanOptions, planCuts, zSet } from "./plan.ts";
export { PA_RULES } from "./rules.ts";
export type * from "./types.ts";
