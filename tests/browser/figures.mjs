// Figures, not a test: weight of a page, size of the search index, time from key to results, and whether the right page comes up.
//
// RULEOUT_SITE names the demonstration's site, RULEOUT the program. Bases of 1,000 and 10,000 procedures are made in a scratch folder:
//     RULEOUT=... RULEOUT_SITE=... node tests/browser/figures.mjs [1000 10000]

import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

import { disk, launch, program, serve, site } from "./harness.mjs";
import { dice, write } from "./large_base.mjs";

const kB = (bytes) => (bytes / 1000).toFixed(1);
const part = (all, share) => [...all].sort((a, b) => a - b)[Math.min(all.length - 1, Math.floor(all.length * share))];
const weight = (folder, name) => gzipSync(readFileSync(join(folder, name)), { level: 9 }).length;

/** What a procedure's page loads, by its own tags: compressed bytes of what all pages share, and of what is its own. */
function pageWeights() {
  const names = readdirSync(join(site, "procedures")).filter((name) => name !== "index.html");
  return names.map((name) => {
    const html = readFileSync(join(site, "procedures", name), "utf8");
    const found = [...html.matchAll(/<(?:script[^>]* src|link rel="stylesheet" href|img src)="\.\.\/([^"]+)"/g)].map((m) => m[1]);
    const all = [...new Set(found)].map((address) => [address, weight(site, address)]);
    const shared = all.filter(([address]) => address.startsWith("assets/")).reduce((sum, [, bytes]) => sum + bytes, 0);
    const own = weight(site, `procedures/${name}`) + all.filter(([address]) => !address.startsWith("assets/")).reduce((sum, [, bytes]) => sum + bytes, 0);
    return { name, first: shared + own, later: own };
  });
}

/** Milliseconds until a procedure opened from disk is drawn and can be used. */
async function fromDisk(browser) {
  const page = await browser.newPage();
  const times = [];
  for (const name of readdirSync(join(site, "procedures")).filter((name) => name !== "index.html").slice(0, 40)) {
    await page.goto(`${disk}procedures/${name}`);
    times.push(await page.evaluate(() => performance.getEntriesByType("navigation")[0].loadEventEnd));
  }
  await page.close();
  return times;
}

/** One letter wrong in a word: another one, one missing, one twice, or two changed over. */
function typo(word, roll) {
  const at = 1 + roll(word.length - 2);
  const letter = "abcdefghijklmnopqrstuvwxyz"[roll(26)];
  return [
    word.slice(0, at) + letter + word.slice(at + 1),
    word.slice(0, at) + word.slice(at + 1),
    word.slice(0, at) + word[at] + word.slice(at),
    word.slice(0, at) + word[at + 1] + word[at] + word.slice(at + 2),
  ][roll(4)];
}

/** The same title as people type it. */
function asked(title, roll) {
  const words = title.toLowerCase().split(" ");
  const long = words.map((word, at) => (word.length > 4 && /^[a-z]+$/.test(word) ? at : -1)).filter((at) => at >= 0);
  const one = long[roll(long.length)];
  const last = words.at(-1);
  return {
    plain: words.join(" "),
    prefix: [...words.slice(0, -1), last.slice(0, Math.max(2, Math.ceil(last.length / 2)))].join(" "),
    "one typo": words.map((word, at) => (at === one ? typo(word, roll) : word)).join(" "),
    "a typo in every long word": words.map((word, at) => (long.includes(at) ? typo(word, roll) : word)).join(" "),
  };
}

/** Types into the box of the page, `every` letter or all at once; gives the milliseconds that each key took, and the addresses after the last. */
const type = (page, text, every) => page.evaluate(([text, every]) => {
  const box = document.getElementById("search_");
  const list = document.getElementById("hits_list_");
  const times = [];
  for (let end = every ? 1 : text.length; end <= text.length; end += 1) {
    box.value = text.slice(0, end);
    const start = performance.now();
    box.dispatchEvent(new Event("input", { bubbles: true }));
    list.getBoundingClientRect();
    times.push(performance.now() - start);
  }
  return { times, found: [...list.querySelectorAll("a")].slice(0, 10).map((a) => a.getAttribute("href").replace(/^.*\/([^/?]+)\.html.*$/, "$1")) };
}, [text, every]);

async function large(browser, count) {
  const work = mkdtempSync(join(tmpdir(), "figures-"));
  try {
    const procedures = write(join(work, "kb"), count);
    execFileSync(program, ["compile", join(work, "kb"), "--out", join(work, "site")], { stdio: "ignore", maxBuffer: 1 << 30 });
    const out = join(work, "site");
    const index = readdirSync(join(out, "assets")).find((name) => name.startsWith("search."));
    const heaviest = readdirSync(out, { recursive: true }).filter((name) => /^[a-z]+(\/[a-z-]+)?(\.part-\d+)?\.html$/.test(name))
      .reduce((most, name) => Math.max(most, readFileSync(join(out, name)).length), 0);
    console.log(`${count} procedures: index ${kB(weight(out, `assets/${index}`))} kB compressed; heaviest list ${kB(heaviest)} kB as it is`);
    const server = await serve(out);
    const page = await browser.newPage();
    await page.goto(`${server.home}index.html`);
    const start = Date.now();
    await page.locator("#search_").focus();
    await page.waitForFunction(() => { document.getElementById("search_").value = "an"; document.getElementById("search_").dispatchEvent(new Event("input")); return document.querySelector("#hits_list_ a"); });
    console.log(`  index ready ${Date.now() - start} ms after the first touch of the box`);
    const roll = dice(7);
    const times = [];
    const right = {};
    const sample = Array.from({ length: 200 }, () => procedures[roll(procedures.length)]);
    for (const one of sample) {
      const { id, title } = one;
      for (const [kind, text] of Object.entries(asked(title, roll))) {
        // Every key of every eighth query, misspelt ones among them.
        const said = await type(page, text, sample.indexOf(one) % 8 === 0);
        times.push(...said.times);
        right[kind] = (right[kind] ?? 0) + Number(said.found.includes(id));
      }
    }
    console.log(`  key to results: half within ${part(times, 0.5).toFixed(1)} ms, 95 % within ${part(times, 0.95).toFixed(1)} ms, ${times.length} keys`);
    for (const [kind, found] of Object.entries(right)) console.log(`  right page among the first ten, ${kind}: ${(100 * found / sample.length).toFixed(1)} %`);
    await page.close();
    await server.stop();
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

const browser = await launch();
const weights = pageWeights();
const heaviest = (key) => weights.reduce((most, one) => (one[key] > most[key] ? one : most));
console.log(`procedure page, compressed: first visit at most ${kB(heaviest("first").first)} kB (${heaviest("first").name}), later at most ${kB(heaviest("later").later)} kB (${heaviest("later").name})`);
const times = await fromDisk(browser);
console.log(`a procedure from disk: half within ${part(times, 0.5).toFixed(0)} ms, all within ${part(times, 1).toFixed(0)} ms`);
const wanted = process.argv.slice(2).map(Number);
for (const count of wanted.length ? wanted : [1000, 10000]) await large(browser, count);
await browser.close();
