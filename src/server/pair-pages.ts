import { type Context, Hono } from "hono";
import { setCookie } from "hono/cookie";
import encodeQR from "qr";
import { plain } from "./app.ts";
import { type Asking, addressOf, KEY_COOKIE, type Lan, onlyFirstScreen, ownAddresses } from "./guard.ts";
import type { Refusals } from "./refusals.ts";

/* Pairing, without the bench's script: the form that a new device sees, and the page of the first screen with the code and the devices. */

const YEAR_S = 365 * 24 * 3600;

/** Text in HTML, also inside an attribute. */
export const escapeHtml = (text: string): string =>
  text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;").replaceAll("'", "&#39;");

const page = (title: string, body: string): string => `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>${title}</title>
<style>
  :root { color-scheme: light dark; }
  body { font: 1.1rem/1.5 system-ui, sans-serif; max-width: 40rem; margin: 2rem auto; padding: 0 1rem; }
  label, input, button { display: block; font: inherit; } input, button { padding: .6rem .8rem; min-height: 2.9rem; }
  input { width: 100%; box-sizing: border-box; margin-bottom: 1rem; } .code { font: 700 2.4rem/1.4 ui-monospace, monospace; letter-spacing: .15em; }
  td, th { text-align: left; padding: .3rem 1rem .3rem 0; } .qr { background: #fff; padding: 1rem; display: inline-block; } .qr svg { width: 14rem; height: 14rem; display: block; }
</style></head><body><main><h1>${title}</h1>
${body}
</main></body></html>
`;

/** Where other machines find the bench. */
export const addressesOf = (lan: Lan, port: number): string[] =>
  ownAddresses().map((a) => `${lan.secure ? "https" : "http"}://${a}:${port}/`);

/** An SVG of dark squares on white; nothing in it comes from outside but what it encodes. */
export const qrOf = (text: string): string => encodeQR(text, "svg");

export function pairPages(lan: Lan, port: () => number, refusals: Refusals): Hono<Asking> {
  const app = new Hono<Asking>();
  const form = (c: Context, says: string, code: string, status: 200 | 403 | 429 = 200): Response => {
    c.header("Cache-Control", "no-store");
    return c.html(
      page(
        "Pair this device with the bench",
        `${says === "" ? "" : `<p role="alert">${escapeHtml(says)}</p>`}
<p>The code stands on the first screen, the machine on which the bench runs, at its page <b>/devices</b>.</p>
<form method="post" action="/pair">
<label for="code">Code</label><input id="code" name="code" required maxlength="20" autocomplete="off" autocapitalize="characters" value="${escapeHtml(code.slice(0, 20))}">
<label for="name">What this device is called</label><input id="name" name="name" required maxlength="60" placeholder="tablet at the router">
<button>Pair</button></form>`,
      ),
      status,
    );
  };
  app.get("/pair", (c) => form(c, "", c.req.query("code") ?? ""));
  app.post("/pair", async (c) => {
    const from = addressOf(c) ?? "this machine";
    const refuse = (says: string, status: 403 | 429): Response => {
      refusals.add(from, says, "POST /pair");
      return form(c, says, "", status);
    };
    // a form of another origin would send its own; browsers send one with every form
    if (c.req.header("origin") === undefined) return refuse("Only the page of this server may pair.", 403);
    if (!lan.tries.take(from)) return refuse("Too many codes were tried; wait a minute.", 429);
    const body = await c.req.parseBody().catch(() => ({}) as Record<string, unknown>);
    const [code, name] = [body.code, body.name];
    if (typeof code !== "string" || typeof name !== "string") return refuse("Give the code and a name.", 403);
    const paired = lan.pairing.redeem(code, name);
    if ("refused" in paired) return refuse(paired.refused, 403);
    setCookie(c, KEY_COOKIE, paired.key, { httpOnly: true, sameSite: "Strict", path: "/", secure: lan.secure, maxAge: YEAR_S });
    return c.redirect("/", 303);
  });

  const state = (): object => {
    const code = lan.pairing.current();
    const addresses = addressesOf(lan, port());
    const link = code === null || addresses.length === 0 ? null : `${addresses[0]}pair?code=${code.code}`;
    return {
      secure: lan.secure,
      addresses,
      code,
      link,
      qr: link === null ? null : qrOf(link),
      devices: lan.pairing.devices().map(({ id, name, since, withdrawn }) => ({ id, name, since, withdrawn })),
      refused: refusals.last(),
    };
  };
  const first = onlyFirstScreen(refusals);
  for (const path of ["/api/lan", "/api/lan/*", "/devices"]) app.use(path, first);
  app.get("/api/lan", (c) => c.json(state()));
  app.post("/api/lan/code", (c) => {
    lan.pairing.renew();
    return c.json(state());
  });
  app.delete("/api/lan/devices/:id", (c) =>
    lan.pairing.withdraw(c.req.param("id")) ? c.json(state()) : plain(c, 404, "There is no such device."),
  );

  app.get("/devices", (c) => {
    c.header("Cache-Control", "no-store");
    return c.html(devicesPage(lan, port()));
  });
  app.post("/devices", async (c) => {
    if (c.req.header("origin")?.replace(/^https?:\/\//, "") !== c.req.header("host"))
      return plain(c, 403, "Only the page of this server may do this.");
    const body = await c.req.parseBody().catch(() => ({}) as Record<string, unknown>);
    if (typeof body.withdraw === "string") lan.pairing.withdraw(body.withdraw);
    else lan.pairing.renew();
    return c.redirect("/devices", 303);
  });
  return app;
}

function devicesPage(lan: Lan, port: number): string {
  const code = lan.pairing.current();
  const addresses = addressesOf(lan, port);
  const shown =
    code === null || addresses.length === 0
      ? `<p>${addresses.length === 0 ? "This machine is on no network." : "No code counts now."}</p>`
      : `<p class="code">${code.code.slice(0, 4)} ${code.code.slice(4)}</p><p>Once, until ${new Date(code.until).toISOString().slice(11, 16)} UTC. On the other device open <b>${escapeHtml(addresses[0])}</b> or take a picture of this:</p><p class="qr" role="img" aria-label="The address with the code, to be read by a camera">${qrOf(`${addresses[0]}pair?code=${code.code}`)}</p>`;
  const rows = lan.pairing
    .devices()
    .map(
      (d) =>
        `<tr><td>${escapeHtml(d.name)}</td><td>${d.since.slice(0, 10)}</td><td>${d.withdrawn === null ? `<form method="post" action="/devices"><input type="hidden" name="withdraw" value="${d.id}"><button>Withdraw</button></form>` : `withdrawn ${d.withdrawn.slice(0, 10)}`}</td></tr>`,
    )
    .join("\n");
  return page(
    "Devices of this bench",
    `${shown}
<form method="post" action="/devices"><button>Show a new code</button></form>
${lan.secure ? "" : "<p>Without a certificate what goes over the network can be read by others on it, keys too. Give --cert and --key for more than a network you trust.</p>"}
<table><thead><tr><th>Device</th><th>Since</th><th>Key</th></tr></thead><tbody>${rows}</tbody></table>`,
  );
}
