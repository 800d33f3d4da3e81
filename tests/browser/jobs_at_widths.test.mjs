// The numbered jobs of a technician that need no running job (find, choose, see the plan, don't get hurt, look up, print, trust it),
// each at the width of a phone, a tablet and a bench screen. Working a job and writing it up have tests of their own.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, before, test } from "node:test";

import { WIDTHS, graphOf, launch, oneOfEach, open, outside, serve } from "./harness.mjs";

const axe = readFileSync(outside.resolve("axe-core/axe.min.js"), "utf8");
const LAMP = "procedures/charge-lamp-on.html";
let browser, server;
before(async () => {
  browser = await launch();
  server = await serve();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

function at(name, work, options = {}) {
  for (const width of WIDTHS) {
    test(`${name}, ${width} pixels`, async () => {
      const { page, context, faults } = await open(browser, server.home, { viewport: { width, height: 1000 }, hasTouch: width < 1000, ...options });
      try {
        await work(page, width);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.ok(wide <= 0, `${wide} pixels too wide`);
      } finally {
        await context.close();
      }
      assert.deepEqual(faults, []);
    });
  }
}

const search = (page) => page.getByRole("searchbox", { name: "Search", exact: true });
const results = (page) => page.getByRole("list", { name: "Results", exact: true });
const says = (page) => page.locator("#hits_says_").innerText();

at("1. find: one search, one tap, and what kind of page each is", async (page) => {
  for (const [typed, wanted] of [["P0562", /codes\/P0562/], ["red battery symbol", /charge-lamp-on/], ["alternater", /alternator|charge-lamp/], ["dynamo", /terms\/alternator/]]) {
    await page.goto(`${server.home}index.html?vehicle=orlo-t2`);
    await search(page).fill(typed);
    const link = results(page).locator("a").first();
    await link.waitFor();
    const box = await link.boundingBox();
    assert.ok(box.height >= 44 && box.x >= 0, "big enough to tap");
    assert.match(await link.innerText(), /^(Procedure|Fault code|Term)\b/);
    assert.match(await link.innerText(), /every vehicle|van|minibus|sweeper|gritter/i);
    for (const said of await results(page).locator(".hits-for").allInnerTexts()) {
      const words = said.split("Says: ")[1]?.split(", ") ?? [];
      assert.equal(new Set(words).size, words.length, `each matching word once: ${said}`);
    }
    await link.click();
    await page.waitForURL(wanted);
    assert.match(page.url(), /vehicle=orlo-t2/, "the vehicle comes along");
  }
});

at("1. find: a code that the base doesn't have", async (page) => {
  await page.goto(`${server.home}index.html`);
  for (const [typed, near] of [["P0564", "P0563"], ["p0119", "P0118"], ["P 0231", "P0230"]]) {
    await search(page).fill(typed);
    await results(page).locator(`a[href*="codes/${near}"]`).first().waitFor();
    assert.match(await says(page), new RegExp(`^${typed.replace(" ", "").toUpperCase()} is not in this base`));
    assert.match(await results(page).locator("a").first().getAttribute("href"), new RegExp(`codes/${near}`), "the nearest one first");
    const family = await results(page).locator("a").evaluateAll((all) => all.map((a) => a.getAttribute("href").match(/codes\/(\w+)/)?.[1]));
    assert.ok(family.every((code) => code?.startsWith(near.slice(0, 2))), `its family: ${family}`);
  }
  await search(page).fill("U3FFF");
  await page.waitForFunction(() => document.querySelectorAll("#hits_list_ a").length > 0);
  assert.match(await says(page), /U3FFF is not in this base/);
});

at("2. choose the vehicle once", async (page) => {
  await page.goto(`${server.home}${LAMP}`);
  const limits = page.locator("article", { has: page.locator("#charging-voltage") });
  assert.match(await limits.innerText(), /13\.8[\s\S]*27\.6|27\.6[\s\S]*13\.8/, "all vehicles' limits, never the first one's");
  await page.getByLabel("Vehicle", { exact: true }).selectOption("fell-12");
  assert.doesNotMatch(await limits.innerText(), /13\.8/);
  await page.getByRole("link", { name: "About this base", exact: true }).click();
  await page.waitForURL(/about\.html\?vehicle=fell-12/);
  assert.equal(await page.getByLabel("Vehicle", { exact: true }).inputValue(), "fell-12");
  // A page that is not for it says so.
  await page.goto(`${server.home}vehicles/orlo-t2.html?vehicle=fell-12`);
  assert.match(await page.getByRole("note").first().innerText(), /not for the Fell 12 gritter/);
});

at("3. see the plan: picture, text and steps say the same", async (page) => {
  await page.goto(`${server.home}${LAMP}`);
  const plan = await page.getByRole("region", { name: "The plan" }).innerText();
  for (const word of ["Also said", "Fault codes", "Vehicles", "Equipment", "Expected time", "Causes", "min", "%", "they prove nothing"]) assert.ok(plan.includes(word), word);
  const graph = graphOf("charge-lamp-on");
  await page.getByText("The same as a list", { exact: true }).click();
  const list = await page.locator(".routes").innerText();
  for (const edge of graph.edges.filter((edge) => edge.if)) assert.ok(list.includes(edge.if), edge.if);
  // Every box of the picture can be reached, and its words do not leave it: of a rhombus, no end of a line of words
  // at the height of its letters.
  const wrong = await page.evaluate(() => [...document.querySelectorAll(".graph a.node")].flatMap((node) => {
    const shape = node.querySelector("polygon, rect");
    const { left, right, top, bottom, width, height } = shape.getBoundingClientRect();
    const words = node.querySelector("text").getBoundingClientRect();
    if (words.left < left - 1 || words.right > right + 1 || words.top < top - 1 || words.bottom > bottom + 1) return [node.textContent];
    if (shape.localName === "rect") return [];
    if (shape.points.length !== 4) return [`${node.textContent}: no rhombus`];
    return [...node.querySelectorAll("tspan")].map((line) => line.getBoundingClientRect()).flatMap((line) => {
      const letters = [line.top + line.height * 0.25, line.bottom - line.height * 0.25];
      const out = letters.some((y) => (line.width + 2) / width + Math.abs(2 * y - top - bottom) / height > 1);
      return out ? [node.textContent] : [];
    });
  }));
  assert.deepEqual(wrong, []);
  const step = page.locator(".graph a.node").first();
  await step.scrollIntoViewIfNeeded();
  await step.click();
  await page.waitForURL(/#[a-z]/);
});

at("5. don't get hurt: cautions stand before, with their words, never folded", async (page) => {
  await page.goto(`${server.home}procedures/runs-hot.html`);
  const told = await page.evaluate(() => [...document.querySelectorAll("article .caution")].map((c) => ({
    shown: c.checkVisibility() && !c.closest("details:not([open])"), word: c.querySelector(".signal").innerText.trim(),
    before: Boolean(c.compareDocumentPosition(c.closest("article").querySelector(".words, .results, .ask")) & Node.DOCUMENT_POSITION_FOLLOWING),
  })));
  assert.ok(told.length > 5);
  for (const one of told) assert.ok(one.shown && one.before && /^(DANGER|WARNING|CAUTION|NOTICE)$/.test(one.word), JSON.stringify(one));
  assert.match(await page.locator("footer").innerText(), /defer to the maker's information, to local rules and to licensed practice/);
});

at("7. look up: every row leads to the procedures that use it, and back", async (page) => {
  for (const [sheet, heading] of [["specs/charging-voltage.html", "Measured in"], ["codes/P0562.html", "Procedures"], ["equipment/multimeter.html", "Used in"], ["systems/charging.html", "Procedures"], ["vehicles/orlo-t2.html", "Procedures"]]) {
    await page.goto(`${server.home}${sheet}`);
    const block = page.locator("section", { has: page.getByRole("heading", { name: heading, exact: true }) });
    assert.ok(await block.locator('a[href*="procedures/charge-lamp-on"]').count(), `${sheet} leads to the procedure`);
  }
  await page.goto(`${server.home}${LAMP}`);
  for (const to of ["specs/charging-voltage", "codes/P0562", "equipment/multimeter", "systems/charging", "vehicles/orlo-t2"]) {
    assert.ok(await page.locator(`main a[href*="${to}"]`).count(), `the procedure leads to ${to}`);
  }
});

at("9. trust it: review, state, sources, and a letter with page and step", async (page) => {
  await page.goto(`${server.home}${LAMP}#charging-voltage`);
  const end = await page.getByRole("region", { name: "Where this comes from" }).innerText();
  assert.match(end, /review/i);
  assert.match(end, /Invented for the demonstration|Common practice|From memory/);
  const state = await page.locator("footer code").innerText();
  assert.match(state, /^[0-9a-f]{12}$/);
  const letter = decodeURIComponent(await page.getByRole("link", { name: "Something wrong on this page?", exact: true }).getAttribute("href"));
  assert.match(letter, /^mailto:workshop@example\.invalid/);
  assert.ok(letter.includes(LAMP) && letter.includes("Step: charging-voltage"), letter);
  await page.goto(`${server.home}about.html`);
  assert.equal(await page.locator("footer code").innerText(), state, "one state on every page");
});

test("8. print: a bench sheet of A4 with room to write, nothing cut", async () => {
  for (const [name, address] of [["one vehicle", "procedures/runs-hot.html?vehicle=orlo-t2"], ["all vehicles", "procedures/runs-hot.html"]]) {
    // A4 less its margins, in pixels of 1/96 inch.
    const { page, context, faults } = await open(browser, server.home, { viewport: { width: 687, height: 1000 } });
    await page.goto(server.home + address);
    await page.emulateMedia({ media: "print" });
    const sheet = await page.evaluate(() => {
      const right = document.documentElement.clientWidth + 1;
      const shown = (e) => e.checkVisibility() && e.getBoundingClientRect().width > 0;
      return {
        cut: [...document.querySelectorAll("main *")].filter(shown).filter((e) => e.getBoundingClientRect().right > right).map((e) => e.outerHTML.slice(0, 90)),
        scrolls: [...document.querySelectorAll("main .scroll")].filter(shown).filter((e) => getComputedStyle(e).overflowX !== "visible").length,
        steps: [...document.querySelectorAll(".step")].filter(shown).map((step) => ({
          title: step.querySelector("h3").innerText, id: step.querySelector("h3").id,
          line: [...step.querySelectorAll(".write-on p")].some((p) => shown(p) && parseFloat(getComputedStyle(p).borderBottomWidth) > 0 && p.getBoundingClientRect().height > 20),
          whole: getComputedStyle(step).breakInside, words: step.innerText,
        })),
        colours: [...document.querySelectorAll("main .signal, main a, main .if")].filter(shown).map((e) => getComputedStyle(e)).filter((s) => new Set(s.color.match(/\d+/g).slice(0, 3)).size > 1).length,
        controls: [...document.querySelectorAll("button, input, select")].filter(shown).length,
      };
    });
    assert.deepEqual(sheet.cut.slice(0, 5), [], name);
    assert.equal(sheet.scrolls, 0, "nothing is left behind a scroll bar");
    assert.equal(sheet.colours, 0, "black does");
    assert.equal(sheet.controls, 0, "no control on paper");
    const steps = graphOf("runs-hot").nodes.filter((n) => ["measure", "observe", "do", "check"].includes(n.kind));
    for (const node of steps) {
      const step = sheet.steps.find((one) => one.id === node.id);
      if (!step) { assert.equal(name, "one vehicle", `${node.id} is missing`); continue; }
      assert.ok(step.title.includes(node.title), node.id);
      assert.ok(step.line, `${node.id} has a line to write on`);
      assert.equal(step.whole, "avoid", node.id);
    }
    const limits = sheet.steps.find((one) => one.words.includes("thermostat housing")).words;
    assert.match(limits, /82 °C to 104 °C/);
    if (name === "all vehicles") assert.match(limits, /Fell 12/, "the table of all vehicles");
    assert.match(await page.locator("article .signal").first().innerText(), /DANGER|WARNING/);
    assert.ok((await page.pdf({ format: "A4", preferCSSPageSize: true })).length > 20_000);
    await context.close();
    assert.deepEqual(faults, []);
  }
});

test("one page of each kind with a vehicle chosen, light and dark: nothing too faint, targets as big as a finger", async () => {
  const wrong = [];
  const { page, context } = await open(browser, server.home, { viewport: { width: 820, height: 1000 }, hasTouch: true });
  for (const name of oneOfEach()) {
    await page.goto(`${server.home}${name}?vehicle=fell-12`);
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
      await page.evaluate(axe);
      const found = await page.evaluate(async () => (await axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] })).violations
        .map((v) => `${v.id}: ${v.nodes.slice(0, 2).map((n) => n.target).join(" | ")}`));
      for (const line of found) wrong.push(`${name}: ${colorScheme}: ${line}`);
    }
    const small = await page.evaluate(() => {
      const words = (e) => (e?.innerText ?? "").replace(/[\s,;:.]+/g, " ").trim();
      // A link in running words is exempt (WCAG 2.5.8): what stands around it in its block is a sentence of its own.
      const inline = (link) => {
        const block = link.closest("p, li, dd, td, th, h2, h3, figcaption");
        if (link.closest(".words")) return true;
        if (!block || link.closest(".links, .lists, .foot, .trail, .hits, .says, .graph")) return false;
        const others = [...block.querySelectorAll("a, .more")].reduce((text, a) => text.replace(words(a), ""), words(block));
        return others.trim().split(/\s+/).filter((w) => /\p{L}{2}/u.test(w)).length >= 3;
      };
      return [...document.querySelectorAll("a[href], button, select, summary, input")]
        .filter((e) => e.checkVisibility() && !e.classList.contains("skip") && !inline(e))
        .map((e) => [e, (e.closest("label") ?? e).getBoundingClientRect()])
        .filter(([e, box]) => box.width > 1 && (box.height < 43.5 || (e.localName !== "a" && box.width < 43.5)))
        .map(([e, box]) => `${Math.round(box.width)} by ${Math.round(box.height)}: ${e.outerHTML.slice(0, 100)}`);
    });
    for (const line of small.slice(0, 2)) wrong.push(`${name}: small: ${line}`);
  }
  await context.close();
  assert.deepEqual(wrong.slice(0, 20), [], `${wrong.length} faults`);
});

test("nothing moves for whoever asks for rest", async () => {
  const { page, context } = await open(browser, server.home, { reducedMotion: "reduce" });
  await page.goto(server.home + LAMP);
  const moving = await page.evaluate(() => [...document.querySelectorAll("*")].map((e) => getComputedStyle(e))
    .filter((s) => s.scrollBehavior === "smooth" || parseFloat(s.transitionDuration) > 0 || parseFloat(s.animationDuration) > 0).length);
  assert.equal(moving, 0);
  await context.close();
});
