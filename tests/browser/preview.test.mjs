// The preview in Chromium: a finding shows at its step, and a page follows a save in place, scroll and open job kept.
// RULEOUT names the program.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";

const root = path.join(import.meta.dirname, "../..");
const outside = createRequire(path.join(root, "tests/outside/package.json"));
const { chromium } = outside("playwright-core");
const axe = fs.readFileSync(outside.resolve("axe-core/axe.min.js"), "utf8");
const program = process.env.RULEOUT ?? ["release", "debug"].map((kind) => path.join(root, "target", kind, "ruleout")).find(fs.existsSync);

let browser, preview, home, file, scratch;
const faults = [];

before(async () => {
  scratch = fs.mkdtempSync(path.join(os.tmpdir(), "preview-"));
  const kb = path.join(scratch, "kb");
  fs.cpSync(path.join(root, "kb"), kb, { recursive: true });
  file = path.join(kb, "procedures/charging/charge-lamp-on.md");
  preview = spawn(program, ["preview", kb], { stdio: ["ignore", "pipe", "inherit"] });
  home = await new Promise((ready) => preview.stdout.once("data", (bytes) => ready(bytes.toString().trim())));
  const found = execFileSync("sh", ["-c", "command -v chromium"]).toString().trim();
  browser = await chromium.launch({ executablePath: found, args: ["--no-sandbox", "--disable-gpu"] });
});

after(async () => {
  await browser?.close();
  preview?.kill("SIGINT");
  fs.rmSync(scratch, { recursive: true, force: true });
});

async function open(address) {
  const context = await browser.newContext({ viewport: { width: 820, height: 900 } });
  const page = await context.newPage();
  faults.length = 0;
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("console", (message) => { if (message.type() === "error") faults.push(message.text()); });
  await page.goto(home + address);
  await page.getByRole("status", { name: "Preview" }).getByRole("link").waitFor();
  return page;
}

function save(from, to) {
  const text = fs.readFileSync(file, "utf8");
  assert.ok(text.includes(from), from);
  // As an editor does: beside it, then renamed.
  fs.writeFileSync(`${file}~`, text.replace(from, to));
  fs.renameSync(`${file}~`, file);
}

test("a finding shows at its step, and goes when it is mended", async () => {
  const page = await open("procedures/charge-lamp-on.html");
  const good = "      - if: above spec\n        shows: alternator-ground\n";
  save(good, "");
  const step = page.getByRole("article").filter({ has: page.locator("#ground-drop") });
  const finding = step.getByRole("note", { name: "Finding" }).filter({ hasText: "reading-gap" });
  await finding.waitFor();
  assert.match(await finding.innerText(), /error reading-gap/);
  // The counts come a moment after the page: the script asks for them once all is loaded.
  await page.getByRole("status", { name: "Preview" }).getByText(/^[1-9][0-9]* errors?, /).waitFor();
  assert.ok((await finding.boundingBox()).y > (await page.locator("#ground-drop").boundingBox()).y);
  await page.evaluate(axe);
  const judged = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"] }));
  assert.deepEqual(judged.violations.map((v) => v.id), []);
  save("        note: Everything around it is good.\n", `        note: Everything around it is good.\n${good}`);
  await finding.waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
  await page.context().close();
});

test("a page follows a save with its scroll kept", async () => {
  const page = await open("procedures/charge-lamp-on.html?vehicle=orlo-t2");
  await page.evaluate(() => window.scrollTo({ top: 2200, behavior: "instant" }));
  const before = await page.evaluate(() => window.scrollY);
  assert.ok(before > 500);
  save("title: Alternator does not deliver", "title: Alternator delivers nothing");
  await page.getByText("Alternator delivers nothing").first().waitFor({ state: "attached" });
  await page.waitForFunction((y) => Math.abs(window.scrollY - y) < 3, before);
  assert.equal(new URL(page.url()).search, "?vehicle=orlo-t2");
  // A save that shows nowhere on the page leaves it alone.
  await page.evaluate(() => { window.untouched = true; });
  fs.appendFileSync(path.join(scratch, "kb/cases/2031-034.yaml"), "# nothing new\n");
  await page.waitForTimeout(600);
  assert.equal(await page.evaluate(() => window.untouched), true);
  assert.deepEqual(faults, []);
  await page.context().close();
});

test("an open job goes on, with what is typed and not yet taken", async () => {
  const page = await open("procedures/charge-lamp-on.html?vehicle=orlo-t2");
  const job = page.getByRole("region", { name: "Job", exact: true });
  await page.getByRole("button", { name: "Start job", exact: true }).click();
  for (const label of ["stays lit with the engine running", "tight and dry"]) {
    await job.getByRole("radio", { name: label, exact: true }).check();
    await page.getByRole("button", { name: "Next", exact: true }).click();
  }
  await job.getByRole("textbox", { name: "Reading", exact: true }).fill("12.9");
  const heading = await job.getByRole("heading").first().innerText();
  save("title: High resistance in the charge cable", "title: Too much resistance in the charge cable");
  await page.getByRole("list", { name: "Causes left" }).getByText("Too much resistance in the charge cable").waitFor();
  assert.equal(await job.getByRole("heading").first().innerText(), heading);
  await page.waitForFunction(() => document.querySelector("#job_ input:not([type=checkbox]):not([type=radio])")?.value === "12.9");
  assert.equal(await page.getByRole("button", { name: "Next", exact: true }).isEnabled(), true);
  assert.deepEqual(faults, []);
  await page.context().close();
});
