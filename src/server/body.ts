import type { Context } from "hono";

export class BadBody extends Error {}

/** A JSON body, or 400. */
export async function jsonOf(c: Context): Promise<unknown> {
  if (!(c.req.header("content-type") ?? "").startsWith("application/json")) throw new BadBody("Send JSON.");
  try {
    return await c.req.json();
  } catch {
    throw new BadBody("The body is not JSON.");
  }
}

/** A body of bytes, or 400. */
export async function bytesOf(c: Context): Promise<Uint8Array> {
  const bytes = new Uint8Array(await c.req.arrayBuffer());
  if (bytes.length === 0) throw new BadBody("The body is empty.");
  return bytes;
}

/** The named texts of a JSON body, all of them, or 400. */
export async function bodyOf<K extends string>(c: Context, keys: readonly K[]): Promise<Record<K, string>> {
  const body = await jsonOf(c);
  const out = {} as Record<K, string>;
  for (const key of keys) {
    const value =
      body !== null && typeof body === "object" && Object.hasOwn(body, key) ? (body as Record<string, unknown>)[key] : undefined;
    if (typeof value !== "string") throw new BadBody(`"${key}" has to be a text.`);
    out[key] = value;
  }
  return out;
}
