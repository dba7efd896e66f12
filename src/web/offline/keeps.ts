/** Paths whose last answer is kept for when the server is away: pages and what they show. Pairing, devices, archives and streams are not among them. */
const KEPT = /^\/$|^\/bench\/|^\/jobs\/|^\/api\/(?:shelf|orders|shops|jobs|runs|photos)(?:\/|$)/;

export const keeps = (pathname: string): boolean => KEPT.test(pathname) && !pathname.endsWith("/events");

/** Whether an answer may be kept: whole, and not that of another page to which one was sent on (a device that is not paired). */
export const isKept = (answer: { readonly ok: boolean; readonly redirected: boolean; readonly status: number }): boolean =>
  answer.ok && !answer.redirected && answer.status === 200;

/** The server no longer lets this device in: what was kept of the shop is to be forgotten. */
export const isShutOut = (answer: { readonly status: number; readonly redirected: boolean; readonly url: string }): boolean =>
  answer.status === 401 || (answer.redirected && new URL(answer.url).pathname === "/pair");
