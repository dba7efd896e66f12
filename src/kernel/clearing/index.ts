export { Clearer, type Clearing, type ClearingOptions, clearRegion, type Stretch } from "./clear.ts";
export { type Grid, signedField, valueAt } from "./grid.ts";
