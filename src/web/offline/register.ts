/**
 * The bench opens while the server is away, where the browser allows a keeper (this machine's own name, or https). It fetches the whole bench,
 * so it is begun when the first screen stands and nothing else is to be done.
 */
export function keepOffline(): void {
  if (!("serviceWorker" in navigator)) return;
  const begin = (): void => {
    navigator.serviceWorker.register("/bench/keeper.js", { scope: "/", type: "module" }).catch(() => {
      // then it needs the server to open, as any page
    });
  };
  if ("requestIdleCallback" in globalThis) requestIdleCallback(begin, { timeout: 3000 });
  else setTimeout(begin, 500);
}
