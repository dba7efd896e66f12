import { createHash } from "node:crypto";
import { existsSync } from "node:fs";
import Database from "better-sqlite3";
import { MIGRATIONS } from "./migrations.ts";
import { checkBytes, checkHash, checkName, checkSaid, markOf } from "./rules.ts";
import {
  type Attached,
  type Bytes,
  type Change,
  type Device,
  type Doc,
  type Head,
  type JobRecord,
  type Kind,
  type Put,
  type Said,
  type Store,
  StoreError,
} from "./types.ts";

/* The store in one SQLite file. Write-ahead log and full synchronisation: what `put` has returned from survives a kill and a power cut. */

type Row = Record<string, unknown>;

/** How long one process waits for another that is writing, ms. */
const BUSY_MS = 8000;

const headIn = (r: Row): Head => ({
  kind: r.kind as Kind,
  name: r.name as string,
  version: r.version as number,
  mark: r.mark as string,
  removed: r.removed === 1,
  at: r.at as string,
  by: r.by as string,
});

export interface SqliteOptions {
  /** Up to which step the tables are taken; default: the last. Only tests stop before. */
  readonly upTo?: number;
  /** Only looked at: nothing is written, and tables of an earlier step stay as they are. */
  readonly readOnly?: boolean;
}

/** Every table, and how its rows are put in order: what `digest` goes through. */
const TABLES = [
  ["body", "mark"],
  ["change", "seq"],
  ["document", "kind, name"],
  ["bytes", "hash"],
  ["attachment", "kind, name, hash"],
  ["job", "made"],
  ["wear", "cutter, step"],
  ["device", "id"],
] as const;

export class SqliteStore implements Store {
  private readonly db: Database.Database;
  private readonly statements = new Map<string, Database.Statement>();
  /** Copies made before the tables were changed. */
  readonly copies: readonly string[];

  /** Opens or makes the file. Throws StoreError on a file that is no store or comes from a later version of the program. */
  constructor(path: string, options: SqliteOptions = {}) {
    try {
      this.db = new Database(path, { timeout: BUSY_MS, readonly: options.readOnly === true });
      if (options.readOnly !== true) this.db.pragma("journal_mode = WAL");
      this.db.pragma("synchronous = FULL");
      this.db.pragma("foreign_keys = ON");
    } catch (e) {
      throw new StoreError(
        `${path} is no database of a shop: ${e instanceof Error ? e.message : String(e)}.`,
        "Restore a backup, or move the file away: orders and shops in the folder are then read anew.",
      );
    }
    try {
      this.copies = this.migrate(path, options.upTo ?? (MIGRATIONS.at(-1) as { to: number }).to);
    } catch (e) {
      this.db.close();
      throw e;
    }
  }

  private migrate(path: string, upTo: number): string[] {
    const version = (): number => this.db.pragma("user_version", { simple: true }) as number;
    const first = version();
    const last = (MIGRATIONS.at(-1) as { to: number }).to;
    if (first > last)
      throw new StoreError(
        `${path} was written by a later version of this program (tables ${first}, known ${last}).`,
        "Use that version, or restore an older backup.",
      );
    const copies: string[] = [];
    const wanted = MIGRATIONS.filter((m) => m.to > first && m.to <= upTo);
    if (wanted.length === 0 || this.db.readonly) return copies;
    if (first > 0 && path !== ":memory:") {
      let copy = `${path}.before-${wanted[0].to}`;
      for (let k = 2; existsSync(copy); k++) copy = `${path}.before-${wanted[0].to}-${k}`;
      this.db.prepare("VACUUM INTO ?").run(copy);
      copies.push(copy);
    }
    for (const m of wanted)
      this.db
        .transaction(() => {
          // another process may have been quicker
          if (version() >= m.to) return;
          this.db.exec(m.sql);
          this.db.pragma(`user_version = ${m.to}`);
        })
        .immediate();
    return copies;
  }

  private sql(text: string): Database.Statement {
    let s = this.statements.get(text);
    if (s === undefined) {
      s = this.db.prepare(text);
      this.statements.set(text, s);
    }
    return s;
  }

  /** Runs with the right to write from the first moment on, so that what is read is what is written over. */
  private writing<T>(act: () => T): T {
    return this.db.transaction(act).immediate();
  }

