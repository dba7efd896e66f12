// Writes docs/screens/: every page of the bench in both themes, over the demo order made and proved in a folder of its own. `npm run screens`.
import { spawn } from "node:child_process";
import { mkdirSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { openBrowser, Served } from "../test/bench/served.ts";

const root = process.cwd();
const out = join(root, "docs", "screens");

/** Runs the built command to its end. */
async function command(...args: string[]): Promise<void> {
  const ran = spawn(process.execPath, [join(root, "dist", "cli.mjs"), ...args], { stdio: ["ignore", "ignore", "inherit"] });
  const code = await new Promise((done) => ran.on("exit", done));
  if (code !== 0) throw new Error(`neckwright ${args[0]} ended with ${code}`);
}

/** Whatever a page still fetches or computes has come, and nothing moves. */
async function settled(page: Page): Promise<void> {
  await page.waitForLoadState("networkidle");
  let before = "";
  for (let same = 0, k = 0; same < 3 && k < 60; k++) {
    await page.waitForTimeout(250);
    const now = await page.evaluate("document.body.innerHTML");
    same = now === before ? same + 1 : 0;
    before = now as string;
  }
}

interface Screen {
  readonly file: string;
  readonly title: string;
}

const served = new Served(["loan-guitar.order.json", "loan-ukulele.order.json", "stiff-router.shop.json"]);
const of = (name: string): string => join(served.dir, name);
await command("make", of("loan-guitar.order.json"), "--shop", of("stiff-router.shop.json"), "--out", of("jobs/loan-guitar"));
await served.start();
const browser = await openBrowser();
const screens: Screen[] = [];
rmSync(out, { recursive: true, force: true });
mkdirSync(out, { recursive: true });

async function keep(page: Page, name: string, title: string): Promise<void> {
  await settled(page);
  await page.screenshot({ path: join(out, `${name}.jpg`), type: "jpeg", quality: 62, animations: "disabled" });
  screens.push({ file: `${name}.jpg`, title });
}

try {
  for (const slate of [false, true]) {
    const theme = slate ? "slate" : "paper";
    const context = await browser.newContext({ viewport: { width: 1280, height: 860 }, reducedMotion: "reduce" });
    const settings = JSON.stringify(JSON.stringify({ slate, language: "en", inches: false }));
    await context.addInitScript(`localStorage.setItem('neckwright-settings', ${settings})`);
    const page = await context.newPage();
    await page.goto(`${served.address}#loan-guitar`);
    await page.getByRole("slider").first().waitFor();
    await keep(page, `${theme}-walk`, `First visit, ${theme}`);
    await page.evaluate("localStorage.setItem('neckwright-walked', '1')");
    await page.reload();
    await page.getByRole("slider").first().waitFor();
    const buttons = page.locator("nav ol button");
    for (let k = 0; k < (await buttons.count()); k++) {
      const button = buttons.nth(k);
      const title = (await button.textContent())?.trim() || `${k + 1}`;
      await button.click();
      const slug = title
        .toLowerCase()
        .replace(/[^a-z]+/g, "-")
        .replace(/^-|-$/g, "");
      await keep(page, `${theme}-${String(k + 1).padStart(2, "0")}-${slug}`, `${title}, ${theme}`);
    }
    const to = (name: string): Promise<void> => page.locator("nav").getByRole("button", { name, exact: true }).click();
    await to("Cuts");
    await page.locator(".work button").nth(7).click();
    await page.locator(".along-chart").scrollIntoViewIfNeeded();
    await keep(page, `${theme}-13-one-cut`, `One cut along its way, ${theme}`);
    await to("Proof");
    await page.locator(".scrub input").waitFor({ timeout: 120_000 });
    await page.locator(".played button.small").nth(8).click();
    await keep(page, `${theme}-14-played`, `The work played back, ${theme}`);
    await page.getByRole("button", { name: "In space" }).click();
    await page.locator(".space-box canvas").waitFor();
    await keep(page, `${theme}-15-in-space`, `In space, ${theme}`);
    await page.getByRole("button", { name: "As strips" }).click();
    await page.getByLabel("Left over at the end").check();
    await page.locator(".bars").waitFor({ timeout: 60_000 });
    await page.locator(".bars").scrollIntoViewIfNeeded();
    await keep(page, `${theme}-16-left-over`, `Left over, ${theme}`);
    await to("Holding");
    await page.getByLabel("what cutters and holders pass over, program by program").check();
    await keep(page, `${theme}-17-swept`, `What is swept, ${theme}`);
    await page.setViewportSize({ width: 1024, height: 768 });
    await to("Run");
    await page.getByRole("button", { name: "Begin a run" }).click();
    await keep(page, `${theme}-18-run-tablet`, `A run on a tablet, first step, ${theme}`);
    for (let k = 0; k < 3; k++) await page.getByRole("button", { name: "Done, next" }).click();
    await keep(page, `${theme}-19-run-tablet`, `A run on a tablet, a program, ${theme}`);
    await context.close();
  }
} finally {
  await browser.close();
  served.end();
}
const list = [
  "# The screens of the bench",
  "",
  "Every page in both themes, from `npm run screens`; looked at whenever a page has changed.",
  "",
];
for (const s of screens) list.push(`## ${s.title}`, "", `![${s.title}](${s.file})`, "");
writeFileSync(join(out, "README.md"), `${list.join("\n").trimEnd()}\n`);
const bytes = readdirSync(out).reduce((sum, f) => sum + statSync(join(out, f)).size, 0);
console.log(`${screens.length} screens, ${(bytes / 1e6).toFixed(1)} MB, in docs/screens`);
