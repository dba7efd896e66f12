/*
 * The tables, step by step. A step that has ever been released is never changed; a new one is added below it. Before a database is taken
 * from one step to the next, a copy of it is made beside it.
 */

export interface Migration {
  /** user_version that it leads to. */
  readonly to: number;
  readonly says: string;
  readonly sql: string;
}

export const MIGRATIONS: readonly Migration[] = [
  {
    to: 1,
    says: "documents with every version, what is attached to them, what was made",
    sql: `
      CREATE TABLE body (mark TEXT PRIMARY KEY, text TEXT NOT NULL CHECK (json_valid(text))) STRICT, WITHOUT ROWID;
      CREATE TABLE change (
        seq INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        version INTEGER NOT NULL CHECK (version >= 1),
        mark TEXT NOT NULL REFERENCES body (mark),
        removed INTEGER NOT NULL CHECK (removed IN (0, 1)),
        at TEXT NOT NULL,
        by TEXT NOT NULL,
        UNIQUE (kind, name, version)
      ) STRICT;
      CREATE INDEX change_mark ON change (kind, name, mark);
      CREATE TABLE document (
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        seq INTEGER NOT NULL REFERENCES change (seq),
        PRIMARY KEY (kind, name)
      ) STRICT, WITHOUT ROWID;
      CREATE TABLE bytes (hash TEXT PRIMARY KEY, media TEXT NOT NULL, data BLOB NOT NULL) STRICT;
      CREATE TABLE attachment (
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        hash TEXT NOT NULL REFERENCES bytes (hash),
        label TEXT NOT NULL,
        at TEXT NOT NULL,
        by TEXT NOT NULL,
        PRIMARY KEY (kind, name, hash)
      ) STRICT;
      CREATE TABLE job (
        id TEXT PRIMARY KEY,
        made INTEGER NOT NULL UNIQUE,
        "order" TEXT NOT NULL,
        record TEXT NOT NULL CHECK (json_valid(record))
      ) STRICT;
      CREATE INDEX job_order ON job ("order", made);
    `,
  },
  {
    to: 2,
    says: "how far cutters went, and devices on the workshop's network",
    sql: `
      CREATE TABLE wear (
        cutter TEXT NOT NULL,
        step TEXT NOT NULL,
        mm REAL NOT NULL CHECK (mm >= 0),
        at TEXT NOT NULL,
        by TEXT NOT NULL,
        PRIMARY KEY (cutter, step)
      ) STRICT, WITHOUT ROWID;
      CREATE TABLE device (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        key_hash TEXT NOT NULL UNIQUE,
        since TEXT NOT NULL,
        withdrawn TEXT
      ) STRICT;
    `,
  },
];
