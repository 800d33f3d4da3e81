// A compiled site in a real browser: a static server under a path prefix, Chromium, and pages that note every fault.
//
// RULEOUT_SITE names the compiled site, RULEOUT_SHOTS a folder for the pictures that people look at.

import { execFileSync } from "node:child_process";
import { createReadStream, mkdtempSync, readdirSync, readFileSync, statSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { extname, join, relative, resolve, sep } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

export const outside = createRequire(new URL("../outside/package.json", import.meta.url));
export const root = fileURLToPath(new URL("../../", import.meta.url));
const { chromium } = outside("playwright-core");

export const site = process.env.RULEOUT_SITE;
if (!site) throw new Error("RULEOUT_SITE must name the compiled site");
export const shots = process.env.RULEOUT_SHOTS ?? mkdtempSync(join(tmpdir(), "shots-"));
export const PREFIX = "/depot/pages/";
export const WIDTHS = [390, 820, 1440];

const KINDS = {
  ".html": "text/html; charset=utf-8", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml",
  ".txt": "text/plain", ".json": "application/json", ".webmanifest": "application/manifest+json", ".png": "image/png",
};

/** Serves a site under PREFIX on a loopback port. */
export async function serve(folder = site) {
  const server = createServer((request, response) => {
    // The browser asks for this by itself, outside of every site's prefix.
    if (request.url === "/favicon.ico") return response.writeHead(204).end();
    const path = decodeURIComponent(new URL(request.url, "http://x").pathname);
    const file = resolve(folder, "." + sep + path.slice(PREFIX.length));
    const stat = path.startsWith(PREFIX) && file.startsWith(resolve(folder)) && statSync(file, { throwIfNoEntry: false });
    if (!stat || !stat.isFile()) return response.writeHead(404).end("not here");
    response.writeHead(200, { "content-type": KINDS[extname(file)] ?? "application/octet-stream" });
    createReadStream(file).pipe(response);
  });
  await new Promise((ready) => server.listen(0, "127.0.0.1", ready));
  // A test that fails before it stops its server must not keep the whole run waiting.
  server.unref();
  const used = server.address().port;
  const stop = () => new Promise((ended) => {
    server.close(ended);
    server.closeAllConnections();
  });
  return { home: `http://127.0.0.1:${used}${PREFIX}`, stop };
}

export const disk = pathToFileURL(resolve(site) + sep).href;

/** The program that compiles. */
export const program = process.env.RULEOUT ?? join(root, "target/release/ruleout");

export function launch(...more) {
  const found = execFileSync("sh", ["-c", "command -v chromium"]).toString().trim();
  return chromium.launch({
    executablePath: found,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync", ...more],
  });
}

/** A page whose faults are noted: console errors, script errors, failed and outside requests. */
export async function open(browser, home, options = {}) {
  const context = await browser.newContext({ viewport: { width: 820, height: 1180 }, ...options });
  const page = await context.newPage();
  const faults = [];
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) faults.push(`console: ${message.text()}`); });
  page.on("pageerror", (error) => faults.push(`script: ${error.message}`));
  // A picture that is still on its way when the page is left is no fault.
  page.on("requestfailed", (request) => { if (request.failure()?.errorText !== "net::ERR_ABORTED") faults.push(`failed: ${request.url()}`); });
  page.on("response", (response) => { if (response.status() >= 400) faults.push(`${response.status()}: ${response.url()}`); });
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(home) && !/^(data|blob|about):/.test(url) && !url.endsWith("/favicon.ico")) faults.push(`outside: ${url}`);
  });
  return { page, context, faults };
}

/** Every page of the site, as addresses below its home, in order. */
export function pages() {
  return readdirSync(site, { recursive: true })
    .filter((name) => name.endsWith(".html"))
    .map((name) => name.split(sep).join("/"))
    .sort();
}

/** One page of each kind: the heaviest, which holds most of what the kind can hold. */
export function oneOfEach() {
  const heaviest = new Map();
  for (const name of pages()) {
    const parts = name.split("/");
    const kind = parts.length === 1 || parts.at(-1) === "index.html" ? name : parts[0];
    const size = statSync(join(site, name)).size;
    if (size > (heaviest.get(kind)?.size ?? 0)) heaviest.set(kind, { name, size });
  }
  return [...heaviest.values()].map((one) => one.name).sort();
}

/** The decision graph of a procedure, as `ruleout export` writes it. */
export function graphOf(procedure) {
  return JSON.parse(execFileSync(program, ["--kb", join(root, "kb"), "export", procedure, "--format", "json"]).toString());
}

export const text = (name) => readFileSync(join(site, name), "utf8");
export const fromRoot = (path) => relative(root, path);
