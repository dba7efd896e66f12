import schema from "../../schemas/order.schema.json";
import type { Node } from "./schema.ts";

/** What may stand in an order, with titles, units, ranges and reasons: the file that is made from the schemas that read orders. */
export const ORDER: Node = schema as unknown as Node;
