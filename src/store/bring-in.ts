import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import type { PaperKind } from "../job/records.ts";
import { backUp, restore } from "./backup.ts";
import { type FolderMemory, MEMORY, replaceFile } from "./folder.ts";
import { keepParts } from "./parts.ts";
import { type RunFile, stateOf } from "./runs.ts";
import { SqliteStore } from "./sqlite.ts";
import { OWN_TABLES } from "./tables.ts";
import type { Kind, Said, Store } from "./types.ts";

/*
 * An archive of everything brought into a shop's folder that is in use. The archive is unpacked and checked beside it first, and what is here is
 * backed up, before anything changes. Nothing here is taken away: what is in both becomes a new version, what cannot be put together stays as it is
 * here and is named.
 */

export interface BroughtIn {
  /** Papers, rows, runs and files that are new here, and those that got a new version. */
  readonly fresh: readonly string[];
  readonly changed: readonly string[];
  readonly same: number;
  /** What stays as it is here although the archive has something else. */
  readonly left: readonly string[];
  /** The backup of before, within the shop's folder. */
  readonly backup: string;
}

type Lists = { readonly fresh: string[]; readonly changed: string[]; readonly left: string[]; same: number };

/** Throws InputError on an archive that is no backup, is damaged or cut short; then nothing has changed. */
export async function bringIn(memory: FolderMemory, zip: string, by: string): Promise<BroughtIn> {
  const home = join(memory.folder, MEMORY);
  const work = mkdtempSync(join(home, "bring-in-"));
  try {
    const there = join(work, "there");
    restore(zip, there);
    const said = memory.said(`archive, ${by}`);
    const backups = join(home, "backups");
    mkdirSync(backups, { recursive: true, mode: 0o700 });
    const name = `before-${said.at.replaceAll(/[^0-9TZ]/g, "")}-${readdirSync(backups).length + 1}.zip`;
    await backUp(memory.folder, join(backups, name), said.at);
    const from = new SqliteStore(join(there, MEMORY, "shop.db"));
    const lists: Lists = { fresh: [], changed: [], left: [], same: 0 };
    try {
      for (const kind of ["shop", "order"] as const) for (const h of from.list(kind)) bringPaper(memory, from, kind, h.name, said, lists);
      memory.store.together(() => {
        for (const h of from.list("order")) bringPictures(memory.store, from, "order", h.name);
        for (const h of from.list("run")) bringRun(memory.store, from, h.name, said, lists);
        for (const kind of OWN_TABLES) for (const h of from.list(kind)) bringRow(memory.store, from, kind, h.name, said, lists);
        for (const h of from.list("order")) for (const job of from.jobs(h.name, 1000).toReversed()) memory.store.putJob(job);
      });
      bringFiles(memory, there, lists);
    } finally {
      from.close();
    }
    return { ...lists, backup: join(MEMORY, "backups", name) };
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** Every version of a document, oldest first, as it was said then. */
function replay(to: Store, from: Store, kind: Kind, name: string): void {
  for (const h of from.versions(kind, name, Number.MAX_SAFE_INTEGER).toReversed()) {
    const doc = from.version(kind, name, h.version);
    if (doc === null || h.removed) continue;
    to.put(kind, name, doc.text, to.get(kind, name)?.mark ?? null, { at: h.at, by: h.by });
  }
}

function bringPaper(memory: FolderMemory, from: Store, kind: PaperKind, name: string, said: Said, lists: Lists): void {
  const doc = from.get(kind, name);
  if (doc === null) return;
  memory.takeInAll();
  memory.store.together(() => {
    const here = memory.store.get(kind, name);
    if (here?.mark === doc.mark) {
      lists.same++;
      return;
    }
    if (here === null && memory.store.versions(kind, name, 1).length === 0) replay(memory.store, from, kind, name);
    else memory.store.put(kind, name, doc.text, here?.mark ?? null, said);
    if (kind === "shop") keepParts(memory.store, name, doc.text, said);
    replaceFile(join(memory.folder, `${name}.${kind}.json`), doc.text);
    (here === null ? lists.fresh : lists.changed).push(`${name}.${kind}.json`);
  });
}

function bringPictures(to: Store, from: Store, kind: Kind, name: string): void {
  for (const a of from.attached(kind, name)) {
    const bytes = from.bytes(a.hash);
    if (bytes === null) continue;
    to.keep(bytes.media, bytes.bytes);
    to.attach(kind, name, a.hash, a.label, { at: a.at, by: a.by });
  }
}

function bringRow(to: Store, from: Store, kind: Kind, name: string, said: Said, lists: Lists): void {
  const row = from.get(kind, name);
  if (row === null) return;
  const here = to.get(kind, name);
  if (here?.mark === row.mark) lists.same++;
  // names of versions mean the versions that they were given for: here they have other numbers
  else if (kind === "names" && to.versions("order", name, 1)[0]?.version !== from.versions("order", name, 1)[0]?.version)
    lists.left.push(`${kind}/${name}`);
  else {
    to.put(kind, name, row.text, here?.mark ?? null, said);
    (here === null ? lists.fresh : lists.changed).push(`${kind}/${name}`);
  }
}

/** A run that is here too is put together entry by entry when it is the same piece; another run of the same name stays as it is here. */
function bringRun(to: Store, from: Store, name: string, said: Said, lists: Lists): void {
  const theirs = JSON.parse(from.get("run", name)?.text ?? "null") as RunFile | null;
  if (theirs === null) return;
  const doc = to.get("run", name);
  const mine = doc === null ? null : (JSON.parse(doc.text) as RunFile);
  if (mine !== null && JSON.stringify({ ...mine, events: [] }) !== JSON.stringify({ ...theirs, events: [] })) {
    lists.left.push(name);
    return;
  }
  bringPictures(to, from, "run", name);
  const known = new Set(mine?.events.map((e) => e.id));
  const fresh = theirs.events.filter((e) => !known.has(e.id));
  if (mine !== null && fresh.length === 0) {
    lists.same++;
    return;
  }
  const run: RunFile = { ...theirs, events: [...(mine?.events ?? []), ...fresh] };
  to.put("run", name, JSON.stringify(run), doc?.mark ?? null, said);
  const state = stateOf(run.events);
  for (const p of run.programs)
    if (state.has(p.file))
      to.wear(`${run.shop}-t${p.cutter}`, `${name} ${p.file}`, state.get(p.file)?.done === true ? p.feedLength : 0, said);
  (mine === null ? lists.fresh : lists.changed).push(name);
}

/** Drawings and made folders that are not here. */
function bringFiles(memory: FolderMemory, there: string, lists: Lists): void {
  for (const folder of ["drawings", "jobs"] as const) {
    const source = join(there, folder);
    if (!existsSync(source)) continue;
    const target = memory.inside(folder);
    mkdirSync(target, { recursive: true });
    for (const file of readdirSync(source)) {
      if (existsSync(join(target, file))) continue;
      cpSync(join(source, file), join(target, file), { recursive: true });
      lists.fresh.push(`${folder}/${file}`);
    }
  }
}
