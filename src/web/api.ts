/* What the bench asks of the server. Every answer that is not as expected is an Error with the server's own sentence. */

import type { JobState, Opened, OrderHead, Saved } from "../job/shop-folder.ts";
import type { RunEvent, RunFile } from "../store/runs.ts";
import type { Json } from "./document.ts";
import { nameIn } from "./words.ts";

export type { JobState, Opened, OrderHead, Saved };

export interface Shelf {
  readonly orders: readonly OrderHead[];
  readonly shops: readonly string[];
}

/** Requests that change something carry this header: a page of another origin cannot send it unasked. */
const OWN = { "X-Neckwright": "bench" } as const;

/** The server's sentence, in the language of the page where it has been put into that. */
async function refusal(response: Response): Promise<Error> {
  const said = (await response.text()).trim();
  const language = document.documentElement.lang === "de" ? "de" : "en";
  return new Error(said === "" ? `${response.status}` : nameIn(language, said));
}

async function ask(path: string, init?: RequestInit): Promise<Response> {
  const response = await fetch(path, init);
  if (!response.ok && response.status !== 409) throw await refusal(response);
  return response;
}

const json = (method: string, body: unknown): RequestInit => ({
  method,
  headers: { ...OWN, "Content-Type": "application/json" },
  body: JSON.stringify(body),
});

export const readShelf = async (): Promise<Shelf> => (await ask("/api/shelf")).json() as Promise<Shelf>;
export const openOrder = async (name: string): Promise<Opened> =>
  (await ask(`/api/orders/${encodeURIComponent(name)}`)).json() as Promise<Opened>;
export const openShop = async (name: string): Promise<Opened> =>
  (await ask(`/api/shops/${encodeURIComponent(name)}`)).json() as Promise<Opened>;

/** The headstock drawing that the order on the server asks for; null without one. */
export async function openDrawing(name: string): Promise<Uint8Array | null> {
  const response = await fetch(`/api/orders/${encodeURIComponent(name)}/drawing`);
  return response.ok ? new Uint8Array(await response.arrayBuffer()) : null;
}

/** A place that was changed here and elsewhere. */
export interface Clash {
  readonly path: readonly string[];
  readonly base: Json | undefined;
  readonly mine: Json | undefined;
  readonly theirs: Json | undefined;
}

/** What became of a save that may be put together with what others changed. */
export type Joined =
  | { readonly mark: string; readonly text?: string }
  | { readonly conflict: Opened & { readonly clashes?: readonly Clash[]; readonly together?: string } };

export const saveOrder = (name: string, text: string, base: string): Promise<Saved> => save("orders", name, text, base);
/** Saves; what others changed in other places meanwhile is put together with it. */
export async function joinOrder(name: string, text: string, base: string): Promise<Joined> {
  const response = await ask(`/api/orders/${encodeURIComponent(name)}?merge=1`, json("PUT", { text, base }));
  const body = (await response.json()) as Opened;
  return response.status === 409 ? { conflict: body } : body;
}
export const saveShop = (name: string, text: string, base: string): Promise<Saved> => save("shops", name, text, base);

async function save(kind: "orders" | "shops", name: string, text: string, base: string): Promise<Saved> {
  const response = await ask(`/api/${kind}/${encodeURIComponent(name)}`, json("PUT", { text, base }));
  const body = (await response.json()) as Opened;
  return response.status === 409 ? { conflict: body } : { mark: body.mark };
}

export const startJob = async (order: string, shop: string): Promise<JobState> =>
  (await ask("/api/jobs", json("POST", { order, shop }))).json() as Promise<JobState>;
export const lastJob = async (order: string): Promise<JobState | null> =>
  (await ask(`/api/jobs?order=${encodeURIComponent(order)}`)).json() as Promise<JobState | null>;
export const cancelJob = async (id: string): Promise<void> => void (await ask(`/api/jobs/${id}`, { method: "DELETE", headers: OWN }));

/** Calls back with every state of a job until it ends; returns how to stop listening. */
export function followJob(id: string, tell: (state: JobState) => void): () => void {
  const source = new EventSource(`/api/jobs/${id}/events`);
  source.onmessage = (e) => {
    const state = JSON.parse(e.data as string) as JobState;
    tell(state);
    if (state.state !== "working") source.close();
  };
  return () => source.close();
}

/** What a neck leaves the house as. */
export type ExportKind = "dxf" | "svg" | "pdf" | "frets-csv" | "frets-pdf" | "nut" | "marking" | "rollers" | "stl" | "3mf" | "step";

/** The files of one kind, made from the order as it is saved: one file, or an archive of several. */
export async function exported(
  order: string,
  shop: string | null,
  kind: ExportKind,
): Promise<{ readonly name: string; readonly file: Blob }> {
  const query = shop === null ? "" : `?${new URLSearchParams({ shop }).toString()}`;
  const response = await fetch(`/api/exports/${encodeURIComponent(order)}/${kind}${query}`);
  if (!response.ok) throw await refusal(response);
  const name = /filename="([^"]+)"/.exec(response.headers.get("content-disposition") ?? "")?.[1] ?? `${order}-${kind}`;
  return { name, file: await response.blob() };
}

export const jobFile = (order: string, file: string): string => `/jobs/${encodeURIComponent(order)}/${file}`;

/** Names of the runs of an order, newest last. */
export const listRuns = async (order: string): Promise<readonly string[]> =>
  ((await (await ask(`/api/runs?order=${encodeURIComponent(order)}`)).json()) as readonly { readonly name: string }[]).map((h) => h.name);

