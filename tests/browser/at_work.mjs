// Working a job by the names that a screen reader hears, on the base in bench/: at three widths, from disk and from a server.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, sep } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

import { launch, open, root, serve } from "./harness.mjs";

export const program = process.env.RULEOUT ?? ["release", "debug"].map((kind) => join(root, "target", kind, "ruleout")).find(existsSync);
export const kb = join(root, "tests/browser/bench");
// Width, height, and whether the pages come from a server or straight from disk.
export const WINDOWS = [[390, 844, "disk"], [820, 1180, "server"], [1440, 900, "disk"]];

let browser, server, folder;
before(async () => {
  folder = mkdtempSync(join(tmpdir(), "bench-"));
  execFileSync(program, ["compile", kb, "--out", join(folder, "site")], { stdio: "pipe" });
  browser = await launch();
  server = await serve(join(folder, "site"));
});
after(async () => {
  await browser?.close();
  server?.stop();
  if (folder) rmSync(folder, { recursive: true });
});

/** What a technician sees and does on a page, by role and name. */
export function hands(page) {
  const job = page.getByRole("region", { name: "Job", exact: true });
  const by = {
    page, job,
    button: (name) => job.getByRole("button", { name, exact: true }),
    box: (name) => job.getByRole("textbox", { name, exact: true }),
    radio: (name) => job.getByRole("radio", { name, exact: true }),
    status: (name) => job.getByRole("status", { name, exact: true }).innerText(),
    meaning: () => by.status("Meaning"),
    list: (name) => job.getByRole("list", { name, exact: true }).getByRole("listitem").allInnerTexts(),
    heading: () => job.getByRole("heading").first().innerText(),
    verdict: page.getByRole("region", { name: "Verdict", exact: true }),
    writeUp: page.getByRole("region", { name: "Write-up", exact: true }),
    start: () => page.getByRole("button", { name: "Start job", exact: true }).click(),
    next: () => by.button("Next").click(),
    async tap(label) { await by.radio(label).check(); await by.next(); },
    async type(reading, unit) {
      await by.box("Reading").fill(reading);
      if (unit) await job.getByRole("combobox", { name: "Unit", exact: true }).selectOption({ label: unit });
    },
    async enter(reading, unit) { await by.type(reading, unit); await by.next(); },
    async fold(title, row, role = "checkbox") {
      const group = page.getByRole("group", { name: title, exact: true });
      if (!(await group.isVisible())) await page.locator("summary", { hasText: new RegExp(`^${title}$`) }).click();
      return group.getByRole(role, { name: row });
    },
    link: () => page.getByRole("link", { name: "Link to this job", exact: true }).evaluate((one) => one.href),
  };
  return by;
}

/** One walk at every width; `body` gets the hands, the address of a page of the bench, and a way to open another browser. */
export function work(name, body, { page: first = "procedures/engine-weak.html?vehicle=orlo-t2", windows = WINDOWS, context: more = {} } = {}) {
  for (const [width, height, where] of windows) {
    test(`${name} (${width} pixels, from ${where})`, async () => {
      const home = where === "disk" ? pathToFileURL(join(folder, "site") + sep).href : server.home;
      const options = { viewport: { width, height }, reducedMotion: "reduce", ...more };
      const { page, context, faults } = await open(browser, home, options);
      const others = [];
      try {
        await page.goto(home + first);
        await body(hands(page), {
          home, width,
          async elsewhere(address) {
            const other = await open(browser, home, options);
            others.push(other);
            await other.page.goto(address);
            return Object.assign(hands(other.page), { faults: other.faults });
          },
        });
        for (const other of others) assert.deepEqual(other.faults, []);
        assert.deepEqual(faults, []);
        assert.equal(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth), 0, "nothing overflows");
      } finally {
        await Promise.all([context, ...others.map((other) => other.context)].map((one) => one.close()));
      }
    });
  }
}
