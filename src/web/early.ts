import { type Opened, openOrder, openShop, readShelf, type Shelf } from "./api.ts";

/* What the bench opens with, asked for while its scripts are still being read. */

export interface Early {
  readonly shelf: Shelf;
  readonly order: { readonly name: string; readonly opened: Opened } | null;
  readonly shop: { readonly name: string; readonly opened: Opened } | null;
}

async function ask(): Promise<Early> {
  const shelf = await readShelf();
  const wanted = decodeURIComponent(location.hash.slice(1));
  const order = (shelf.orders.find((o) => o.name === wanted) ?? shelf.orders.find((o) => o.name === "loan-guitar") ?? shelf.orders[0])
    ?.name;
  const shop = shelf.shops.find((s) => s.startsWith("stiff")) ?? shelf.shops[0];
  const [o, s] = await Promise.all([order === undefined ? null : openOrder(order), shop === undefined ? null : openShop(shop)]);
  return {
    shelf,
    order: order === undefined || o === null ? null : { name: order, opened: o },
    shop: shop === undefined || s === null ? null : { name: shop, opened: s },
  };
}

let asked: Promise<Early> | null = null;

/** The same answer however often it is asked for. */
export function early(): Promise<Early> {
  asked ??= ask();
  return asked;
}