/** Begins a run of what was made of an order; gives its name. */
export const beginRun = async (order: string, shop: string): Promise<string> => {
  const response = await fetch("/api/runs", json("POST", { order, shop }));
  if (!response.ok) throw await refusal(response);
  return ((await response.json()) as { readonly name: string }).name;
};

/** A run as the server has it; null when it has none of that name. */
export async function readRun(name: string): Promise<RunFile | null> {
  const response = await fetch(`/api/runs/${encodeURIComponent(name)}`);
  if (response.status === 404) return null;
  if (!response.ok) throw new Error(`${response.status}`);
  return (await response.json()) as RunFile;
}

export const sendEvents = async (name: string, events: readonly RunEvent[]): Promise<RunFile> =>
  (await ask(`/api/runs/${encodeURIComponent(name)}/events`, json("POST", { events }))).json() as Promise<RunFile>;

/** Keeps a photograph and gives its hash; with `of` it belongs to that document from then on. */
export async function sendPhoto(
  picture: Blob,
  of?: { readonly kind: string; readonly name: string; readonly label: string },
): Promise<string> {
  const query = of === undefined ? "" : `?${new URLSearchParams(of).toString()}`;
  const response = await ask(`/api/photos${query}`, { method: "POST", headers: { ...OWN, "Content-Type": picture.type }, body: picture });
  return ((await response.json()) as { readonly hash: string }).hash;
}
export const readPhoto = async (hash: string): Promise<Blob> => (await ask(`/api/photos/${hash}`)).blob();

/** A row of a table that the shop's memory keeps; null without one. */
export async function readRow(table: string, name: string): Promise<Opened | null> {
  const response = await fetch(`/api/tables/${table}/${encodeURIComponent(name)}`);
  if (response.status === 404) return null;
  if (!response.ok) throw await refusal(response);
  return (await response.json()) as Opened;
}

/** Writes a row whatever stood there: every version of it is kept. */
export async function writeRow(table: string, name: string, text: string): Promise<void> {
  let base = (await readRow(table, name))?.mark ?? "";
  for (;;) {
    const response = await ask(`/api/tables/${table}/${encodeURIComponent(name)}`, json("PUT", { text, base }));
    if (response.status !== 409) return;
    base = ((await response.json()) as Opened | null)?.mark ?? "";
  }
}

export const dropRow = async (table: string, name: string, base: string): Promise<void> =>
  void (await ask(`/api/tables/${table}/${encodeURIComponent(name)}?base=${base}`, { method: "DELETE", headers: OWN }));

/** A version's head, as the memory lists them. */
export interface Head {
  readonly name: string;
  readonly version: number;
  readonly mark: string;
  readonly at: string;
  readonly by: string;
  readonly removed: boolean;
  /** Of a cutter: mm gone at feed. */
  readonly worn?: number;
}

/** Newest first, those before `before`. */
export const listVersions = async (order: string, most: number, before?: number): Promise<readonly Head[]> =>
  (
    await ask(`/api/orders/${encodeURIComponent(order)}/versions?most=${most}${before === undefined ? "" : `&before=${before}`}`)
  ).json() as Promise<readonly Head[]>;
export const openVersion = async (order: string, version: number): Promise<Opened> =>
  (await ask(`/api/orders/${encodeURIComponent(order)}/versions/${version}`)).json() as Promise<Opened>;
export const listTable = async (kind: string): Promise<readonly Head[]> =>
  (await ask(`/api/tables/${kind}`)).json() as Promise<readonly Head[]>;

/** Pairing, as the first screen sees it. */
export interface LanState {
  readonly secure: boolean;
  readonly addresses: readonly string[];
  readonly code: { readonly code: string; readonly until: number | string } | null;
  readonly qr: string | null;
  readonly devices: readonly { readonly id: string; readonly name: string; readonly since: string; readonly withdrawn: string | null }[];
}

/** "none": the bench is not on the network; "elsewhere": another screen is the first. */
export async function readLan(): Promise<LanState | "none" | "elsewhere"> {
  const response = await fetch("/api/lan");
  if (response.status === 404) return "none";
  if (response.status === 403) return "elsewhere";
  if (!response.ok) throw await refusal(response);
  return (await response.json()) as LanState;
}
export const newCode = async (): Promise<LanState> =>
  (await ask("/api/lan/code", { method: "POST", headers: OWN })).json() as Promise<LanState>;
export const withdrawDevice = async (id: string): Promise<LanState> =>
  (await ask(`/api/lan/devices/${encodeURIComponent(id)}`, { method: "DELETE", headers: OWN })).json() as Promise<LanState>;

/** What an archive that was brought in did. */
export interface BroughtIn {
  readonly fresh: readonly string[];
  readonly changed: readonly string[];
  readonly left: readonly string[];
  readonly backup: string;
}
export const bringArchive = async (file: Blob): Promise<BroughtIn> =>
  (
    await ask("/api/archive", { method: "POST", headers: { ...OWN, "Content-Type": "application/zip" }, body: file })
  ).json() as Promise<BroughtIn>;

/** A paper from a file: new, or the next version of what is there. */
export async function saveAnew(kind: "orders" | "shops", name: string, text: string): Promise<void> {
  JSON.parse(text);
  const saved = await save(kind, name, text, "");
  if ("conflict" in saved) await save(kind, name, text, saved.conflict.mark);
}
