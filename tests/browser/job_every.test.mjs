// Every procedure of the demonstration, worked in the browser to each of its endings, and on random readings: the page's path,
// causes left, verdict and what is to be put back are those of `ruleout trace`.
// Wants RULEOUT_SITE, a compiled demonstration; RULEOUT names the program.

import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { promisify } from "node:util";

import { disk, launch, open, root, site } from "./harness.mjs";
import { endings, moves, waysToEndings } from "./job_readings.mjs";

const program = process.env.RULEOUT ?? ["release", "debug"].map((kind) => join(root, "target", kind, "ruleout")).find(existsSync);
const { engine: load, jobs } = createRequire(import.meta.url)("../site/load-job.cjs");
const engine = load();
// From another realm and back: plain values only.
const all = Object.values(JSON.parse(JSON.stringify(jobs(site))));

let browser;
before(async () => { browser = await launch(); });
after(() => browser?.close());

// A small generator with a fixed seed, so that a failure can be repeated.
let seed = 20310504;
function random(below) {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return Math.floor((seed / 2 ** 32) * below);
}

/** A walk on any class of vehicles, at every step one of the readings that can be taken there. */
function randomWay(data) {
  const group = data.classes[random(data.classes.length)];
  const vehicle = group.vehicles[random(group.vehicles.length)];
  const way = { end: "at random", vehicle, moves: [] };
  let state = engine.engine.settle(data, engine.engine.start(data, vehicle, []), []);
  while (!state.end && way.moves.length < 25) {
    const can = moves(engine, data, state);
    if (!can.length) break;
    const move = can[random(can.length)];
    way.moves.push({ step: move.step, text: move.text });
    state = move.state;
  }
  return way;
}

async function reference(data, { vehicle, moves }) {
  const args = ["trace", data.id, "--kb", join(root, "kb"), "--format", "json"];
  if (vehicle) args.push("--vehicle", vehicle);
  const actions = {};
  for (const { step, text } of moves) {
    // An action is named only where it was not taken; `done` stands for its visits before that.
    const isAction = data.steps.find((one) => one.id === step).kind === "do";
    if (!isAction) args.push("--reading", `${step}=${text}`);
    else (actions[step] ??= []).push(text ?? "done");
  }
  for (const [step, said] of Object.entries(actions)) {
    for (const one of said.slice(0, said.lastIndexOf("not taken") + 1)) args.push("--reading", `${step}=${one}`);
  }
  return JSON.parse((await promisify(execFile)(program, args)).stdout);
}

/** Runs in the page: works one job by its boxes and buttons, and tells what it saw before and after each Next. */
function workIt(way) {
  const job = document.getElementById("job_");
  const button = (name) => [...job.querySelectorAll("button")].find((one) => one.textContent === name && !one.hidden);
  const items = (name) => [...(job.querySelector(`ul[aria-label="${name}"]`)?.children ?? [])].map((one) => one.textContent);
  const say = (input, value) => {
    input.value = value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  };
  [...document.querySelectorAll(".job-bar button")].find((one) => one.textContent === "Start job").click();
  const seen = [];
  for (const { text } of way) {
    const one = { title: job.querySelector("h2").textContent, focus: document.activeElement === job.querySelector("h2"), left: items("Causes left") };
    seen.push(one);
    if (text === "not taken") {
      button("Can't take this reading").click();
      continue;
    }
    if (text !== undefined) {
      const radio = [...job.querySelectorAll("[role=radiogroup] input")].find((input) => input.value === text);
      if (radio) radio.click();
      else if (text === "open circuit") job.querySelector(".job-take input[type=checkbox]").click();
      else {
        const parts = text.split(/,(?!\d)/).map((part) => /^\s*(\S+)\s*(.*)$/.exec(part));
        const unit = job.querySelector(".job-take select");
        if (unit) say(unit, parts[0][2]);
        const boxes = [...job.querySelectorAll(".job-row input[type=text]")];
        parts.forEach((part, at) => say(boxes[at], part[1]));
      }
      one.meaning = job.querySelector("[aria-label=Meaning]").innerText;
    }
    const next = button("Next");
    if (next.disabled) return { seen, stuck: one };
    next.click();
  }
  const verdict = job.querySelector("[aria-label=Verdict]");
  return {
    seen,
    ended: Boolean(verdict) && { title: job.querySelector("h2").textContent, text: verdict.innerText, back: items("Put back") },
    left: items("Causes left"), out: items("Ruled out"), readings: items("Readings so far"),
    marks: job.querySelector("h2").textContent,
  };
}

