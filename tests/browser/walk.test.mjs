// What a technician does with the site, by the names that a screen reader hears.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";

import { disk, graphOf, launch, open, pages, root, serve } from "./harness.mjs";

let browser, server;
before(async () => {
  browser = await launch();
  server = await serve();
});
after(async () => {
  await browser?.close();
  server?.stop();
});

const procedures = pages().filter((p) => /^procedures\/(?!index)/.test(p)).map((p) => p.slice(11, -5));
const search = (page) => page.getByRole("searchbox", { name: "Search", exact: true }).or(page.getByRole("combobox", { name: "Search", exact: true }));
const results = (page) => page.getByRole("list", { name: "Results", exact: true }).or(page.getByRole("listbox", { name: "Results", exact: true }));
const vehicle = (page) => page.getByLabel("Vehicle", { exact: true });
const addresses = (page) => results(page).locator("a").evaluateAll((all) => all.map((a) => a.href));

/** Runs one walk from the server and once more from disk. */
function both(name, walk) {
  for (const [where, home] of [["served", () => server.home], ["from disk", () => disk]]) {
    test(`${name} (${where})`, async () => {
      const { page, context, faults } = await open(browser, home());
      try {
        await walk(page, home());
      } finally {
        await context.close();
      }
      assert.deepEqual(faults, []);
    });
  }
}

both("search finds a page as one types, with one tap", async (page, home) => {
  await page.goto(home + "index.html");
  await search(page).pressSequentially("P0562");
  await results(page).locator("a").first().waitFor();
  const first = results(page).locator("a").first();
  assert.match(await first.getAttribute("href"), /codes\/P0562\.html/);
  await first.click();
  await page.waitForURL(/codes\/P0562\.html/);
  assert.match(await page.locator("h1").innerText(), /P0562/);
});

both("`/` puts the cursor into the box, arrows and Enter work", async (page, home) => {
  await page.goto(home + "procedures/index.html");
  await page.keyboard.press("/");
  assert.ok(await search(page).evaluate((e) => e === document.activeElement), "`/` moves the focus");
  assert.equal(await search(page).inputValue(), "", "`/` is not typed into the box");
  await page.keyboard.type("battery");
  await results(page).locator("a").nth(1).waitFor();
  const found = await addresses(page);
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Enter");
  await page.waitForURL(found[0]);
});

both("misspellings, parts of codes and unknown codes lead somewhere", async (page, home) => {
  await page.goto(home + "index.html");
  for (const [typed, wanted] of [["altenator", /alternator|charg/i], ["P056", /P0562/], ["0562", /P0562/]]) {
    await search(page).fill(typed);
    await page.waitForFunction((w) => new RegExp(w, "i").test(document.querySelector("[aria-label=Results]")?.innerText ?? ""), wanted.source);
  }
  await search(page).fill("P0563");
  await page.waitForTimeout(300);
  const nearest = await addresses(page);
  assert.ok(nearest.length > 0, "never an empty list");
  await search(page).fill("zzqxv");
  await page.waitForTimeout(300);
  assert.ok((await addresses(page)).length > 0, "never an empty list, whatever is typed");
});

test("the searches that technicians make come up among the first three", async () => {
  const { page, context, faults } = await open(browser, server.home);
  await page.goto(server.home + "index.html");
  await search(page).fill("battery");
  await results(page).locator("a").first().waitFor();
  const missed = [];
  const rows = readFileSync(join(root, "tests/site/searches.tsv"), "utf8").split("\n").filter((l) => l && !l.startsWith("#"));
  assert.ok(rows.length > 20);
  for (const row of rows) {
    const [query, wanted] = row.split("\t");
    await search(page).fill(query);
    const hit = (list) => list.slice(0, 3).some((a) => a.includes(wanted));
    let found = await addresses(page);
    for (let tries = 0; tries < 20 && !hit(found); tries++) {
      await page.waitForTimeout(20);
      found = await addresses(page);
    }
    if (!hit(found)) missed.push(`${query}: wanted ${wanted}, found ${found.slice(0, 3).map((a) => a.split("/").slice(-2).join("/"))}`);
  }
  await context.close();
  assert.deepEqual(missed, []);
  assert.deepEqual(faults, []);
});

