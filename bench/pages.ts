import { spawn } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import type { Page } from "playwright-core";
import { openBrowser, Served } from "../test/bench/served.ts";
import { scriptTimes } from "./script-time.ts";

/*
 * The bench in a browser, measured: script of a drag, first usable screen, what is loaded, frames of the playback, script of a frame in space. Prints
 * what it finds beside what is asked for; asserts nothing.
 */

const root = process.cwd();
const quantile = (v: readonly number[], q: number): number =>
  [...v].sort((a, b) => a - b)[Math.min(v.length - 1, Math.floor(v.length * q))] ?? Number.NaN;
const row = (what: string, found: string, asked: string): void => console.log(`${what.padEnd(46)} ${found.padStart(22)}   asked ${asked}`);

interface Dragged {
  /** From the browser's own count; what other programs take of the processor meanwhile is in it. */
  readonly script: readonly number[];
  /** The same in a second drag, from the trace: processor time. */
  readonly spent: readonly number[];
  /** How long after the pointer the drawing had changed. */
  readonly seen: readonly number[];
}

/** Each step of a drag of a value's name, ms. */
async function drag(page: Page): Promise<Dragged> {
  await page.locator("nav").getByRole("button", { name: "Neck", exact: true }).click();
  await page.locator("input[type=search]").fill("Board thickness");
  const label = page.locator("label.drag", { hasText: "Board thickness" }).first();
  // what is found and figured comes after the first screen, and moves what stands below it
  await page.locator(".figures td").first().waitFor();
  const field = page.getByLabel("Board thickness", { exact: true });
  const before = await field.inputValue();
  const box = await label.boundingBox();
  if (box === null) throw new Error("the value is not on the screen");
  const cdp = await page.context().newCDPSession(page);
  await cdp.send("Performance.enable");
  const script = async (): Promise<number> =>
    ((await cdp.send("Performance.getMetrics")).metrics.find((m) => m.name === "ScriptDuration")?.value ?? 0) * 1000;
  const out: number[] = [];
  await page.evaluate(
    `window.moved = 0; window.seen = []; addEventListener("pointermove", (e) => { window.moved = e.timeStamp; }, true); new MutationObserver(() => { if (window.moved > 0) window.seen.push(performance.now() - window.moved); window.moved = 0; }).observe(document.querySelector(".strips"), { subtree: true, attributes: true, attributeFilter: ["d", "points"] })`,
  );
  await page.mouse.move(box.x + 20, box.y + 8);
  await page.mouse.down();
  for (let k = 0; k < 80; k++) {
    const before = await script();
    await page.mouse.move(box.x + 20 + (k % 20) * 2, box.y + 8);
    await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
    out.push((await script()) - before);
  }
  if ((await field.inputValue()) === before) throw new Error("the value was not dragged");
  const seen = (await page.evaluate("window.seen")) as number[];
  await page.mouse.up();
  const spent = await scriptTimes(page, async () => {
    await page.mouse.move(box.x + 20, box.y + 8);
    await page.mouse.down();
    for (let k = 0; k < 80; k++) {
      await page.mouse.move(box.x + 20 + (k % 20) * 2, box.y + 8);
      await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
    }
    await page.mouse.up();
  });
  return { script: out.slice(10), spent: spent.slice(11, 81), seen: seen.slice(10) };
}

const browser = await openBrowser().catch((e: unknown) => {
  console.log(`the bench in a browser: not measured, ${e instanceof Error ? e.message : String(e)}`);
  process.exit(0);
});
const served = new Served(["loan-guitar.order.json", "stiff-router.shop.json"]);
const { dir } = served;
const made = spawn(
  process.execPath,
  [
    join(root, "dist", "cli.mjs"),
    "make",
    join(dir, "loan-guitar.order.json"),
    "--shop",
    join(dir, "stiff-router.shop.json"),
    "--out",
    join(dir, "jobs", "loan-guitar"),
  ],
  { stdio: "ignore" },
);
await new Promise((done) => made.on("exit", done));
await served.start();
try {
  const first: number[] = [];
  for (let k = 0; k < 4; k++) {
    const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
    await context.addInitScript("localStorage.setItem('neckwright-walked', '1')");
    const page = await context.newPage();
    const from = performance.now();
    await page.goto(`${served.address}#loan-guitar`);
    await page.locator(".strip svg").first().waitFor();
    first.push(performance.now() - from);
    if (k < 3) await context.close();
    else {
      row("first usable screen, median of 4", `${quantile(first, 0.5).toFixed(0)} ms`, "1500 ms");
      const { script, spent, seen } = await drag(page);
      row("drag to redraw, script, p95 (median)", `${quantile(script, 0.95).toFixed(1)} (${quantile(script, 0.5).toFixed(1)}) ms`, "16 ms");
      row("the same, processor time", `${quantile(spent, 0.95).toFixed(1)} (${quantile(spent, 0.5).toFixed(1)}) ms`, "16 ms");
      row("drag, pointer to drawing, p95 (median)", `${quantile(seen, 0.95).toFixed(1)} (${quantile(seen, 0.5).toFixed(1)}) ms`, "a frame");
      await page.locator("nav").getByRole("button", { name: "Proof", exact: true }).click();
      await page.locator(".scrub input").waitFor({ timeout: 120_000 });
      await page.getByRole("button", { name: "Go on" }).click();
      const frames = (await page.evaluate(
        `new Promise((done) => { let n = 0; let last = document.querySelector(".scrub output").textContent; const from = performance.now(); const see = () => { n++; if (performance.now() - from < 4000) requestAnimationFrame(see); else done(n / 4); }; requestAnimationFrame(see); })`,
      )) as number;
      row("playback on the long view", `${frames.toFixed(0)} frames/s`, "30 frames/s");
      await page.getByRole("button", { name: "Stop here" }).click();
      await page.getByRole("button", { name: "In space" }).click();
      await page.locator(".space-box canvas").waitFor();
      const cdp = await context.newCDPSession(page);
      await cdp.send("Performance.enable");
      const count = async (): Promise<number> =>
        ((await cdp.send("Performance.getMetrics")).metrics.find((m) => m.name === "ScriptDuration")?.value ?? 0) * 1000;
      await page.locator(".space-box").focus();
      const space: number[] = [];
      for (let n = 0; n < 30; n++) {
        const before = await count();
        await page.keyboard.press("ArrowLeft");
        await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
        space.push((await count()) - before);
      }
      row("a frame in space, script, p95 (median)", `${quantile(space, 0.95).toFixed(1)} (${quantile(space, 0.5).toFixed(1)}) ms`, "8 ms");
      await context.close();
    }
  }
  const pages = join(root, "dist", "pages");
  const files = [...readdirSync(pages), ...readdirSync(join(pages, "parts")).map((f) => `parts/${f}`)].filter(
    (f) => /\.(?:js|css)$/.test(f) && !f.includes("viewer-"),
  );
  const size = files.reduce((sum, f) => sum + gzipSync(readFileSync(join(pages, f))).length, 0);
  row("loaded before the view in space, compressed", `${(size / 1000).toFixed(0)} kB`, "900 kB");
} finally {
  await browser.close();
  served.end();
}