const HEADS = {
  shows: /^This is the fault: /, found: /^(Nothing else is left: |Can't tell apart: )/, normal: /^Works as it should$/,
  unproven: /^The fault did not show itself$/, refer: /^Hand over$/, jump: /^Go on with another procedure$/,
};

function compare(data, way, saw, trace) {
  const where = `${data.id} on ${way.vehicle}, ${way.end}: ${JSON.stringify(way.moves)}`;
  const title = (id) => data.causes.find((one) => one.id === id)?.title ?? id;
  const titles = (ids) => ids.map(title);
  const asked = trace.path.filter((visit) => data.steps.find((one) => one.id === visit.step).kind !== "which");
  const stepTitle = (id) => data.steps.find((one) => one.id === id).title;
  assert.ok(!saw.stuck, `${where}: Next does not open: ${JSON.stringify(saw.stuck)}`);
  assert.deepEqual(saw.seen.map((one) => one.title), asked.map((visit) => stepTitle(visit.step)), where);
  assert.ok(saw.seen.every((one) => one.focus), `${where}: the title has the focus after each move`);
  asked.forEach((visit, at) => {
    const now = saw.seen[at + 1] ?? saw;
    assert.deepEqual(now.left, titles(visit.left), `${where}: causes left after ${visit.step}`);
    if (saw.seen[at].meaning === undefined) return;
    const lines = saw.seen[at].meaning.split(/\n+/);
    assert.equal(lines[0], visit.result, `${where}: what ${visit.step} means`);
    const out = visit.ruled_out.length ? `Rules out: ${titles(visit.ruled_out).join("; ")}.` : "Rules out nothing more.";
    assert.ok(lines.includes(out), `${where}: ${lines} says ${out}`);
  });
  assert.equal(saw.readings.length, trace.path.filter((visit) => visit.reading !== null).length, where);
  if (!saw.ended) { assert.equal(trace.end.kind, "needs-reading", where); return; }
  assert.match(saw.ended.title, HEADS[trace.end.kind], where);
  for (const cause of titles(trace.end.causes)) assert.ok(saw.ended.title.includes(cause), `${where}: ${saw.ended.title}`);
  if (["normal", "unproven", "refer"].includes(trace.end.kind)) assert.ok(saw.ended.text.replace(/\s+/g, " ").includes(trace.end.text.replace(/\s+/g, " ")), where);
  assert.deepEqual(saw.ended.back, trace.undo.map((one) => one.text), where);
}

/** Works all ways of a procedure on one page after the other; each address names the vehicle. */
async function workAll(data, ways) {
  const { page, context, faults } = await open(browser, disk, { viewport: { width: 820, height: 1180 }, reducedMotion: "reduce" });
  const traces = ways.map((way) => reference(data, way));
  try {
    let on;
    for (const way of [...ways].sort((a, b) => (a.vehicle < b.vehicle ? -1 : 1))) {
      if (on !== way.vehicle) await page.goto(`${disk}procedures/${data.id}.html${way.vehicle ? `?vehicle=${way.vehicle}` : ""}`);
      on = way.vehicle;
      const saw = await page.evaluate(workIt, way.moves);
      compare(data, way, saw, await traces[ways.indexOf(way)]);
    }
  } finally {
    await Promise.allSettled(traces);
    await context.close();
  }
  // A picture that is still loading when the job moves on is let go.
  assert.deepEqual(faults.filter((one) => !/^failed: .*\/figures\//.test(one)), []);
}

assert.ok(all.length > 30, "the demonstration was compiled");
for (const data of all) {
  test(`${data.id}, to each of its endings`, async () => {
    const ways = waysToEndings(engine, data);
    assert.deepEqual(endings(data).filter((end) => !ways.some((way) => way.end === end)), [], "an ending that no readings lead to");
    await workAll(data, ways.concat([randomWay(data), randomWay(data)]));
  });
}
