export * from "./finding.ts";
export * from "./units.ts";
