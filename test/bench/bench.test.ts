import { readFileSync } from "node:fs";
import { join } from "node:path";
import AxeBuilder from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { PNG } from "pngjs";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { openBrowser, Served } from "./served.ts";

/* The bench in a real browser, over a real server and a shop's folder of its own. */

const served = new Served(["loan-guitar.order.json", "loan-ukulele.order.json", "stiff-router.shop.json"]);
const { dir } = served;
const start = (): Promise<void> => served.start();
const kill = (): void => served.kill();
let browser: Browser;

beforeAll(async () => {
  await start();
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  served.end();
});

const order = (): { title: string; board: { thickness: number } } => JSON.parse(readFileSync(join(dir, "loan-guitar.order.json"), "utf8"));

async function open(size = { width: 1400, height: 900 }): Promise<Page> {
  const context = await browser.newContext({ viewport: size });
  // the walk of a first visit has a test of its own
  await context.addInitScript("localStorage.setItem('neckwright-walked', '1')");
  const page = await context.newPage();
  page.on("pageerror", (e) => {
    throw e;
  });
  await page.goto(`${served.address}#loan-guitar`);
  await page.getByRole("slider").waitFor();
  return page;
}

/** The field of the board's thickness, opened. */
async function thickness(page: Page): Promise<ReturnType<Page["getByLabel"]>> {
  await page.getByRole("button", { name: "Neck", exact: true }).click();
  const board = page.locator("details", { has: page.locator("summary", { hasText: /^Board$/ }) });
  if ((await board.getAttribute("open")) === null) await board.locator("summary").first().click();
  return board.getByLabel("Board thickness", { exact: true });
}