both("a chosen vehicle shows only its limits, stays in the address and is remembered", async (page, home) => {
  await page.goto(home + "procedures/charge-lamp-on.html");
  const limits = page.locator("#charging-voltage").locator("xpath=ancestor-or-self::article | ancestor::section").last();
  const shown = () => limits.innerText();
  assert.match(await shown(), /13\.8/);
  assert.match(await shown(), /27\.6/);
  const options = await vehicle(page).locator("option").evaluateAll((all) => all.map((o) => o.value));
  assert.equal(options[0], "");
  await vehicle(page).selectOption("fell-12");
  assert.doesNotMatch(await shown(), /13\.8/);
  assert.match(await shown(), /27\.6/);
  assert.match(page.url(), /[?&]vehicle=fell-12/);
  await page.getByRole("link", { name: "About this base" }).click();
  await page.waitForURL(/about\.html\?vehicle=fell-12/);
  assert.equal(await vehicle(page).inputValue(), "fell-12");
  // a link sent to a colleague shows the same
  await page.goto(home + "procedures/charge-lamp-on.html?vehicle=orlo-t2#charging-voltage");
  assert.equal(await vehicle(page).inputValue(), "orlo-t2");
  assert.match(await shown(), /13\.8/);
  assert.doesNotMatch(await shown(), /27\.6/);
  assert.match(page.url(), /#charging-voltage$/);
  if (home.startsWith("http")) {
    await page.goto(home + "specs/index.html");
    assert.equal(await vehicle(page).inputValue(), "orlo-t2", "remembered where the address says nothing");
  }
  await vehicle(page).selectOption("");
  await page.goto(home + "procedures/charge-lamp-on.html");
  assert.match(await shown(), /13\.8/);
  assert.match(await shown(), /27\.6/);
});

test("without JavaScript every step, result and route is there", async () => {
  const { page, context, faults } = await open(browser, server.home, { javaScriptEnabled: false });
  assert.ok(procedures.length > 5);
  for (const procedure of procedures) {
    await page.goto(`${server.home}procedures/${procedure}.html`);
    const words = (await page.locator("main").innerText()).replace(/\s+/g, " ");
    const hidden = await page.locator("main article, main [data-for], main article li").filter({ visible: false }).count();
    assert.equal(hidden, 0, `${procedure}: something is hidden without script`);
    const links = new Set(await page.locator("main a[href]").evaluateAll((all) => all.map((a) => a.getAttribute("href"))));
    const graph = graphOf(procedure);
    const steps = new Set(graph.nodes.filter((n) => ["measure", "observe", "do", "check", "which"].includes(n.kind)).map((n) => n.id));
    assert.ok(steps.size > 0, procedure);
    for (const step of steps) assert.equal(await page.locator(`[id="${step}"]`).count(), 1, `${procedure}#${step}`);
    for (const edge of graph.edges) {
      if (edge.if) assert.ok(words.includes(edge.if.replace(/\s+/g, " ")), `${procedure}: result \`${edge.if}\` of ${edge.from}`);
      if (steps.has(edge.to)) assert.ok(links.has(`#${edge.to}`), `${procedure}: no link to ${edge.to}`);
    }
    for (const name of ["Search", "Vehicle", "Start job", "Save job file"]) {
      assert.equal(await page.getByLabel(name, { exact: true }).or(page.getByRole("button", { name, exact: true })).filter({ visible: true }).count(), 0, `${procedure}: ${name} needs a script`);
    }
  }
  await context.close();
  assert.deepEqual(faults, []);
});

test("cautions stand before the instructions, the signal word in text", async () => {
  const { page, context } = await open(browser, server.home);
  let seen = 0;
  for (const procedure of procedures) {
    await page.goto(`${server.home}procedures/${procedure}.html`);
    const wrong = await page.evaluate(() => {
      const order = ["DANGER", "WARNING", "CAUTION", "NOTICE"];
      const out = [];
      let count = 0;
      for (const step of document.querySelectorAll("article")) {
        const cautions = [...step.querySelectorAll(".caution")];
        const words = step.querySelector(".words");
        count += cautions.length;
        const found = cautions.map((c) => order.findIndex((w) => c.innerText.trim().toUpperCase().startsWith(w)));
        if (found.includes(-1)) out.push("a caution without its signal word");
        if (found.some((w, i) => i && w < found[i - 1])) out.push(`not worst first: ${found}`);
        for (const caution of cautions) {
          if (words && !(caution.compareDocumentPosition(words) & Node.DOCUMENT_POSITION_FOLLOWING)) out.push("a caution after the words");
        }
      }
      return { out, count };
    });
    assert.deepEqual(wrong.out, [], procedure);
    seen += wrong.count;
  }
  assert.ok(seen > 20, "the demonstration warns of something");
  await context.close();
});

test("the keyboard reaches everything, and one sees where it is", async () => {
  const { page, context } = await open(browser, server.home, { reducedMotion: "reduce" });
  await page.goto(server.home + "procedures/charge-lamp-on.html");
  const wanted = await page.evaluate(() => [...document.querySelectorAll("a[href], button, select, input, summary, [tabindex='0']")]
    .filter((e) => e.checkVisibility() && !e.closest("[hidden]") && e.tabIndex >= 0 && !e.disabled).length);
  const seen = new Set();
  for (let i = 0; i < wanted + 20; i++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const e = document.activeElement;
      if (e === document.body) return null;
      const style = getComputedStyle(e);
      const visible = style.outlineStyle !== "none" || style.boxShadow !== "none" || e.closest("svg");
      const box = e.getBoundingClientRect();
      e.dataset.tabbed ??= String(document.querySelectorAll("[data-tabbed]").length);
      return { key: e.dataset.tabbed, html: e.outerHTML.slice(0, 80), visible: Boolean(visible), inView: box.bottom > 0 && box.top < innerHeight };
    });
    if (!at) continue;
    if (seen.size === 0) assert.match(at.html, /skip/, "the first stop skips the bar");
    assert.ok(at.visible, `no mark of the focus on ${at.html}`);
    assert.ok(at.inView, `out of sight: ${at.html}`);
    seen.add(at.key);
  }
  assert.ok(seen.size >= wanted, `${seen.size} of ${wanted} reached`);
  await context.close();
});