  put(kind: Kind, name: string, text: string, base: string | null, said: Said): Put {
    checkName(kind, name);
    checkSaid(said);
    const mark = markOf(text);
    return this.writing((): Put => {
      const last = this.last(kind, name);
      const now = last === null || last.removed ? null : last;
      if ((now?.mark ?? null) !== base) return { conflict: now === null ? null : this.whole(now) };
      if (now !== null && now.mark === mark) return { head: now };
      this.sql("INSERT INTO body (mark, text) VALUES (?, ?) ON CONFLICT DO NOTHING").run(mark, text);
      return { head: this.add({ kind, name, mark, removed: false, version: (last?.version ?? 0) + 1, ...said }) };
    });
  }

  remove(kind: Kind, name: string, base: string, said: Said): Put {
    checkName(kind, name);
    checkSaid(said);
    return this.writing((): Put => {
      const now = this.last(kind, name);
      if (now === null || now.removed || now.mark !== base) return { conflict: now === null || now.removed ? null : this.whole(now) };
      return { head: this.add({ ...now, removed: true, version: now.version + 1, ...said }) };
    });
  }

  private add(h: Head): Head {
    const { lastInsertRowid } = this.sql(
      "INSERT INTO change (kind, name, version, mark, removed, at, by) VALUES (?, ?, ?, ?, ?, ?, ?)",
    ).run(h.kind, h.name, h.version, h.mark, h.removed ? 1 : 0, h.at, h.by);
    this.sql("INSERT INTO document (kind, name, seq) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET seq = excluded.seq").run(
      h.kind,
      h.name,
      lastInsertRowid,
    );
    return { kind: h.kind, name: h.name, version: h.version, mark: h.mark, removed: h.removed, at: h.at, by: h.by };
  }

  private last(kind: Kind, name: string): Head | null {
    const r = this.sql("SELECT c.* FROM document d JOIN change c ON c.seq = d.seq WHERE d.kind = ? AND d.name = ?").get(kind, name);
    return r === undefined ? null : headIn(r as Row);
  }

  private whole(h: Head): Doc {
    return { ...h, text: (this.sql("SELECT text FROM body WHERE mark = ?").get(h.mark) as Row).text as string };
  }

  get(kind: Kind, name: string): Doc | null {
    const h = this.last(kind, name);
    return h === null || h.removed ? null : this.whole(h);
  }

  version(kind: Kind, name: string, version: number): Doc | null {
    const r = this.sql("SELECT * FROM change WHERE kind = ? AND name = ? AND version = ?").get(kind, name, version);
    return r === undefined ? null : this.whole(headIn(r as Row));
  }

  knows(kind: Kind, name: string, mark: string): boolean {
    return this.sql("SELECT 1 FROM change WHERE kind = ? AND name = ? AND mark = ? LIMIT 1").get(kind, name, mark) !== undefined;
  }

  textOf(mark: string): string | null {
    return ((this.sql("SELECT text FROM body WHERE mark = ?").get(mark) as Row | undefined)?.text as string | undefined) ?? null;
  }

  list(kind: Kind): readonly Head[] {
    return this.sql("SELECT c.* FROM document d JOIN change c ON c.seq = d.seq WHERE d.kind = ? AND c.removed = 0 ORDER BY d.name")
      .all(kind)
      .map((r) => headIn(r as Row));
  }

  versions(kind: Kind, name: string, most: number, before: number = Number.MAX_SAFE_INTEGER): readonly Head[] {
    return this.sql("SELECT * FROM change WHERE kind = ? AND name = ? AND version < ? ORDER BY version DESC LIMIT ?")
      .all(kind, name, before, most)
      .map((r) => headIn(r as Row));
  }

  changes(after: number, most: number): readonly Change[] {
    return this.sql("SELECT * FROM change WHERE seq > ? ORDER BY seq LIMIT ?")
      .all(after, most)
      .map((r) => ({ ...headIn(r as Row), seq: (r as Row).seq as number }));
  }

  keep(media: string, bytes: Uint8Array): string {
    const hash = checkBytes(bytes);
    this.writing(() =>
      this.sql("INSERT INTO bytes (hash, media, data) VALUES (?, ?, ?) ON CONFLICT DO NOTHING").run(hash, media, Buffer.from(bytes)),
    );
    return hash;
  }

  bytes(hash: string): Bytes | null {
    const r = this.sql("SELECT * FROM bytes WHERE hash = ?").get(hash) as Row | undefined;
    return r === undefined ? null : { hash, media: r.media as string, bytes: new Uint8Array(r.data as Buffer) };
  }

