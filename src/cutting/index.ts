export * from "./check.ts";
export * from "./conditions.ts";
export * from "./cusp.ts";
export * from "./force.ts";
export * from "./rules.ts";
export * from "./shape.ts";
export * from "./types.ts";
