// Working a job in Chromium, straight from disk, by the names that a screen reader hears.
// Wants RULEOUT_SITE, a compiled demonstration; RULEOUT names the program.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

const root = path.join(import.meta.dirname, "../..");
const outside = createRequire(path.join(root, "tests/outside/package.json"));
const { chromium } = outside("playwright-core");
const axe = fs.readFileSync(outside.resolve("axe-core/axe.min.js"), "utf8");
const program = process.env.RULEOUT ?? ["release", "debug"].map((kind) => path.join(root, "target", kind, "ruleout")).find(fs.existsSync);
const site = pathToFileURL(path.resolve(process.env.RULEOUT_SITE ?? path.join(root, "site-out")) + path.sep).href;
const LAMP = `${site}procedures/charge-lamp-on.html`;

let browser;
before(async () => { browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] }); });
after(() => browser?.close());

function work(name, address, body, options = {}) {
  test(name, async () => {
    const context = await browser.newContext({ viewport: { width: 820, height: 1100 }, bypassCSP: false, ...options });
    const page = await context.newPage();
    const faults = [];
    page.on("pageerror", (error) => faults.push(error.message));
    page.on("console", (message) => { if (message.type() === "error") faults.push(message.text()); });
    await page.goto(address);
    const job = page.getByRole("region", { name: "Job", exact: true });
    const by = {
      page, job, context,
      button: (label) => page.getByRole("button", { name: label, exact: true }),
      list: (label) => job.getByRole("list", { name: label, exact: true }).getByRole("listitem").allInnerTexts(),
      heading: () => job.getByRole("heading").first().innerText(),
      meaning: () => job.getByRole("status", { name: "Meaning", exact: true }).innerText(),
      async tap(label) { await job.getByRole("radio", { name: label, exact: true }).check(); await by.button("Next").click(); },
      async type(reading) { await job.getByRole("textbox", { name: "Reading", exact: true }).fill(reading); },
    };
    await body(by);
    await context.close();
    assert.deepEqual(faults, []);
  });
}

for (const width of [390, 1440]) {
  work(`a whole job with the keyboard only, ${width} pixels wide`, `${LAMP}?vehicle=orlo-t2`, async ({ page, job, button, heading, meaning, list }) => {
    const keys = page.keyboard;
    // Tabs on until the wanted thing has the focus.
    async function reach(role, name) {
      const wanted = job.getByRole(role, { name, exact: true }).or(page.getByRole(role, { name, exact: true })).first();
      for (let most = 0; most < 150; most += 1) {
        if (await wanted.evaluate((one) => one === document.activeElement)) return;
        await keys.press("Tab");
      }
      assert.fail(`the keyboard does not reach the ${role} ${name}`);
    }
    const focused = () => page.evaluate(() => document.activeElement.textContent);
    const wide = () => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    await reach("button", "Start job");
    await keys.press("Enter");
    assert.equal(await focused(), "See the lamp for yourself");
    assert.equal(await heading(), "See the lamp for yourself");
    assert.equal(await job.getByRole("button", { name: "Back", exact: true }).count(), 0);
    assert.ok(await button("Next").isDisabled());
    await reach("radio", "stays lit with the engine running");
    await keys.press("Space");
    assert.match(await meaning(), /Next: Look at the drive belt/);
    await reach("button", "Next");
    await keys.press("Enter");
    assert.equal(await focused(), "Look at the drive belt");
    await reach("radio", "tight and dry");
    await keys.press("Space");
    await reach("button", "Next");
    await keys.press("Enter");
    assert.equal(await focused(), "Measure the charging voltage");
    assert.doesNotMatch(await job.innerText(), /27\.6/, "limits of this vehicle only");
    await reach("textbox", "Reading");
    await keys.type("13,2");
    assert.match(await meaning(), /^weak/);
    assert.deepEqual(await list("Ruled out"), ["Drive belt loose, glazed or oily"], "nothing moves before Next");
    await keys.press("Enter");
    assert.equal(await focused(), "Measure the drop in the charge cable");
    await reach("textbox", "Reading");
    await keys.type("1100");
    await reach("combobox", "Unit");
    await keys.press("ArrowUp");
    await reach("button", "Next");
    await keys.press("Enter");
    assert.match(await focused(), /High resistance in the charge cable/);
    assert.deepEqual(await list("Causes left"), ["High resistance in the charge cable"]);
    assert.equal(await wide(), 0);
    await reach("button", "Finish");
    await keys.press("Enter");
    const account = page.getByRole("region", { name: "Write-up", exact: true });
    for (const part of ["Complaint", "Cause", "Correction"]) assert.equal(await account.getByRole("heading", { name: part, exact: true }).count(), 1);
    assert.match(await account.innerText(), /1100 mV\s+at most 0\.3 V\s+above spec/);
    assert.equal(await wide(), 0);
    await reach("button", "Save case file");
    const [download] = await Promise.all([page.waitForEvent("download"), keys.press("Enter")]);
    assert.match(download.suggestedFilename(), /^charge-lamp-on-\d{8}-\d{4}\.yaml$/);
    const base = fs.mkdtempSync(path.join(os.tmpdir(), "base-"));
    fs.cpSync(path.join(root, "kb"), base, { recursive: true });
    await download.saveAs(path.join(base, "cases", download.suggestedFilename()));
    const saved = fs.readFileSync(path.join(base, "cases", download.suggestedFilename()), "utf8");
    const found = JSON.parse(execFileSync(program, ["lint", base, "--format", "json"]));
    fs.rmSync(base, { recursive: true });
    assert.match(saved, /cause: charge-cable/);
    assert.deepEqual(found.findings.filter((one) => one.file.includes(download.suggestedFilename())), []);
    assert.equal(found.summary.errors, 0);
  }, { viewport: { width, height: 900 } });
}

