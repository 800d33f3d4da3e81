// Every page: valid, accessible in light and dark, silent, closed to the outside, and whole at three widths.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { promisify } from "node:util";

import { WIDTHS, launch, oneOfEach, open, outside, pages, serve, shots, site, text } from "./harness.mjs";

const axe = readFileSync(outside.resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
let browser, server;

before(async () => {
  browser = await launch();
  server = await serve();
  mkdirSync(shots, { recursive: true });
});
after(async () => {
  await browser?.close();
  server?.stop();
});

/** Violations as lines; rules limited to `only` where given. */
async function violations(page, only) {
  await page.evaluate(axe);
  const found = await page.evaluate(async ([tags, rules]) => {
    const { violations } = await axe.run(document, { runOnly: rules ? { type: "rule", values: rules } : { type: "tag", values: tags } });
    return violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.target} (${n.failureSummary?.split("\n").at(1)?.trim()})`).join(" | ")}`);
  }, [TAGS, only]);
  return found;
}

test("the Nu checker finds no error on any page", async () => {
  const jar = join(outside.resolve("vnu-jar/package.json"), "../build/dist/vnu.jar");
  const call = ["-Xss2m", "-jar", jar, "--errors-only", "--skip-non-html", "--exit-zero-always", "--format", "json", site];
  const { stdout, stderr } = await promisify(execFile)("java", call, { maxBuffer: 1 << 28 });
  const messages = JSON.parse(stderr || stdout).messages;
  const told = messages.map((m) => `${m.url?.split("/").slice(-2).join("/")}:${m.lastLine}: ${m.message}`);
  assert.deepEqual(told.slice(0, 20), [], `${told.length} errors`);
});

test("every page: no violation in light and dark, no fault, no sideways scrolling", async () => {
  const all = pages();
  assert.ok(all.length > 50, "the demonstration has more pages than that");
  const wrong = [];
  const waiting = [...all];
  const work = async () => {
    const { page, context, faults } = await open(browser, server.home);
    for (let name = waiting.pop(); name; name = waiting.pop()) {
      await page.emulateMedia({ colorScheme: "light", reducedMotion: "reduce" });
      await page.goto(server.home + name);
      for (const line of await violations(page)) wrong.push(`${name}: light: ${line}`);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (wide > 0) wrong.push(`${name}: ${wide} pixels too wide`);
      // The scheme changes colours and nothing else, so only what looks at colours runs again.
      await page.emulateMedia({ colorScheme: "dark", reducedMotion: "reduce" });
      for (const line of await violations(page, ["color-contrast", "link-in-text-block"])) wrong.push(`${name}: dark: ${line}`);
      for (const fault of faults.splice(0)) wrong.push(`${name}: ${fault}`);
    }
    await context.close();
  };
  await Promise.all([work(), work()]);
  assert.deepEqual(wrong.slice(0, 20), [], `${wrong.length} faults on ${all.length} pages`);
});

test("dark is dark", async () => {
  const { page, context } = await open(browser, server.home, { colorScheme: "dark" });
  await page.goto(server.home + "index.html");
  const colour = await page.evaluate(() => getComputedStyle(document.body).backgroundColor.match(/\d+/g).slice(0, 3).map(Number));
  assert.ok(Math.max(...colour) < 90, `the ground is ${colour}`);
  await context.close();
});

for (const width of WIDTHS) {
  test(`one page of each kind at ${width} pixels: accessible, nothing cut, targets big enough`, async () => {
    const wrong = [];
    const { page, context, faults } = await open(browser, server.home, { viewport: { width, height: 1000 } });
    for (const name of oneOfEach()) {
      await page.goto(server.home + name);
      for (const line of await violations(page)) wrong.push(`${name}: ${line}`);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (wide > 0) wrong.push(`${name}: ${wide} pixels too wide`);
      const small = await page.evaluate(() => {
        const shown = (e) => e.checkVisibility?.() && e.getBoundingClientRect().width > 1;
        // A box counts together with the label around it; a link in running words is exempt.
        const area = (e) => (e.closest("label") ?? e).getBoundingClientRect();
        return [...document.querySelectorAll("button, select, input, textarea, summary")]
          .filter(shown)
          .filter((e) => area(e).height < 44 - 0.5 || area(e).width < 44 - 0.5)
          .map((e) => `${e.outerHTML.slice(0, 90)} is ${Math.round(area(e).width)} by ${Math.round(area(e).height)}`);
      });
      for (const line of small.slice(0, 3)) wrong.push(`${name}: small target: ${line}`);
      await page.screenshot({ path: join(shots, `${width}-${name.replaceAll("/", "-")}.png`), fullPage: width !== 1440 });
    }
    for (const fault of faults) wrong.push(fault);
    await context.close();
    assert.deepEqual(wrong.slice(0, 20), [], `${wrong.length} faults`);
  });
}

test("a content security policy stands in every page, and nothing would break it", () => {
  for (const name of pages()) {
    const page = text(name);
    const policy = page.match(/<meta http-equiv="Content-Security-Policy" content="([^"]*)"/)?.[1] ?? "";
    assert.match(policy, /default-src 'none'/, name);
    assert.match(policy, /script-src 'self'(;|$)/, name);
    assert.doesNotMatch(policy, /unsafe/, name);
    assert.doesNotMatch(page, /<script(?![^>]*\bsrc=)[^>]*>|\son[a-z]+=["']|\sstyle=["']|javascript:/i, `${name} holds inline script or style`);
    assert.ok(page.indexOf("Content-Security-Policy") < page.indexOf("<script"), `${name}: the policy stands first`);
  }
});

test("whatever stands behind # in an address, the page works", async () => {
  const { page, faults, context } = await open(browser, server.home);
  const packed = (text) => "job=" + Buffer.from(text).toString("base64").replace(/\+/g, "-").replace(/\//g, "_");
  const odd = ["%", "%ff", "%00", "\"><img src=x onerror=alert(1)>", "__proto__", "constructor", "job=", "job=%", "job=A", packed("null"), packed("[]"),
    packed("{\"procedure\": {}, \"entries\": [[1], {\"step\": \"__proto__\"}, null], \"time\": 1e999, \"out\": 5}"), packed("{\"__proto__\": {\"a\": 1}}"), "x".repeat(100000)];
  const procedure = pages().find((name) => /^procedures\/(?!index)/.test(name));
  for (const name of ["index.html", procedure]) {
    for (const hash of odd) {
      await page.goto("about:blank");
      await page.goto(`${server.home}${name}#${hash}`);
      const whole = await page.evaluate(() => [typeof Ruleout.feedback, typeof Ruleout.jobs, document.getElementById("wrong_").getAttribute("href")]);
      assert.deepEqual(whole.slice(0, 2), ["function", "object"], `${name}#${hash.slice(0, 40)}`);
      assert.ok(!/onerror|%25|xxxx/.test(whole[2]), `${name}#${hash.slice(0, 40)}`);
    }
  }
  assert.deepEqual(faults, []);
  await context.close();
});

test("every page says the same words and the same state, whatever the address", () => {
  for (const name of pages()) {
    const page = text(name);
    assert.match(page, /Something wrong on this page\?<\/a>/, name);
    assert.match(page, /defer to the maker's information|defer to the maker&#39;s information/, name);
    for (const [, address] of page.matchAll(/(?:href|src)="([^"]*)"/g)) {
      assert.doesNotMatch(address, /^\//, `${name}: ${address} breaks under a path prefix`);
    }
  }
});
