/*
 * The order of work of several pieces on one bed. Each piece has its own order, which stays; what may be chosen is whose turn it is. Changing
 * the cutter costs time at the machine and a chance of a wrong length, so changes are kept as few as can be.
 */

/** One step of a piece: something cut with a cutter, or done by hand (null). */
export interface PieceStep {
  readonly cutter: number | null;
  readonly id: string;
}

export type Turn =
  | { readonly kind: "cut"; readonly cutter: number; readonly steps: readonly { readonly piece: number; readonly id: string }[] }
  | { readonly kind: "hand"; readonly steps: readonly { readonly piece: number; readonly id: string }[] };

export interface Schedule {
  readonly turns: readonly Turn[];
  /** Times that a cutter is put in, the first one too. */
  readonly changes: number;
  /** No order of work has fewer. */
  readonly exact: boolean;
}

/** States that the search looks at; more kinds of pieces than that are ordered by a rule of thumb. */
const MOST_STATES = 30_000;

/**
 * The steps of all pieces with the fewest changes of the cutter. Once a cutter is in, all that can be cut with it is: putting off what could be
 * cut never saves a change (in any order of work it can be moved forward to there). So only the next cutter is searched, over how far each kind
 * of piece has come; pieces with the same steps go together.
 */
export function schedule(pieces: readonly (readonly PieceStep[])[]): Schedule {
  const kinds: { readonly steps: readonly PieceStep[]; readonly pieces: number[] }[] = [];
  pieces.forEach((steps, piece) => {
    const same = kinds.find((k) => k.steps.length === steps.length && k.steps.every((s, n) => s.cutter === steps[n].cutter));
    if (same === undefined) kinds.push({ steps, pieces: [piece] });
    else same.pieces.push(piece);
  });
  /** As far as each kind gets with a cutter in; what is done by hand on the way too. */
  const run = (at: readonly number[], cutter: number | null): number[] =>
    at.map((n, k) => {
      const { steps } = kinds[k];
      let to = n;
      while (to < steps.length && (steps[to].cutter === null || steps[to].cutter === cutter)) to++;
      return to;
    });
  const start = run(
    kinds.map(() => 0),
    null,
  );
  const { order, exact } = fewest(kinds, start, run);
  const turns: Turn[] = [];
  const done = pieces.map(() => 0);
  const hands = (): void => {
    const steps: { piece: number; id: string }[] = [];
    pieces.forEach((p, piece) => {
      while (done[piece] < p.length && p[done[piece]].cutter === null) steps.push({ piece, id: p[done[piece]++].id });
    });
    if (steps.length > 0) turns.push({ kind: "hand", steps });
  };
  hands();
  for (const cutter of order) {
    for (;;) {
      const steps: { piece: number; id: string }[] = [];
      pieces.forEach((p, piece) => {
        while (done[piece] < p.length && p[done[piece]].cutter === cutter) steps.push({ piece, id: p[done[piece]++].id });
      });
      if (steps.length === 0) break;
      turns.push({ kind: "cut", cutter, steps });
      hands();
    }
  }
  return { turns, changes: order.length, exact };
}

type Run = (at: readonly number[], cutter: number) => number[];

/** Breadth first over the number of changes: the first state in which all is done has the fewest. */
function fewest(
  kinds: readonly { readonly steps: readonly PieceStep[] }[],
  start: readonly number[],
  run: Run,
): { readonly order: readonly number[]; readonly exact: boolean } {
  const finished = (at: readonly number[]): boolean => at.every((n, k) => n === kinds[k].steps.length);
  const nexts = (at: readonly number[]): number[] => [
    ...new Set(at.flatMap((n, k) => (n < kinds[k].steps.length ? [kinds[k].steps[n].cutter as number] : []))),
  ];
  interface Node {
    readonly at: readonly number[];
    readonly cutter: number;
    readonly from: Node | null;
  }
  const seen = new Set<string>([start.join()]);
  let front: Node[] = [{ at: start, cutter: -1, from: null }];
  while (front.length > 0) {
    const next: Node[] = [];
    for (const node of front) {
      if (finished(node.at)) {
        const order: number[] = [];
        for (let n: Node | null = node; n !== null && n.from !== null; n = n.from) order.unshift(n.cutter);
        return { order, exact: true };
      }
      for (const cutter of nexts(node.at)) {
        const at = run(node.at, cutter);
        const key = at.join();
        if (seen.has(key)) continue;
        seen.add(key);
        next.push({ at, cutter, from: node });
      }
    }
    if (seen.size > MOST_STATES) break;
    front = next;
  }
  // the cutter that most kinds wait for
  const order: number[] = [];
  let at: readonly number[] = start;
  while (!finished(at)) {
    const waiting = (c: number): number => at.filter((n, k) => n < kinds[k].steps.length && kinds[k].steps[n].cutter === c).length;
    const cutter = nexts(at).reduce((a, b) => (waiting(b) > waiting(a) ? b : a));
    at = run(at, cutter);
    order.push(cutter);
  }
  return { order, exact: false };
}