describe("the bench", () => {
  test("a value is changed, drawn, saved, undone; what cannot be is refused and stands unchanged", async () => {
    const page = await open();
    const field = await thickness(page);
    await field.fill("6,8 mm");
    await field.press("Enter");
    await expect.poll(() => order().board.thickness).toBe(6.8);
    await expect.poll(() => page.locator(".at-station").textContent()).toContain("6.8");
    await field.fill("425");
    await field.press("Enter");
    expect(await page.getByRole("alert").textContent()).toContain("425");
    expect(order().board.thickness).toBe(6.8);
    await field.press("Escape");
    await page.getByRole("button", { name: "Undo" }).click();
    await expect.poll(() => order().board.thickness).toBe(6.2);
    await page.context().close();
  });

  test("drawings and figures follow a value that is dragged; where it rests it is saved, as one step of the history", async () => {
    const page = await open();
    const field = await thickness(page);
    const label = page.locator("label.drag", { hasText: "Board thickness" }).first();
    await label.scrollIntoViewIfNeeded();
    // the thread that draws beside the screen's own
    await expect.poll(() => page.workers().some((w) => w.url().endsWith("drawer.js")), { timeout: 20_000 }).toBe(true);
    await page.waitForTimeout(500);
    const { x, y } = (await label.boundingBox())!;
    const section = (): Promise<string | null> => page.locator(".at-station").textContent();
    await page.mouse.move(x + 20, y + 8);
    await page.mouse.down();
    let followed = 0;
    for (let k = 1; k <= 30; k++) {
      await page.mouse.move(x + 20 + k, y + 8);
      await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
      if (k > 3 && (await section())?.includes(await field.inputValue())) followed++;
    }
    const [last, drawn] = [await field.inputValue(), await section()];
    await page.mouse.up();
    expect(Number(last)).toBeCloseTo(6.2 + 30 * 0.05, 6);
    expect(followed).toBeGreaterThan(5);
    await expect.poll(() => order().board.thickness).toBe(Number(last));
    expect(await section()).toContain(last);
    expect(drawn).toContain("board radius");
    await expect.poll(() => page.locator(".history li").count()).toBe(2);
    await page.getByRole("button", { name: "Undo" }).click();
    await expect.poll(() => order().board.thickness).toBe(6.2);
    await expect.poll(section).toContain("6.2");
    // another order is opened before the drag has rested
    await page.mouse.move(x + 20, y + 8);
    await page.mouse.down();
    for (const by of [6, 12]) await page.mouse.move(x + 20 + by, y + 8);
    await page.mouse.up();
    await page.locator("header select").first().selectOption("loan-ukulele");
    await expect.poll(() => order().board.thickness, { timeout: 5000 }).toBe(6.8);
    await page.locator("header select").first().selectOption("loan-guitar");
    await page.getByRole("button", { name: "Neck", exact: true }).click();
    await expect.poll(section, { timeout: 10_000 }).toContain("6.8");
    const again = await thickness(page);
    await again.fill("6.2");
    await again.press("Enter");
    await expect.poll(() => order().board.thickness).toBe(6.2);
    await page.context().close();
  });

  test("the station goes by keys through all strips, fret by fret", async () => {
    const page = await open();
    // the strips share one scale, that of the station line: where a drawing's first millimetre falls, and how large it is there
    const placed = (await page.evaluate(
      `[...document.querySelectorAll(".strip")].map((s) => { const m = s.querySelector(".drawn svg").getScreenCTM(); return [m.a, m.d, m.e, m.f - s.getBoundingClientRect().top]; })`,
    )) as number[][];
    expect(placed.length).toBe(3);
    for (const [a, d, e, f] of placed) {
      expect(a).toBeCloseTo(5, 3);
      expect(d).toBeCloseTo(5, 3);
      expect(e).toBeCloseTo(placed[0]![2]!, 1);
      expect(f).toBeCloseTo(0, 1);
    }
    const slider = page.getByRole("slider");
    await slider.focus();
    await slider.press("n");
    expect(await page.locator("output").textContent()).toContain("fret 1");
    await slider.press("Shift+ArrowRight");
    await slider.press("ArrowLeft");
    expect(Number(await slider.getAttribute("aria-valuenow"))).toBeCloseTo(648 * (1 - 2 ** (-1 / 12)) + 9, 0);
    await page.context().close();
  });

  test("the server is killed while a value is changed: nothing is lost, not even over a reload", async () => {
    const page = await open();
    const field = await thickness(page);
    kill();
    await field.fill("7");
    await field.press("Enter");
    await expect.poll(() => page.locator(".saving").textContent()).toContain("not saved");
    await start();
    await expect.poll(() => order().board.thickness, { timeout: 20_000 }).toBe(7);
    // killed again, and the page is loaded anew before the change could be sent
    kill();
    await field.fill("7.5");
    await field.press("Enter");
    await expect.poll(() => page.locator(".saving").textContent()).toContain("not saved");
    await page.close({ runBeforeUnload: false });
    await start();
    const again = await page.context().newPage();
    await again.goto(`${served.address}#loan-guitar`);
    await expect.poll(() => order().board.thickness, { timeout: 20_000 }).toBe(7.5);
    await again.context().close();
  });

  test("two windows on one order: what they changed in different places is put together; in one place the later one is asked", async () => {
    const [one, two] = [await open(), await open()];
    const [a, b] = [await thickness(one), await thickness(two)];
    await a.fill("6.5");
    await a.press("Enter");
    await expect.poll(() => order().board.thickness).toBe(6.5);
    await b.fill("6.6");
    await b.press("Enter");
    const dialog = two.getByRole("dialog");
    await dialog.waitFor();
    expect(await dialog.textContent()).toContain("Board thickness");
    for (const theme of ["slate", "paper"]) {
      await two.evaluate(`document.documentElement.dataset.theme = "${theme}"`);
      expect((await new AxeBuilder({ page: two }).include("dialog").analyze()).violations.map((v) => v.id)).toEqual([]);
    }
    await dialog.getByLabel("the other: 6.5").check();
    await dialog.getByRole("button", { name: "Save what is chosen" }).click();
    await dialog.waitFor({ state: "detached" });
    await expect.poll(() => b.inputValue()).toBe("6.5");
    // the first window does not know of a title that the second writes; both hold
    await two.getByRole("button", { name: "Order", exact: true }).click();
    await two.getByLabel("Title", { exact: true }).fill("Loan guitar, from two windows");
    await two.keyboard.press("Enter");
    await expect.poll(() => order().title, { timeout: 5000 }).toBe("Loan guitar, from two windows");
    await a.fill("6.7");
    await a.press("Enter");
    await expect.poll(() => order().board.thickness, { timeout: 5000 }).toBe(6.7);
    expect(order().title).toBe("Loan guitar, from two windows");
    for (const p of [one, two]) await p.context().close();
  });

  test("a version is named, held against the order and brought back; wood and a holding plate are kept and taken; everything comes in as one file", async () => {
    const page = await open();
    const turnTo = (name: string): Promise<void> => page.locator("nav").getByRole("button", { name, exact: true }).click();
    await turnTo("Order");
    const title = page.getByLabel("Title", { exact: true });
    const before = order().title;
    await title.fill("Loan guitar, another state");
    await title.press("Enter");
    await expect.poll(() => order().title, { timeout: 5000 }).toBe("Loan guitar, another state");
    await turnTo("Versions");
    const name = page.getByLabel(/^name of version/).nth(1);
    await name.fill("as delivered");
    await name.press("Enter");
    const chosen = page.locator(".page select").first();
    await expect.poll(() => chosen.textContent(), { timeout: 5000 }).toContain("as delivered");
    await chosen.selectOption({ index: 2 });
    await expect.poll(() => page.locator(".page table").first().textContent(), { timeout: 5000 }).toContain(before.slice(0, 20));
    await page.getByRole("button", { name: /^Bring back: .*as delivered/ }).click();
    await expect.poll(() => order().title, { timeout: 5000 }).toBe(before);
    await turnTo("Workshop");
    await page.getByLabel("Keep this order's wood as").fill("maple by the door");
    await page.keyboard.press("Enter");
    await page.getByRole("button", { name: "Take for this order: maple by the door" }).click();
    await page.getByLabel("Keep this order's holding as").fill("fence and stop");
    await page.keyboard.press("Enter");
    await page.getByRole("button", { name: "Take for this order: fence and stop" }).waitFor();
    const archive = Buffer.from(await (await fetch(`${served.address}api/archive`)).arrayBuffer());
    const bring = page.getByLabel("Bring in a file");
    await bring.setInputFiles({ name: "shop.zip", mimeType: "application/zip", buffer: archive.subarray(0, archive.length >> 1) });
    await page.getByText("This archive cannot be brought in").waitFor({ timeout: 20_000 });
    await bring.setInputFiles({ name: "shop.zip", mimeType: "application/zip", buffer: archive });
    await page.getByText("everything of before:").waitFor({ timeout: 20_000 });
    await page.context().close();
  }, 90_000);

  test("the photograph of a board is seen from a second device, and taken away for both", async () => {
    const [one, two] = [await open(), await open()];
    const blank = (page: Page): Promise<void> => page.locator("nav").getByRole("button", { name: "Blank", exact: true }).click();
    for (const page of [one, two]) await blank(page);
    await one.getByText("Photograph of the board", { exact: true }).click();
    const png = new PNG({ width: 60, height: 20 });
    png.data.fill(200);
    await one.getByLabel("Picture file").setInputFiles({ name: "board.png", mimeType: "image/png", buffer: PNG.sync.write(png) });
    const photo = one.locator("canvas.photo");
    await photo.click({ position: { x: 3, y: 3 } });
    await photo.click({ position: { x: 50, y: 3 } });
    await one.getByRole("button", { name: /^Straighten/ }).click();
    const pictures = (page: Page): Promise<number> => page.locator(".blank-drawing image").count();
    await expect.poll(() => pictures(one), { timeout: 10_000 }).toBe(1);
    expect(await pictures(two)).toBe(0);
    await two.evaluate("window.dispatchEvent(new Event('focus'))");
    await expect.poll(() => pictures(two), { timeout: 10_000 }).toBe(1);
    await two.getByRole("button", { name: "Take the picture away" }).click();
    await expect.poll(() => pictures(two), { timeout: 10_000 }).toBe(0);
    await one.evaluate("window.dispatchEvent(new Event('focus'))");
    await expect.poll(() => pictures(one), { timeout: 10_000 }).toBe(0);
    for (const page of [one, two]) await page.context().close();
  }, 90_000);

  test("axe finds nothing on any page, nor in the other theme and language; a tablet's size shows everything", async () => {
    // colours depend on the theme alone, words on the language alone: two of the four show both
    for (const [theme, language, size] of [
      ["paper", "en", { width: 1400, height: 900 }],
      ["slate", "de", { width: 1024, height: 700 }],
    ] as const) {
      const page = await open(size);
      const settings = JSON.stringify(JSON.stringify({ slate: theme === "slate", language, inches: false }));
      await page.evaluate(`localStorage.setItem("neckwright-settings", ${settings})`);
      await page.reload();
      await page.getByRole("slider").waitFor();
      const pages = await page.locator("nav ol button").count();
      expect(pages).toBe(12);
      for (let k = 0; k < pages; k++) {
        await page.locator("nav ol button").nth(k).click();
        // head, margin, drawings and findings are the same on every page, looked at once
        const axe = new AxeBuilder({ page });
        const { violations } = await (k === 1 ? axe : axe.include(".page")).analyze();
        expect(
          violations.map((v) => `${v.id}: ${v.nodes[0]?.html}`),
          `${theme}, page ${k + 1}`,
        ).toEqual([]);
      }
      expect(await page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")).toBe(true);
      await page.context().close();
    }
  }, 300_000);
});
