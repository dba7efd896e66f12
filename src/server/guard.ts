import { hostname, networkInterfaces } from "node:os";
import type { Context, MiddlewareHandler } from "hono";
import { getCookie } from "hono/cookie";
import { LOCAL_HOST, plain } from "./app.ts";
import type { Pairing } from "./pairing.ts";
import { Rate } from "./rate.ts";
import type { Refusals } from "./refusals.ts";

/** Who is asking, as the routes see it. */
export interface Asking {
  readonly Variables: {
    /** Goes with every change: "this machine", or the device's name. */
    by: string;
    /** The machine on which the server runs. */
    here: boolean;
  };
}

export interface Lan {
  readonly pairing: Pairing;
  readonly secure: boolean;
  /** Names and addresses by which this machine may be called, lower case, without port. */
  readonly hosts: ReadonlySet<string>;
  readonly rate: Rate;
  /** Of codes that are tried. */
  readonly tries: Rate;
}

export const KEY_COOKIE = "neckwright-key";

export const makeLan = (pairing: Pairing, secure: boolean, now: () => number = Date.now, hosts: readonly string[] = ownHosts()): Lan => ({
  pairing,
  secure,
  hosts: new Set(hosts.map((h) => h.toLowerCase())),
  rate: new Rate(300, 40, now),
  tries: new Rate(5, 1 / 30, now),
});

/** Addresses by which other machines reach this one: it listens on IPv4 only, which every workshop's network has. */
export const ownAddresses = (): string[] =>
  Object.values(networkInterfaces())
    .flatMap((list) => list ?? [])
    .filter((a) => !a.internal && a.family === "IPv4")
    .map((a) => a.address);

export function ownHosts(): string[] {
  const name = hostname().toLowerCase();
  return [...ownAddresses(), name, `${name}.local`];
}

/** Where a request comes from, as its socket says; null when it has none (a test without a socket). */
export function addressOf(c: Context): string | null {
  const env = c.env as { incoming?: { socket?: { remoteAddress?: string } } } | undefined;
  if (env?.incoming === undefined) return null;
  // a socket that is gone has no address; it is certainly not to be trusted
  return (env.incoming.socket?.remoteAddress ?? "gone").replace(/^::ffff:/, "");
}

const isLoopback = (address: string | null): boolean => address === null || address === "::1" || address.startsWith("127.");

/**
 * Lets in this machine, and with `lan` the devices that are paired. Everything else is refused and logged: foreign names (a page elsewhere
 * that resolves its own name to this machine), foreign pages, devices without a key, too many requests.
 */
export function guard(lan: Lan | null, refusals: Refusals): MiddlewareHandler<Asking> {
  return async (c, next) => {
    const from = addressOf(c);
    const refuse = (status: 401 | 403 | 429, says: string): Response => {
      refusals.add(from ?? "this machine", says, `${c.req.method} ${c.req.path}`);
      c.header("Connection", "close");
      if (status === 429) c.header("Retry-After", "5");
      return c.text(`${says}\n`, status);
    };
    const host = (c.req.header("host") ?? "").toLowerCase();
    const origin = c.req.header("origin");
    // what a proxy on this machine hands on does not come from this machine
    const handedOn = ["forwarded", "x-forwarded-for", "x-real-ip", "via"].some((h) => c.req.header(h) !== undefined);
    if (isLoopback(from) && !handedOn) {
      if (!LOCAL_HOST.test(host)) return refuse(403, "This server answers only to this machine's own name.");
      if (origin !== undefined && origin !== "null" && !LOCAL_HOST.test(origin.replace(/^https?:\/\//, "")))
        return refuse(403, "This server answers only to pages of its own.");
      c.set("by", "this machine");
      c.set("here", true);
      return next();
    }
    if (lan === null || handedOn) return refuse(403, "This server answers only this machine.");
    if (!lan.rate.take(from ?? "")) return refuse(429, "Too many requests; wait a little.");
    if (!lan.hosts.has(host.replace(/:\d{1,5}$/, ""))) return refuse(403, "This server answers only to its own names.");
    if (origin !== undefined && origin.toLowerCase() !== `${lan.secure ? "https" : "http"}://${host}`)
      return refuse(403, "This server answers only to pages of its own.");
    const site = c.req.header("sec-fetch-site");
    if (!["GET", "HEAD"].includes(c.req.method) && site !== undefined && site !== "same-origin")
      return refuse(403, "Only the bench's own page may change anything.");
    c.set("here", false);
    c.set("by", "a device that is not paired");
    if (c.req.path === "/pair") return next();
    const key = getCookie(c, KEY_COOKIE);
    const device = key === undefined || key.length > 100 ? null : lan.pairing.deviceOf(key);
    if (device === null) {
      if (c.req.path === "/" && c.req.method === "GET") return c.redirect("/pair", 303);
      return refuse(401, key === undefined ? "This device is not paired." : "This device's key does not count, or was withdrawn.");
    }
    c.set("by", device.name);
    return next();
  };
}

/** For routes of the first screen. */
export const onlyFirstScreen =
  (refusals: Refusals): MiddlewareHandler<Asking> =>
  async (c, next) => {
    if (c.get("here")) return next();
    const says = "Only the machine on which the bench runs may do this.";
    refusals.add(addressOf(c) ?? "this machine", says, `${c.req.method} ${c.req.path}`);
    return plain(c, 403, says);
  };

const ODD_PATH = /\.\.|%(?:2e|2f|5c|0|1)|[\\\p{C}]/iu;

/** Paths that are made to lead out of a folder lead nowhere; who tries is written down. */
export const noteOddPaths =
  (refusals: Refusals): MiddlewareHandler<Asking> =>
  async (c, next) => {
    await next();
    if (c.res.status >= 400 && ODD_PATH.test(c.req.path))
      refusals.add(addressOf(c) ?? "this machine", "a path made to lead out of its folder", `${c.req.method} ${c.req.path}`);
  };
