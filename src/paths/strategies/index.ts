export * from "./bore.ts";
export * from "./common.ts";
export * from "./contour.ts";
export * from "./levels.ts";
export {
  type Channel,
  channel,
  feedInside,
  type GrooveOptions,
  groove,
  type PocketOptions,
  type RoundRecess,
  roundPocket,
} from "./pocket.ts";
export * from "./rows.ts";
export * from "./slot.ts";
export * from "./thin.ts";
