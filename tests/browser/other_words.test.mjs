// Words that English pages rarely meet: one as long as a line, a script without spaces, one that runs from right to left.
//
// In: a small base of each. Judged by Chromium: nothing is cut or hangs out of the window, and each text runs its own way.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, sep } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

import { hands } from "./at_work.mjs";
import { launch, open, program, WIDTHS } from "./harness.mjs";
import { write } from "./strangers_base.mjs";

const LONG = "Kraftstoffverdunstungsrückhaltesystemabsperrventilsteckverbinderdichtung";
const WORDS = {
  long: { lamp: `${LONG} ${LONG}`, dark: LONG, how: LONG },
  signs: { lamp: "充电灯在发动机运转时一直亮着不熄灭而且蓄电池电压低于正常值", dark: "一直亮着不熄灭", how: "启动发动机，看灯三十秒。" },
  arabic: { lamp: "مصباح الشحن يبقى مضاءً", dark: "مظلم", how: "يضيء المصباح عند 12.4 V." },
};

const base = ({ lamp, dark, how }) => ({
  "shop.yaml": `title: ${lamp}\n`,
  "vehicles.yaml": `one: {title: ${lamp}}\ntwo: {title: ${dark}}\n`,
  "codes.yaml": `P0562: {title: ${lamp}}\n`,
  "equipment.yaml": `meter: {title: ${lamp}}\n`,
  "hazards.yaml": `hot: {signal: danger, text: ${lamp}}\n`,
  "procedures/lamp.md": `---
complaint: ${lamp}
also: [${lamp}]
codes: [P0562]
causes:
  bulb: {title: ${lamp}, fix: renew, part: {name: ${dark}, number: 123456789012345678901234567890123456789012345678901234567890, price: 1, minutes: 1}}
  wire: {title: ${dark}, fix: renew}
steps:
  look:
    observe: ${lamp}
    hazards: [hot]
    with: [meter]
    record: [${dark}]
    undo: ${lamp}
    results:
      - {if: ${dark}, shows: bulb}
      - {if: lit, clears: [bulb], note: ${lamp}, found: wire}
---
${how}

## ${lamp} {#look}
${how}

## ${lamp} {#renew}
${how}
`,
});

let browser, folder;
before(async () => {
  folder = mkdtempSync(join(tmpdir(), "words-"));
  for (const [name, words] of Object.entries(WORDS)) {
    write(join(folder, name), base(words));
    execFileSync(program, ["compile", join(folder, name), "--out", join(folder, `${name}-site`)], { stdio: "pipe" });
  }
  browser = await launch();
});
after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

async function within(page, where) {
  const out = await page.evaluate(() => [...document.querySelectorAll("body *")]
    .filter((one) => one.checkVisibility() && !one.closest(".scroll, .picture, .skip") && one.getBoundingClientRect().right > innerWidth + 1)
    .map((one) => `${one.tagName} ${one.className}`));
  assert.deepEqual(out, [], where);
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth), 0, where);
}

/** How far the letters of each box of the picture stand out of the box. */
const outOfBox = (page) => page.evaluate(() => [...document.querySelectorAll(".graph .node")].map((node) => {
  const [box, text] = ["polygon, rect", "text"].map((what) => node.querySelector(what).getBoundingClientRect());
  return Math.max(0, box.left - text.left, text.right - box.right, box.top - text.top, text.bottom - box.bottom);
}));

for (const name of Object.keys(WORDS)) {
  for (const width of WIDTHS) {
    test(`${name}: nothing hangs out at ${width} pixels`, async () => {
      const home = pathToFileURL(join(folder, `${name}-site`) + sep).href;
      const { page, context, faults } = await open(browser, home, { viewport: { width, height: 900 } });
      const by = hands(page);
      try {
        for (const at of ["index.html", "codes/P0562.html", "vehicles/one.html", "procedures/lamp.html"]) {
          await page.goto(home + at);
          await within(page, at);
        }
        assert.ok((await outOfBox(page)).length > 2);
        for (const far of await outOfBox(page)) assert.ok(far < 1, `a text stands ${far} out of its box`);
        await page.goto(`${home}procedures/lamp.html?vehicle=one`);
        await by.start();
        await by.radio("lit").check();
        await within(page, "a step");
        await by.next();
        await by.button("Finish").click();
        await within(page, "the write-up");
        await page.getByRole("searchbox", { name: "Search" }).fill(WORDS[name].dark.slice(0, 6));
        await page.locator("#hits_list_ a").first().waitFor();
        await within(page, "the search");
        assert.deepEqual(faults, []);
      } finally {
        await context.close();
      }
    });
  }
}

test("a text from right to left ends on its left, whatever stands beside it", async () => {
  const home = pathToFileURL(join(folder, "arabic-site") + sep).href;
  const { page, context } = await open(browser, home);
  try {
    await page.goto(`${home}procedures/lamp.html`);
    const ends = await page.evaluate((how) => [...document.querySelectorAll("main p")].filter((p) => p.textContent === how).map((p) => {
      const text = document.createTreeWalker(p, NodeFilter.SHOW_TEXT).nextNode();
      const at = (from) => {
        const range = document.createRange();
        range.setStart(text, from);
        range.setEnd(text, from + 1);
        return range.getBoundingClientRect().left;
      };
      return at(how.length - 1) < at(how.indexOf("1")) && at(how.indexOf("1")) < at(0);
    }), WORDS.arabic.how);
    assert.ok(ends.length >= 2);
    assert.equal(await page.getByText("Expected time").count(), 0, "no step has minutes: nothing is known, and nothing is said");
    assert.ok(ends.every(Boolean), `the full stop left of the amount, the amount left of the first word: ${ends}`);
  } finally {
    await context.close();
  }
});
