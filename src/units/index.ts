export * from "./finding.ts";
export * from "./length.ts";
export * from "./sum.ts";
export * from "./units.ts";