work("without a vehicle it is asked for first", LAMP, async ({ page, button, heading }) => {
  await button("Start job").click();
  assert.equal(await heading(), "Which vehicle?");
  await button("Orlo T2 van").click();
  assert.equal(await heading(), "See the lamp for yourself");
  assert.match(page.url(), /\?vehicle=orlo-t2#job=/);
  const glide = () => page.evaluate(() => getComputedStyle(document.documentElement).scrollBehavior);
  assert.equal(await glide(), "auto", "what glides loses a tap");
});

work("an earlier reading can be changed, and what that changes is said", `${LAMP}?vehicle=orlo-t2`, async ({ job, button, tap, type, heading, list }) => {
  await button("Start job").click();
  await tap("stays lit with the engine running");
  await tap("tight and dry");
  await type("13.2");
  await button("Next").click();
  await type("0.1");
  await button("Next").click();
  await button("Change Measure the charging voltage").click();
  assert.equal(await heading(), "Measure the charging voltage");
  assert.equal(await job.getByRole("textbox", { name: "Reading" }).inputValue(), "13.2");
  await type("14.2");
  await button("Next").click();
  const said = await job.getByRole("status", { name: "What changed" }).innerText();
  assert.match(said, /was 13\.2 V \(weak\), is now 14\.2 V \(in spec\)/);
  assert.match(said, /No longer counts: Measure the drop in the charge cable/);
  assert.equal((await list("Readings so far")).length, 3);
});

work("one step back takes one reading back and keeps what was typed", `${LAMP}?vehicle=orlo-t2`, async ({ job, button, tap, type, heading, list }) => {
  await button("Start job").click();
  await tap("stays lit with the engine running");
  await tap("tight and dry");
  const left = await list("Causes left");
  await type("-1");
  assert.ok(await button("Next").isDisabled());
  await type("abc");
  assert.ok(await button("Next").isDisabled());
  await type("13.2 V");
  await button("Next").click();
  assert.notDeepEqual(await list("Causes left"), left);
  await button("Back").click();
  assert.equal(await heading(), "Measure the charging voltage");
  assert.deepEqual(await list("Causes left"), left);
  assert.equal(await job.getByRole("textbox", { name: "Reading" }).inputValue(), "13.2");
  assert.ok(await button("Next").isEnabled());
});

work("a job goes on from its link on another device, and from the list of open jobs on this one", `${LAMP}?vehicle=orlo-t2`, async ({ page, button, tap, heading, list }) => {
  await button("Start job").click();
  await tap("stays lit with the engine running");
  const link = await page.getByRole("link", { name: "Link to this job" }).evaluate((one) => one.href);
  const elsewhere = await browser.newContext();
  const other = await elsewhere.newPage();
  await other.goto(link);
  assert.equal(await other.getByRole("region", { name: "Job", exact: true }).getByRole("heading").first().innerText(), "Look at the drive belt");
  assert.equal(await other.getByLabel("Vehicle", { exact: true }).inputValue(), "orlo-t2");
  await elsewhere.close();
  await page.goto(`${site}index.html`);
  const open = page.getByRole("region", { name: "Open jobs" }).getByRole("link");
  if (await open.count()) {
    await open.first().click();
    assert.equal(await heading(), "Look at the drive belt");
    assert.equal((await list("Readings so far")).length, 1);
  }
});

work("after a verdict that did not help, the job goes on with that cause ruled out", `${LAMP}?vehicle=orlo-t2`, async ({ page, button, tap, heading, list }) => {
  await button("Start job").click();
  await tap("stays lit with the engine running");
  await tap("loose, glazed or oily");
  assert.match(await heading(), /Drive belt loose, glazed or oily/);
  assert.equal(await page.getByRole("region", { name: "Verdict", exact: true }).count(), 1);
  await button("Still there").click();
  assert.equal(await heading(), "See the lamp for yourself");
  assert.deepEqual(await list("Ruled out"), ["Drive belt loose, glazed or oily"]);
});

work("every part of a job is accessible", `${LAMP}?vehicle=fell-12`, async ({ page, button, tap, type }) => {
  async function check(where) {
    await page.evaluate(axe);
    const found = await page.evaluate(async () => (await axe.run(document, { preload: false })).violations.map((one) => `${one.id}: ${one.nodes[0].html}`));
    assert.deepEqual(found, [], where);
  }
  await button("Start job").click();
  await tap("stays lit with the engine running");
  await tap("tight and dry");
  await type("26.5");
  await check("a measuring step");
  await button("Next").click();
  await type("4");
  await button("Next").click();
  await button("Finish").click();
  await check("the write-up");
  const small = await page.evaluate(() => [...document.querySelectorAll("#job_place_ :is(button, input, select, summary)")].filter((one) => one.checkVisibility())
    .map((one) => (one.closest("label") ?? one).getBoundingClientRect()).filter((box) => box.height < 43.5 || box.width < 43.5).length);
  assert.equal(small, 0);
}, { bypassCSP: true });
