import type { Page } from "playwright-core";

/* What a page's script costs the processor between one movement of the pointer and the next, from the browser's own trace. */

interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  /** Microseconds. */
  readonly ts: number;
  readonly dur?: number;
  /** Of the thread: what others take from it is not counted. */
  readonly tdur?: number;
  readonly args?: { readonly data?: { readonly type?: string } };
}

const SCRIPT: ReadonlySet<string> = new Set([
  "FunctionCall",
  "EventDispatch",
  "TimerFire",
  "FireAnimationFrame",
  "RunMicrotasks",
  "HandlePostMessage",
  "EvaluateScript",
  "v8.run",
  "MinorGC",
  "MajorGC",
]);

/** Runs `move` under the trace; gives for each movement of the pointer the processor time of script and of collecting garbage until the next, ms. */
export async function scriptTimes(page: Page, move: () => Promise<void>): Promise<number[]> {
  const cdp = await page.context().newCDPSession(page);
  const events: TraceEvent[] = [];
  cdp.on("Tracing.dataCollected", (e) => {
    events.push(...(e.value as unknown as TraceEvent[]));
  });
  const complete = new Promise<void>((done) => cdp.once("Tracing.tracingComplete", () => done()));
  await cdp.send("Tracing.start", {
    transferMode: "ReportEvents",
    traceConfig: { includedCategories: ["devtools.timeline", "v8"], excludedCategories: ["*"] },
  });
  await move();
  await cdp.send("Tracing.end");
  await complete;
  await cdp.detach();
  const moves = events.filter((e) => e.name === "EventDispatch" && e.args?.data?.type === "pointermove").sort((a, b) => a.ts - b.ts);
  const [first] = moves;
  if (first === undefined) throw new Error("the trace has no movement of the pointer");
  const own = events.filter((e) => e.pid === first.pid && e.tid === first.tid && e.ph === "X" && SCRIPT.has(e.name));
  own.sort((a, b) => a.ts - b.ts || (b.dur ?? 0) - (a.dur ?? 0));
  const times = new Array<number>(moves.length).fill(0);
  // what lies within another is counted with it
  let end = Number.NEGATIVE_INFINITY;
  let at = -1;
  for (const e of own) {
    while (at + 1 < moves.length && e.ts >= (moves[at + 1] as TraceEvent).ts) at++;
    if (at < 0 || e.ts < end) continue;
    end = e.ts + (e.dur ?? 0);
    times[at] = (times[at] ?? 0) + (e.tdur ?? 0) / 1000;
  }
  return times;
}
