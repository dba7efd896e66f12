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

/** A store that lives as long as its process: for tests, and as the plainest statement of what a store does. */
export class MemoryStore implements Store {
  private readonly docs = new Map<string, Doc[]>();
  private readonly log: Change[] = [];
  private readonly kept = new Map<string, Bytes>();
  private readonly attachments = new Map<string, Attached[]>();
  private readonly made: JobRecord[] = [];
  private readonly wears = new Map<string, Map<string, number>>();
  private readonly known = new Map<string, Device>();

  put(kind: Kind, name: string, text: string, base: string | null, said: Said): Put {
    checkName(kind, name);
    checkSaid(said);
    const mark = markOf(text);
    const now = this.get(kind, name);
    if ((now?.mark ?? null) !== base) return { conflict: now };
    if (now !== null && now.mark === mark) return { head: headOf(now) };
    return { head: this.add({ kind, name, mark, text, removed: false, version: this.all(kind, name).length + 1, ...said }) };
  }

  remove(kind: Kind, name: string, base: string, said: Said): Put {
    checkName(kind, name);
    checkSaid(said);
    const now = this.get(kind, name);
    if (now === null || now.mark !== base) return { conflict: now };
    return { head: this.add({ ...now, removed: true, version: now.version + 1, ...said }) };
  }

  get(kind: Kind, name: string): Doc | null {
    const last = this.all(kind, name).at(-1);
    return last === undefined || last.removed ? null : last;
  }

  version(kind: Kind, name: string, version: number): Doc | null {
    return this.all(kind, name)[version - 1] ?? null;
  }

  knows(kind: Kind, name: string, mark: string): boolean {
    return this.all(kind, name).some((d) => d.mark === mark);
  }

  textOf(mark: string): string | null {
    return [...this.docs.values()].flat().find((d) => d.mark === mark)?.text ?? null;
  }

  list(kind: Kind): readonly Head[] {
    return [...this.docs.values()]
      .flatMap((v) => v.at(-1) ?? [])
      .filter((d) => d.kind === kind && !d.removed)
      .map(headOf)
      .sort((a, b) => (a.name < b.name ? -1 : 1));
  }

  versions(kind: Kind, name: string, most: number, before: number = Number.POSITIVE_INFINITY): readonly Head[] {
    return this.all(kind, name)
      .filter((d) => d.version < before)
      .toReversed()
      .slice(0, most)
      .map(headOf);
  }

  changes(after: number, most: number): readonly Change[] {
    return this.log.filter((c) => c.seq > after).slice(0, most);
  }

  keep(media: string, bytes: Uint8Array): string {
    const hash = checkBytes(bytes);
    if (!this.kept.has(hash)) this.kept.set(hash, { hash, media, bytes: bytes.slice() });
    return hash;
  }

  bytes(hash: string): Bytes | null {
    return this.kept.get(hash) ?? null;
  }

  attach(kind: Kind, name: string, hash: string, label: string, said: Said): void {
    checkName(kind, name);
    checkHash(hash);
    checkSaid(said);
    const found = this.kept.get(hash);
    if (found === undefined) throw new StoreError("These bytes are not kept here.", "Send them first.");
    const list = this.attachments.get(`${kind}/${name}`) ?? [];
    if (list.some((a) => a.hash === hash)) return;
    this.attachments.set(`${kind}/${name}`, [...list, { hash, media: found.media, size: found.bytes.length, label, ...said }]);
  }

  attached(kind: Kind, name: string): readonly Attached[] {
    return this.attachments.get(`${kind}/${name}`) ?? [];
  }

  putJob(job: JobRecord): void {
    checkSaid(job);
    const k = this.made.findIndex((j) => j.id === job.id);
    if (k < 0) this.made.push(job);
    else this.made[k] = job;
  }

  jobs(order: string, most: number): readonly JobRecord[] {
    return this.made
      .filter((j) => j.order === order)
      .toReversed()
      .slice(0, most);
  }

  wear(cutter: string, step: string, mm: number, said: Said): void {
    checkName("cutter", cutter);
    checkSaid(said);
    if (!(mm >= 0 && mm < 1e9)) throw new StoreError(`${mm} mm is no length that a cutter goes.`, "Give a length in mm.");
    const own = this.wears.get(cutter) ?? new Map<string, number>();
    own.set(step, mm);
    this.wears.set(cutter, own);
  }

  worn(cutter: string): number {
    return [...(this.wears.get(cutter)?.values() ?? [])].reduce((a, v) => a + v, 0);
  }

  putDevice(device: Device): void {
    this.known.set(device.id, device);
  }

  devices(): readonly Device[] {
    return [...this.known.values()].sort((a, b) => (a.id < b.id ? -1 : 1));
  }

  together<T>(act: () => T): T {
    const maps = [this.docs, this.kept, this.attachments, this.known] as Map<string, unknown>[];
    const before = maps.map((m) => [...m]);
    const [log, made] = [[...this.log], [...this.made]];
    const wears = [...this.wears].map(([k, v]) => [k, new Map(v)] as const);
    try {
      return act();
    } catch (e) {
      maps.forEach((m, k) => {
        m.clear();
        for (const [key, value] of before[k]) m.set(key, value);
      });
      this.log.splice(0, this.log.length, ...log);
      this.made.splice(0, this.made.length, ...made);
      this.wears.clear();
      for (const [k, v] of wears) this.wears.set(k, v);
      throw e;
    }
  }

  check(): readonly string[] {
    return [...this.docs.values()]
      .flat()
      .flatMap((d) => (markOf(d.text) === d.mark ? [] : [`${d.kind} ${d.name}, version ${d.version}: not its mark`]));
  }

  copyTo(_path: string): Promise<void> {
    return Promise.reject(new StoreError("A store in memory has no file to copy.", "Open a shop folder."));
  }

  close(): void {
    // nothing is held
  }

  private all(kind: Kind, name: string): readonly Doc[] {
    return this.docs.get(`${kind}/${name}`) ?? [];
  }

  private add(doc: Doc): Head {
    this.docs.set(`${doc.kind}/${doc.name}`, [...this.all(doc.kind, doc.name), doc]);
    const head = headOf(doc);
    this.log.push({ ...head, seq: this.log.length + 1 });
    return head;
  }
}

export const headOf = ({ kind, name, version, mark, removed, at, by }: Head): Head => ({ kind, name, version, mark, removed, at, by });