test("the graph's boxes are links to their steps", async () => {
  const { page, context } = await open(browser, server.home);
  for (const procedure of procedures.slice(0, 6)) {
    await page.goto(`${server.home}procedures/${procedure}.html`);
    const boxes = await page.locator("main svg a").evaluateAll((all) => all.map((a) => a.getAttribute("href") ?? a.getAttribute("xlink:href")));
    for (const node of graphOf(procedure).nodes.filter((n) => ["measure", "observe", "do", "check"].includes(n.kind))) {
      assert.ok(boxes.includes(`#${node.id}`), `${procedure}: the picture has no link to ${node.id}`);
    }
  }
  await context.close();
});

test("a procedure prints whole, without the bar", async () => {
  const { page, context } = await open(browser, server.home);
  await page.goto(server.home + "procedures/charge-lamp-on.html");
  const before = await page.locator("main").innerText();
  await page.emulateMedia({ media: "print" });
  assert.equal(await search(page).filter({ visible: true }).count(), 0, "no search box on paper");
  const after = await page.locator("main").innerText();
  for (const word of ["in spec", "weak", "below spec"]) assert.ok(after.includes(word) && before.includes(word), word);
  const pdf = await page.pdf({ format: "A4" });
  assert.ok(pdf.length > 10_000);
  await context.close();
});
