export { Clearer, type Clearing, type ClearingOptions, clearRegion, holdsWithin, type Stretch } from "./clear.ts";
export { type Grid, signedField, valueAt } from "./grid.ts";
