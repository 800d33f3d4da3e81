// Keeping the site on a device: it installs, works with the server gone, and moves to a newer version between pages.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";

import { disk, launch, open, program, root, serve, site } from "./harness.mjs";

const PROCEDURE = "procedures/charge-lamp-on.html";
let browser, work;
before(async () => {
  browser = await launch();
  work = mkdtempSync(join(tmpdir(), "offline-"));
});
after(async () => {
  await browser?.close();
  rmSync(work, { recursive: true, force: true });
});

/** A copy of the demonstration compiled into a folder; `change` edits the name of the shop first. */
function compile(folder, change = (text) => text) {
  const kb = mkdtempSync(join(work, "kb-"));
  cpSync(join(root, "kb"), kb, { recursive: true });
  const shop = join(kb, "shop.yaml");
  writeFileSync(shop, change(readFileSync(shop, "utf8")));
  execFileSync(program, ["compile", kb, "--out", folder], { stdio: "pipe" });
}

const renamed = (text) => text.replace(/^title: .*$/m, "title: Harrow Vale depot, new hall");
const says = (page, words) => page.locator("#offline_").filter({ hasText: words }).waitFor();
const caches = (page) => page.evaluate(async () => (await caches.keys()).filter((name) => name.startsWith("site ")));

/** A site of its own that the browser keeps. */
async function kept() {
  const folder = mkdtempSync(join(work, "site-"));
  compile(folder);
  const server = await serve(folder);
  const { page, context, faults } = await open(browser, server.home);
  await page.goto(server.home + "index.html");
  await says(page, "work without network");
  return { folder, server, page, context, faults };
}

test("after one visit everything works with the server gone", async () => {
  const { server, page, context, faults } = await kept();
  await server.stop();
  await page.goto(server.home + "specs/charging-voltage.html?vehicle=orlo-t2");
  assert.match(await page.locator("h1").innerText(), /voltage/i);
  await page.getByRole("searchbox", { name: "Search", exact: true }).pressSequentially("charge lamp");
  await page.getByRole("list", { name: "Results", exact: true }).locator(`a[href*="${PROCEDURE}"]`).first().click();
  await page.waitForURL(/charge-lamp-on/);
  await page.getByRole("button", { name: "Start job" }).click();
  await page.getByRole("region", { name: "Job", exact: true }).waitFor();
  await page.goto(server.home);
  assert.match(await page.locator("h1").innerText(), /Harrow Vale/);
  const drawing = await page.goto(server.home + "figures/charging-system.svg");
  assert.ok(drawing.ok());
  assert.deepEqual(faults, []);
  const missing = await page.goto(server.home + "procedures/no-such-page.html");
  assert.equal(missing.status(), 404);
  await context.close();
});

test("a newer version comes by itself, is announced, and shows with the next page; the older one is dropped", async () => {
  const { folder, server, page, context } = await kept();
  const first = await caches(page);
  assert.equal(first.length, 1);
  compile(folder, renamed);
  await page.goto(server.home + "index.html");
  assert.doesNotMatch(await page.locator("h1").innerText(), /new hall/, "the kept version answers");
  await page.getByText("A newer version of these pages is on the device").waitFor();
  assert.doesNotMatch(await page.locator("h1").innerText(), /new hall/, "nothing changes under the reader's eyes");
  await page.locator(`main a[href*="${PROCEDURE}"]`).first().click();
  await page.waitForURL(/charge-lamp-on/);
  await page.getByText("new hall").first().waitFor();
  const second = await caches(page);
  assert.equal(second.length, 1);
  assert.notDeepEqual(second, first);
  await server.stop();
  await page.goto(server.home + "codes/index.html");
  await page.getByText("new hall").first().waitFor();
  await context.close();
});

