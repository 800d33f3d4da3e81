// The page's thinking against `ruleout trace`, the reference: every solved case of the demonstration, and random readings on every
// class of vehicles of every procedure. Wants RULEOUT_SITE, a compiled demonstration; RULEOUT names the program.
import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { test } from "node:test";
import { promisify } from "node:util";

const root = path.join(import.meta.dirname, "../..");
const program = process.env.RULEOUT ?? ["release", "debug"].map((kind) => path.join(root, "target", kind, "ruleout")).find(fs.existsSync);
const { engine, jobs: load } = createRequire(import.meta.url)("../site/load-job.cjs");
const { engine: think, numbers } = engine();
const site = process.env.RULEOUT_SITE ?? path.join(root, "site-out");
const jobs = load(site);
const run = promisify(execFile);

async function reference(procedure, vehicle, readings) {
  const args = ["trace", procedure, "--kb", path.join(root, "kb"), "--vehicle", vehicle, "--format", "json"];
  for (const [step, list] of Object.entries(readings)) for (const one of list) args.push("--reading", `${step}=${one}`);
  const { stdout } = await run(program, args);
  return JSON.parse(stdout);
}

// From another realm and back: plain values only.
const plain = (value) => JSON.parse(JSON.stringify(value));

async function agree(procedure, vehicle, readings) {
  const ours = plain(think.trace(jobs[procedure], vehicle, readings));
  assert.deepEqual(ours, await reference(procedure, vehicle, readings), `${procedure} on ${vehicle}: ${JSON.stringify(readings)}`);
  return ours;
}

async function inTurn(list, check) {
  const waiting = list.slice();
  const worker = async () => { while (waiting.length) await check(waiting.pop()); };
  await Promise.all([worker(), worker()]);
}

// A case file's text, as far as the demonstration's are written: block mappings, one reading or a flow list.
function readCase(text) {
  const read = { readings: {} };
  const bare = (value) => value.trim().replace(/^"(.*)"$/, "$1");
  for (const line of text.split("\n")) {
    const reading = /^  ([a-z0-9-]+): *(.+)$/.exec(line);
    const key = /^(procedure|vehicle|cause): *(.+)$/.exec(line);
    if (reading) {
      const list = /^\[(.*)\]$/.exec(reading[2]);
      read.readings[reading[1]] = list ? list[1].match(/\s*"[^"]*"|[^,]+/g).filter((one) => one.trim()).map(bare) : [bare(reading[2])];
    } else if (key) {
      read[key[1]] = bare(key[2]);
    }
  }
  return read;
}

const folder = path.join(root, "kb/cases");
const cases = fs.readdirSync(folder).map((name) => readCase(fs.readFileSync(path.join(folder, name), "utf8")));

test("every solved case ends in the page as it does in the compiler", async () => {
  assert.ok(cases.length > 100);
  await inTurn(cases, async ({ procedure, vehicle, readings, cause }) => {
    const ours = await agree(procedure, vehicle, readings);
    assert.ok(cause === "no-fault" ? ours.end.kind === "normal" : ours.end.causes.includes(cause), `${procedure}: ${cause}`);
  });
});

// A small generator with a fixed seed, so that a failure can be repeated.
let seed = 20260713;
function random(below) {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return Math.floor((seed / 2 ** 32) * below);
}

// A reading close to the edges of what the step tells apart, in a random unit, as a decimal of a few digits.
function reading(data, group, at) {
  const step = data.steps[at];
  const meeting = group.meets[at];
  if (step.without && random(12) === 0) return "not taken";
  if (meeting.is === "blind" || step.kind === "observe") return step.results[random(step.results.length)].text;
  const quantity = data.quantities[step.quantity];
  const cells = group.keys[meeting.key].cells;
  const cell = cells[random(cells.length)];
  if (cell === null) return "open circuit";
  const units = quantity.units;
  const unit = units.find((one) => one.symbol === step.unit) ?? units[0];
  const inUnit = (edge) => {
    const value = numbers.over(numbers.minus(numbers.exact(edge[0]), numbers.exact(unit.add)), numbers.exact(unit.factor));
    return Number(value.top) / Number(value.bottom);
  };
  const [low, high] = cell.map((edge) => edge && inUnit(edge));
  const from = low ?? (high ?? 0) - 5;
  const to = high ?? (low ?? 0) + 5;
  const value = quantity.whole ? Math.ceil(from) : [from, to, (from + to) / 2][random(3)];
  return `${Number(value.toFixed(4))} ${unit.symbol}`.trim();
}

test("random readings take the same way in the page and in the compiler", async () => {
  const walks = [];
  const ends = new Set();
  const procedures = Object.values(jobs);
  assert.ok(procedures.length > 30);
  for (const data of procedures) {
    for (let turn = 0; turn < 5; turn += 1) {
      const group = data.classes[turn % data.classes.length];
      const vehicle = group.vehicles[random(group.vehicles.length)];
      const readings = {};
      for (let most = 0; most < 40; most += 1) {
        const now = think.trace(data, vehicle, readings);
        if (now.wrong) throw new Error(`${data.id}: ${now.wrong}`);
        const before = (readings[now.end.step] ?? []).length;
        if (now.end.kind !== "needs-reading" || readings[now.end.step]?.at(-1) === "not taken" || random(25) === 0) break;
        const typed = reading(data, group, think.stepAt(data, now.end.step));
        (readings[now.end.step] ??= []).push(typed);
        const wrong = think.trace(data, vehicle, readings).wrong;
        if (wrong) { readings[now.end.step].length = before; break; }
      }
      walks.push({ procedure: data.id, vehicle, readings });
    }
  }
  await inTurn(walks, async ({ procedure, vehicle, readings }) => {
    ends.add((await agree(procedure, vehicle, readings)).end.kind);
  });
  for (const kind of ["shows", "found", "refer", "needs-reading"]) assert.ok(ends.has(kind), `no walk ended in ${kind}`);
});

test("end points are exact", () => {
  const { dc_voltage: volts } = { dc_voltage: { units: [{ symbol: "V", factor: "1", add: "0" }, { symbol: "mV", factor: "1/1000", add: "0" }] } };
  const amount = (text) => numbers.amount(text, volts).value;
  assert.equal(numbers.compare(numbers.add(amount("0,1 V"), amount("200 mV")), amount("0.3 V")), 0);
  assert.equal(numbers.compare(amount("0.3000000000000000001 V"), amount("300 mV")), 1);
  assert.match(numbers.amount("3 bar", volts).wrong, /V, mV/);
  assert.equal(numbers.tidy("−12,40"), "-12.40");
  assert.equal(numbers.tidy("1 2"), null);
});
