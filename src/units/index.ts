export * from "./finding.ts";
export * from "./length.ts";
export * from "./units.ts";