test("a job is never moved to a newer version without asking", async () => {
  const { folder, server, page, context } = await kept();
  await page.goto(`${server.home}${PROCEDURE}?vehicle=orlo-t2`);
  await page.getByRole("button", { name: "Start job" }).click();
  await page.waitForURL(/#job=/);
  compile(folder, renamed);
  await page.reload();
  await page.getByText("This job goes on with the one it began with").waitFor();
  await page.getByRole("link", { name: "About this base" }).click();
  await page.waitForURL(/about/);
  assert.doesNotMatch(await page.locator(".bar-title").innerText(), /new hall/, "leaving a job to look something up changes nothing");
  await page.goBack();
  await page.getByRole("region", { name: "Job", exact: true }).waitFor();
  await page.getByRole("button", { name: "Load it now" }).click();
  await page.locator(".bar-title").filter({ hasText: "new hall" }).waitFor();
  await page.getByRole("region", { name: "Job", exact: true }).waitFor();
  await context.close();
  await server.stop();
});

test("a version that is not whole is not kept", async () => {
  const { folder, server, page, context } = await kept();
  compile(folder, renamed);
  // Somebody copies the site while it is fetched: one file is of another version than the list says.
  writeFileSync(join(folder, "terms/index.html"), "torn");
  await page.goto(server.home + "index.html");
  await says(page, "Not every file could be fetched");
  await server.stop();
  await page.goto(server.home + "terms/index.html");
  assert.match(await page.locator("h1").innerText(), /Terms/);
  await context.close();
});

test("over plain http it says that it can't", async () => {
  const server = await serve();
  const other = await launch("--host-resolver-rules=MAP depot.test 127.0.0.1");
  const home = server.home.replace("127.0.0.1", "depot.test");
  const { page, faults } = await open(other, home);
  await page.goto(home + "index.html");
  await says(page, "plain http");
  assert.equal(await page.locator("link[rel=manifest]").count(), 0);
  await other.close();
  await server.stop();
  assert.deepEqual(faults, []);
});

test("from disk it tries nothing", async () => {
  const { page, context, faults } = await open(browser, disk);
  await page.goto(disk + PROCEDURE);
  assert.ok(await page.locator("#offline_").isHidden());
  assert.equal(await page.locator("link[rel=manifest]").count(), 0);
  await context.close();
  assert.deepEqual(faults, []);
});

test("the manifest names the shop and pictures of ours, and a browser finds it fit to install", async () => {
  const server = await serve();
  const { page, context, faults } = await open(browser, server.home);
  await page.goto(server.home + "index.html");
  const manifest = JSON.parse(readFileSync(join(site, "manifest.webmanifest"), "utf8"));
  assert.equal(manifest.name, "Harrow Vale depot");
  for (const icon of manifest.icons) {
    const [wide] = await page.evaluate((src) => new Promise((ready, failed) => {
      const picture = new Image();
      picture.onload = () => ready([picture.naturalWidth]);
      picture.onerror = failed;
      picture.src = src;
    }), icon.src);
    if (icon.sizes !== "any") assert.equal(`${wide}x${wide}`, icon.sizes);
  }
  const devtools = await context.newCDPSession(page);
  const told = await devtools.send("Page.getAppManifest");
  assert.deepEqual(told.errors, []);
  await context.close();
  await server.stop();
  assert.deepEqual(faults, []);
});

test("none of our scripts but the worker fetches", () => {
  const scripts = ["site", "start", "job"].map((name) => new RegExp(`assets/${name}\\.[0-9a-f]+\\.js$`));
  const list = JSON.parse(readFileSync(join(site, readFileSync(join(site, "sw.js"), "utf8").match(/LIST = "([^"]+)"/)[1]), "utf8"));
  for (const name of Object.keys(list).filter((name) => scripts.some((script) => script.test(name)))) {
    const found = readFileSync(join(site, name), "utf8").match(/(?<!\.)\bfetch\(|XMLHttpRequest|importScripts|\bimport\(|sendBeacon|WebSocket|EventSource/);
    assert.equal(found, null, name);
  }
});