  attach(kind: Kind, name: string, hash: string, label: string, said: Said): void {
    checkName(kind, name);
    checkHash(hash);
    checkSaid(said);
    this.writing(() => {
      if (this.sql("SELECT 1 FROM bytes WHERE hash = ?").get(hash) === undefined)
        throw new StoreError("These bytes are not kept here.", "Send them first.");
      this.sql("INSERT INTO attachment (kind, name, hash, label, at, by) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING").run(
        kind,
        name,
        hash,
        label,
        said.at,
        said.by,
      );
    });
  }

  attached(kind: Kind, name: string): readonly Attached[] {
    return this.sql(
      "SELECT a.hash, b.media, length(b.data) AS size, a.label, a.at, a.by FROM attachment a JOIN bytes b ON b.hash = a.hash WHERE a.kind = ? AND a.name = ? ORDER BY a.rowid",
    ).all(kind, name) as Attached[];
  }

  putJob(job: JobRecord): void {
    checkSaid(job);
    this.writing(() =>
      this.sql(
        'INSERT INTO job (id, made, "order", record) VALUES (?, (SELECT coalesce(max(made), 0) + 1 FROM job), ?, ?) ON CONFLICT (id) DO UPDATE SET record = excluded.record',
      ).run(job.id, job.order, JSON.stringify(job)),
    );
  }

  jobs(order: string, most: number): readonly JobRecord[] {
    return this.sql('SELECT record FROM job WHERE "order" = ? ORDER BY made DESC LIMIT ?')
      .all(order, most)
      .map((r) => JSON.parse((r as Row).record as string) as JobRecord);
  }

  wear(cutter: string, step: string, mm: number, said: Said): void {
    checkName("cutter", cutter);
    checkSaid(said);
    if (!(mm >= 0 && mm < 1e9)) throw new StoreError(`${mm} mm is no length that a cutter goes.`, "Give a length in mm.");
    this.writing(() =>
      this.sql(
        "INSERT INTO wear (cutter, step, mm, at, by) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO UPDATE SET mm = excluded.mm, at = excluded.at",
      ).run(cutter, step, mm, said.at, said.by),
    );
  }

  worn(cutter: string): number {
    return (this.sql("SELECT total(mm) AS mm FROM wear WHERE cutter = ?").get(cutter) as Row).mm as number;
  }

  putDevice(d: Device): void {
    this.writing(() =>
      this.sql(
        "INSERT INTO device (id, name, key_hash, since, withdrawn) VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET name = excluded.name, withdrawn = excluded.withdrawn",
      ).run(d.id, d.name, d.keyHash, d.since, d.withdrawn),
    );
  }

  devices(): readonly Device[] {
    return this.sql("SELECT id, name, key_hash AS keyHash, since, withdrawn FROM device ORDER BY id").all() as Device[];
  }

  together<T>(act: () => T): T {
    return this.writing(act);
  }

  check(): readonly string[] {
    const found = (this.db.pragma("integrity_check") as Row[]).map((r) => String(r.integrity_check)).filter((s) => s !== "ok");
    const broken = (this.db.pragma("foreign_key_check") as Row[]).map((r) => `${String(r.table)}: a row points at nothing`);
    const marks: string[] = [];
    for (const r of this.db.prepare("SELECT mark, text FROM body").iterate() as IterableIterator<Row>)
      if (markOf(r.text as string) !== r.mark) marks.push(`a text is not that of its mark ${String(r.mark).slice(0, 12)}`);
    for (const r of this.db.prepare("SELECT hash, data FROM bytes").iterate() as IterableIterator<Row>)
      if (checkBytes(r.data as Buffer) !== r.hash) marks.push(`bytes are not those of their hash ${String(r.hash).slice(0, 12)}`);
    return [...found, ...broken, ...marks];
  }

  /** SHA-256 of all that the database says: two with the same digest say the same. */
  digest(): string {
    const hash = createHash("sha256");
    const has = this.db.prepare("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?");
    for (const [table, order] of TABLES) {
      if (has.get(table) === undefined) continue;
      hash.update(`${table}\n`);
      for (const row of this.db.prepare(`SELECT * FROM ${table} ORDER BY ${order}`).iterate() as IterableIterator<Row>) {
        // bytes stand for themselves by their hash, which `check` holds against them
        const { data: _data, ...rest } = row;
        hash.update(`${JSON.stringify(rest)}\n`);
      }
    }
    return hash.digest("hex");
  }

  async copyTo(path: string): Promise<void> {
    if (existsSync(path)) throw new StoreError(`${path} is there already.`, "Choose another name.");
    await this.db.backup(path);
  }

  close(): void {
    this.db.close();
  }
}
