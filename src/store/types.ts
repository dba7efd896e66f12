/*
 * The shop's memory. Everything that is written by people is a document with every version it ever had; what is large (photographs) is kept
 * once by its hash. Texts are JSON; times and names of devices come from outside, never from here.
 */

/** What documents there are. */
export const KINDS = ["order", "shop", "machine", "cutter", "wood", "hardware", "plate", "run", "board", "names"] as const;
export type Kind = (typeof KINDS)[number];

/** When something was said, and by which device. */
export interface Said {
  /** ISO 8601, UTC. */
  readonly at: string;
  readonly by: string;
}

export interface Head extends Said {
  readonly kind: Kind;
  readonly name: string;
  /** From 1. */
  readonly version: number;
  /** SHA-256 of the text, hexadecimal. */
  readonly mark: string;
  /** The document was taken away with this version; its text is then that of the version before. */
  readonly removed: boolean;
}

export interface Doc extends Head {
  readonly text: string;
}

/** What became of a change: it holds, or somebody else changed the document first and nothing was written. */
export type Put = { readonly head: Head } | { readonly conflict: Doc | null };

export interface Bytes {
  /** SHA-256, hexadecimal. */
  readonly hash: string;
  /** "image/jpeg" */
  readonly media: string;
  readonly bytes: Uint8Array;
}

/** Something large that belongs to a document. */
export interface Attached extends Said {
  readonly hash: string;
  readonly media: string;
  readonly label: string;
  readonly size: number;
}

/** What was made of an order: which programs, by hash. */
export interface JobRecord extends Said {
  readonly id: string;
  readonly order: string;
  /** Mark of the order that it was made from. */
  readonly orderMark: string;
  readonly shop: string;
  readonly state: "done" | "stopped";
  readonly programs: readonly { readonly file: string; readonly sha256: string }[];
}

/** Another machine that may use the bench over the workshop's network. */
export interface Device {
  readonly id: string;
  readonly name: string;
  /** SHA-256 of its key; the key itself is nowhere but with the device. */
  readonly keyHash: string;
  readonly since: string;
  readonly withdrawn: string | null;
}

/** One line of the history of everything. */
export interface Change extends Head {
  readonly seq: number;
}

export interface Store {
  /**
   * Writes a new version. `base`: mark of the version it was made from, null when there was none or it was taken away. When `put` has
   * returned the change survives a crash. Text that does not change anything makes no version. Throws StoreError on a name or a text
   * that is not allowed.
   */
  put(kind: Kind, name: string, text: string, base: string | null, said: Said): Put;
  /** Takes a document away; all its versions stay. */
  remove(kind: Kind, name: string, base: string, said: Said): Put;
  /** As it is now; null when there is none or it was taken away. */
  get(kind: Kind, name: string): Doc | null;
  version(kind: Kind, name: string, version: number): Doc | null;
  /** Whether any version ever had this text. */
  knows(kind: Kind, name: string, mark: string): boolean;
  /** The text of a mark; null when no version of anything ever had it. */
  textOf(mark: string): string | null;
  /** Those that are not taken away, by name. */
  list(kind: Kind): readonly Head[];
  /** Newest first; those before `before`. */
  versions(kind: Kind, name: string, most: number, before?: number): readonly Head[];
  /** Of everything, oldest first, after `seq`. */
  changes(after: number, most: number): readonly Change[];

  /** Keeps bytes and says under which hash. */
  keep(media: string, bytes: Uint8Array): string;
  bytes(hash: string): Bytes | null;
  attach(kind: Kind, name: string, hash: string, label: string, said: Said): void;
  attached(kind: Kind, name: string): readonly Attached[];

  putJob(job: JobRecord): void;
  /** Newest first. */
  jobs(order: string, most: number): readonly JobRecord[];

  /** Adds what a cutter went through wood in a run, mm; the same run and step count once. */
  wear(cutter: string, step: string, mm: number, said: Said): void;
  worn(cutter: string): number;

  putDevice(device: Device): void;
  devices(): readonly Device[];

  /** Several changes as one: all of them hold, or none when `act` throws. Nobody else, in whatever process, writes meanwhile. */
  together<T>(act: () => T): T;

  /** What is wrong with the store, in words; empty when it is sound. */
  check(): readonly string[];
  /** A copy of everything as it stands at one moment, in a file that must not exist. */
  copyTo(path: string): Promise<void>;
  close(): void;
}

/** A store that cannot do what was asked, with what to try. */
export class StoreError extends Error {
  readonly tryThis: string;
  constructor(says: string, tryThis: string) {
    super(says);
    this.name = "StoreError";
    this.tryThis = tryThis;
  }
}
