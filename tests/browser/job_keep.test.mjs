// What a job keeps: changes, marks, notes, time; leaving and resuming it; its ending, write-up and case file.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { kb, program, work } from "./at_work.mjs";
import { outside } from "./harness.mjs";

const axe = readFileSync(outside.resolve("axe-core/axe.min.js"), "utf8");

async function toStrap(by) {
  await by.start();
  await by.tap("always");
  await by.next();
  await by.enter("50");
}

async function toBoost(by) {
  await toStrap(by);
  await by.enter("0.1");
  for (const name of ["left", "right"]) await by.box(name).fill("2");
  await by.next();
  await by.button("Can't take this reading").click();
}

// Saves the case as the author would, beside the base that the job came from, and lints it there.
async function lintCase(by) {
  const [download] = await Promise.all([by.page.waitForEvent("download"), by.button("Save case file").click()]);
  const name = download.suggestedFilename();
  assert.match(name, /^[a-z0-9-]+-\d{8}-\d{4}\.yaml$/);
  const folder = mkdtempSync(join(tmpdir(), "kb-"));
  try {
    cpSync(kb, folder, { recursive: true });
    const file = join(folder, "cases", name);
    await download.saveAs(file);
    const told = JSON.parse(execFileSync(program, ["lint", folder, "--format", "json"], { encoding: "utf8" }));
    assert.deepEqual([told.summary.errors, told.summary.warnings], [0, 0], JSON.stringify(told.findings));
    assert.ok(!told.findings.some((one) => /cases\//.test(one.file)));
    return readFileSync(file, "utf8");
  } finally {
    rmSync(folder, { recursive: true });
  }
}

work("an earlier reading can be changed, and what that changes is said by title", async (by) => {
  await toBoost(by);
  await by.button("Change Measure across the strap").click();
  assert.equal(await by.heading(), "Measure across the strap");
  assert.equal(await by.box("Reading").inputValue(), "0.1");
  assert.deepEqual(await by.list("Ruled out"), ["Coil open or shorted"], "what was known when it was taken");
  await by.type("0,2");
  assert.match(await by.meaning(), /Next: Compare the brakes/);
  await by.next();
  assert.match(await by.status("What changed"), /“Measure across the strap” was 0\.1 V \(in spec\), is now 0\.2 V \(in spec\)\.\s+All other readings still count\./);
  assert.equal(await by.heading(), "Measure the boost");
  await by.button("Change Measure across the strap").click();
  await by.enter("400", "mV");
  assert.match(await by.status("What changed"), /is now 400 mV \(above spec\)\.\s+No longer counts: Compare the brakes; Compare the pressures\./);
  assert.match(await by.heading(), /Ground strap corroded/);
  // One step back out of a change leaves all as it was.
  await by.button("Change When is it weak?").click();
  await by.button("Back").click();
  assert.match(await by.heading(), /Ground strap corroded/);
});

work("causes already ruled out are not left, and nothing else is learned from it", async (by) => {
  await (await by.fold("Already ruled out", "One brake drags")).check();
  await by.start();
  assert.deepEqual(await by.list("Ruled out"), ["One brake drags"]);
  assert.equal((await by.list("Causes left")).length, 4);
  await by.tap("always");
  await by.next();
  await by.enter("50");
  await by.enter("0.1");
  await by.box("left").fill("2");
  await by.box("right").fill("1");
  assert.match(await by.meaning(), /Left: One brake drags/, "a result that shows it brings it back");
  await by.next();
  assert.match(await by.verdict.innerText(), /Marked as already ruled out: One brake drags/);
});

work("a part that was renewed recently is noted, and counts for nothing", async (by) => {
  const plain = by.page.getByRole("checkbox", { name: "Pump worn" });
  await (await by.fold("Part recently renewed", /^Pump, against: Pump worn$|^Pump, HV-1, against: Pump worn$/, "switch")).check();
  assert.equal(await plain.count(), 0, "not to be mistaken for what is ruled out");
  await toBoost(by);
  assert.ok((await by.list("Causes left")).includes("Pump worn"), "its title and nothing else");
  assert.match(await by.job.innerText(), /Part renewed recently: Pump worn\. Renewed recently is not proof/);
  await by.enter("50", "kPa");
  await by.tap("it howls");
  assert.match(await by.heading(), /This is the fault: Pump worn/);
  assert.match(await by.verdict.innerText(), /Renewed recently is not proof/);
  await by.button("Finish").click();
  assert.match(await by.writeUp.innerText(), /Part renewed recently: Pump worn/);
  assert.match(await lintCase(by), /\ncause: pump\nminutes: 1\nnote: ".*Renewed recently is not proof/);
});

work("notes, fields and a half-typed reading ride in the link, and open as they are in a clean browser", async (by, { elsewhere }) => {
  await by.start();
  await by.box("Note").fill("driver says: since Monday ✓");
  await by.tap("always");
  await by.next();
  await by.box("coil temperature").fill("21 °C");
  await by.box("Note").fill("connector green inside");
  await by.enter("50");
  await by.type("0,1");
  await by.box("Note").fill("cable warm");
  await by.box("Note").blur();
  const other = await elsewhere(await by.link());
  assert.equal(await other.heading(), "Measure across the strap");
  assert.equal(await other.box("Reading").inputValue(), "0.1");
  assert.equal(await other.box("Note").inputValue(), "cable warm");
  assert.match(await other.meaning(), /^in spec/);
  assert.equal(await other.page.getByLabel("Vehicle", { exact: true }).inputValue(), "orlo-t2");
  for (const name of ["Causes left", "Ruled out", "Readings so far"]) assert.deepEqual(await other.list(name), await by.list(name));
  await other.button("Change Measure the coil").click();
  assert.equal(await other.box("coil temperature").inputValue(), "21 °C");
  assert.equal(await other.box("Note").inputValue(), "connector green inside");
  await other.button("Back").click();
  await other.type("0.9");
  await other.next();
  await other.box("Note on the job").fill("strap remade");
  await other.button("Finish").click();
  const text = await other.writeUp.innerText();
  for (const line of [/Note: driver says: since Monday ✓/, /coil temperature: 21 °C/, /Note: connector green inside/, /Note: cable warm/, /Note: strap remade/, /With: Multimeter/]) assert.match(text, line);
  assert.match(await lintCase(other), /note: ".*since Monday ✓.*coil temperature: 21 °C.*strap remade"/);
});

work("a job is left and resumed: by loading again, from the list of open jobs, beside another one", async (by, { home }) => {
  await toStrap(by);
  await by.page.reload();
  assert.equal(await by.heading(), "Measure across the strap");
  assert.equal(await by.page.evaluate(() => document.activeElement.textContent), "Measure across the strap");
  await by.page.goto(home + "procedures/wet-ignition.html?vehicle=fell-12");
  await by.start();
  await by.tap("it runs on");
  await by.page.goto(home + "index.html");
  const open = by.page.getByRole("region", { name: "Open jobs", exact: true });
  assert.equal(await open.getByRole("link").count(), 2);
  await open.getByRole("link", { name: /Engine is weak/ }).click();
  assert.equal(await by.heading(), "Measure across the strap");
  assert.equal(await by.page.getByLabel("Vehicle", { exact: true }).inputValue(), "orlo-t2");
  assert.equal((await by.list("Readings so far")).length, 2);
  await by.enter("0.9");
  await by.button("Finish").click();
  await by.page.goto(home + "index.html");
  assert.equal(await open.getByRole("link").count(), 1, "a finished job is not open");
  assert.match(await open.getByRole("link").innerText(), /Engine weak in the wet.*Fell 12 gritter/);
});

work("what is being typed when the page is left is still there", async (by, { home }) => {
  await toStrap(by);
  await by.box("Reading").pressSequentially("0,3");
  await by.page.goto(home + "index.html");
  await by.page.getByRole("region", { name: "Open jobs", exact: true }).getByRole("link").click();
  assert.equal(await by.heading(), "Measure across the strap");
  assert.equal(await by.box("Reading").inputValue(), "0.3");
});

// A job as the base was when it was left: a step and a cause that are gone since, and a vehicle of another name.
const older = (vehicle) => ({
  procedure: "engine-weak", vehicle, out: ["old-cause"],
  entries: [{ step: "ask", reading: "always" }, { step: "cool" }, { step: "old-step", reading: "3 V" }, { step: "coil", reading: "50 Ω" }],
});
const address = (home, job) => `${home}procedures/engine-weak.html#job=${Buffer.from(JSON.stringify(job)).toString("base64url")}`;

work("a job from before a change of the procedure says which readings no longer count", async (by, { home, elsewhere }) => {
  const other = await elsewhere(address(home, older("brindle-18")));
  assert.equal(await other.heading(), "Measure across the strap");
  assert.match(await other.status("What changed"), /changed since the job was left\. No longer counts: old-step \(3 V\)\. No longer on the list of causes: old-cause\./);
  await other.page.reload();
  assert.equal(await other.status("What changed"), "", "told once");
});

work("a job whose vehicle is gone asks for it, and keeps its readings", async (by, { home, elsewhere }) => {
  await by.page.goto("about:blank");
  const other = await elsewhere(address(home, older("orlo-t1")).replace("#", "?vehicle=fell-12#"));
  assert.equal(await other.heading(), "Which vehicle?", "never another vehicle in silence");
  assert.match(await other.job.innerText(), /The vehicle of this job, “orlo-t1”, is not among those of this procedure any more/);
  await other.button("Orlo T2 van").click();
  assert.equal(await other.heading(), "Measure across the strap");
  assert.equal((await other.list("Readings so far")).length, 2);
});

work("where the vehicle is asked for, the choice at the top of the page answers too", async (by) => {
  await by.start();
  assert.equal(await by.heading(), "Which vehicle?");
  await by.page.getByRole("combobox", { name: "Vehicle", exact: true }).selectOption("fell-12");
  assert.equal(await by.heading(), "When is it weak?");
  assert.match(await by.job.innerText(), /Step 1, Fell 12 gritter/);
}, { page: "procedures/engine-weak.html" });

work("a job goes to the next shift as a file", async (by, { home, elsewhere }) => {
  await toStrap(by);
  const [download] = await Promise.all([by.page.waitForEvent("download"), by.page.getByRole("button", { name: "Save job file", exact: true }).click()]);
  assert.match(download.suggestedFilename(), /^engine-weak-\d{8}-\d{4}\.json$/);
  const other = await elsewhere(home + "index.html");
  const file = other.page.getByLabel("Open a job file");
  await file.setInputFiles({ name: "other.json", mimeType: "application/json", buffer: Buffer.from("{}") });
  await other.page.getByText("This is not a job file.", { exact: true }).waitFor();
  const gone = { procedure: "no-such-procedure", entries: [] };
  await file.setInputFiles({ name: "gone.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(gone)) });
  await other.page.getByText(/^This base has no procedure “no-such-procedure”/).waitFor();
  other.faults.splice(0); // the browser's own word on a file that isn't there
  await file.setInputFiles(await download.path());
  await other.job.waitFor();
  assert.equal(await other.heading(), "Measure across the strap");
  assert.deepEqual(await other.list("Readings so far"), await by.list("Readings so far"));
});

work("the verdict says why, what to put back, the repair with its cautions, and how it is confirmed", async (by) => {
  await by.start();
  await by.tap("always");
  await by.next();
  await by.enter("10");
  assert.match(await by.heading(), /This is the fault: Coil open or shorted/);
  const text = await by.verdict.innerText();
  assert.match(text, /Shown at “Measure the coil”: below spec/);
  assert.deepEqual(await by.verdict.getByRole("list", { name: "Put back", exact: true }).getByRole("listitem").allInnerTexts(), ["Take the blower away"]);
  assert.match(text, /WARNING\s+The coil is hot[\s\S]*Renew the coil[\s\S]*Takes: Multimeter, 20 min[\s\S]*Afterwards: Refit the coil cover/);
  // What the procedure asks for and what the repair asks for add up; of two trips the larger counts.
  assert.deepEqual(await by.verdict.getByRole("list", { name: "Confirm the repair", exact: true }).getByRole("listitem").allInnerTexts(), [
    "Measure the boost: in spec", "Measure the coil: in spec", "Clear the fault codes: P0562.", "Drive 2 trips and read the codes again.",
    "The monitor of P0562 runs: engine running for 60 s",
  ]);
  await by.button("Finish").click();
  for (const part of ["Complaint", "Cause", "Correction"]) assert.equal(await by.writeUp.getByRole("heading", { name: part, exact: true }).count(), 1);
  assert.match(await by.writeUp.innerText(), /Measure the coil\s+With: Multimeter\s+10 Ω\s+30 to 70 ohm\s+below spec/);
  assert.match(await by.writeUp.innerText(), /Put back: Take the blower away[\s\S]*Confirm: Measure the coil: in spec/);
  assert.match(await lintCase(by), /^procedure: engine-weak\nvehicle: orlo-t2\nreadings:\n {2}ask: "always"\n {2}coil: "10 Ω"\ncause: coil-bad\nminutes: 1\n$/);
});

work("still there: the job goes on with that cause ruled out, and the write-up tells both", async (by) => {
  await toStrap(by);
  await by.enter("0.9");
  await by.button("Still there").click();
  assert.equal(await by.heading(), "When is it weak?");
  assert.match(await by.status("What changed"), /Ruled out now: Ground strap corroded/);
  assert.deepEqual(await by.list("Ruled out"), ["Ground strap corroded"]);
  assert.equal((await by.list("Readings so far")).length, 0);
  // Hit by mistake: one step back, and the verdict stands again with its readings.
  await by.button("Back").click();
  assert.match(await by.heading(), /Ground strap corroded/);
  assert.equal((await by.list("Readings so far")).length, 3);
  assert.ok(!(await by.list("Ruled out")).includes("Ground strap corroded"));
  await by.button("Still there").click();
  await by.tap("always");
  await by.next();
  await by.enter("900");
  await by.button("Finish").click();
  const text = await by.writeUp.innerText();
  assert.match(text, /Repaired before, and still there: Ground strap corroded/);
  assert.match(text, /Readings before the first repair[\s\S]*0\.9 V[\s\S]*Readings\s[\s\S]*900 Ω/);
  assert.match(await lintCase(by), /coil: "900 Ω"\ncause: coil-bad/);
});

work("where several causes are left, the one that was found is picked", async (by) => {
  await (await by.fold("Equipment at hand", "Blower")).uncheck();
  await toBoostPassed(by);
  await by.enter("50", "kPa");
  await by.tap("it is quiet");
  assert.equal(await by.heading(), "Can't tell apart: Air hose leaks, Pump worn");
  await by.button("Finish").click();
  assert.ok(await by.button("Save case file").isDisabled());
  const group = by.page.getByRole("radiogroup", { name: "Cause found", exact: true });
  await group.getByRole("radio", { name: "Air hose leaks", exact: true }).check();
  const saved = await lintCase(by);
  assert.match(saved, /\n {2}cool: "not taken"\n/, "an action that was passed over");
  assert.match(saved, /\n {2}hose: "not taken"\n/);
  assert.match(saved, /\ncause: leak\n/);
});

async function toBoostPassed(by) {
  await by.start();
  await by.tap("always");
  await by.enter("50");
  await by.enter("0.1");
  for (const name of ["left", "right"]) await by.box(name).fill("2");
  await by.next();
  await by.button("Can't take this reading").click();
}

work("a jump goes on as a new job, the vehicle and the equipment kept", async (by) => {
  await by.page.goto(by.page.url().replace("engine-weak", "wet-ignition"));
  await (await by.fold("Equipment at hand", "Oscilloscope")).uncheck();
  await by.page.goto(by.page.url().replace("wet-ignition", "engine-weak").replace(/#.*/, ""));
  await (await by.fold("Equipment at hand", "Blower")).uncheck();
  await by.start();
  await by.tap("only in the wet");
  assert.equal(await by.heading(), "Go on with another procedure");
  await by.verdict.getByRole("link", { name: "Go on with Engine weak in the wet", exact: true }).click();
  await by.page.waitForURL(/wet-ignition\.html\?vehicle=orlo-t2#job=/);
  assert.equal(await by.heading(), "Spray");
  assert.ok(!(await (await by.fold("Equipment at hand", "Oscilloscope")).isChecked()));
  await by.tap("it runs on");
  assert.equal(await by.heading(), "Look at the cap", "one of two alternatives is at hand");
  await (await by.fold("Equipment at hand", "Graphing meter")).uncheck();
  assert.match(await by.job.innerText(), /Not at hand: Oscilloscope or Graphing meter/);
});

work("the time spent runs, stands still in a pause and while nobody is there, and can be corrected", async (by) => {
  await by.page.clock.install({ time: new Date("2031-05-04T08:00:00") });
  await by.page.reload();
  const box = by.box("Minutes spent");
  await by.start();
  await by.page.clock.fastForward("12:00");
  await by.tap("always");
  assert.equal(await box.inputValue(), "12");
  await by.button("Pause").click();
  await by.page.clock.fastForward("30:00");
  await by.button("Go on").click();
  await by.page.clock.fastForward("03:00");
  await by.next();
  assert.equal(await box.inputValue(), "15");
  // Two days later.
  await by.page.clock.fastForward("48:00:00");
  await by.page.reload();
  assert.match(await by.page.getByText("left alone for a while").innerText(), /does not count/);
  assert.ok(Number(await box.inputValue()) <= 16);
  await box.fill("40");
  await box.blur();
  await by.page.clock.fastForward("02:00");
  await by.enter("10");
  await by.button("Finish").click();
  assert.match(await by.writeUp.innerText(), /Time spent: 42 minutes/);
  await box.fill("45");
  await box.blur();
  assert.match(await by.writeUp.innerText(), /Time spent: 45 minutes/);
  assert.match(await lintCase(by), /\nminutes: 45\n/);
}, { windows: [[390, 844, "disk"], [820, 1180, "server"]] });

work("the write-up is copied, and printed alone", async (by) => {
  await toStrap(by);
  await by.enter("0.9");
  await by.button("Finish").click();
  await by.button("Copy write-up").click();
  await by.job.getByText("Copied.").waitFor();
  await by.page.emulateMedia({ media: "print" });
  const printed = await by.page.evaluate(() => document.body.innerText);
  assert.match(printed, /Complaint[\s\S]*Cause[\s\S]*Correction[\s\S]*Readings/);
  assert.doesNotMatch(printed, /The plan|Start job|Copy write-up|Causes left|Minutes spent/);
}, { windows: [[820, 1180, "server"], [1440, 900, "disk"]] });

for (const colorScheme of ["light", "dark"]) {
  work(`every part of a job is accessible, ${colorScheme}`, async (by) => {
    const { page } = by;
    async function check(where) {
      await page.evaluate(axe);
      const found = await page.evaluate(async () => (await axe.run("#job_place_", { preload: false })).violations.map((one) => `${one.id}: ${one.nodes[0].html}`));
      assert.deepEqual(found, [], where);
      const small = await page.evaluate(() => [...document.querySelectorAll("#job_place_ :is(button, input, select, summary)")]
        .filter((one) => one.checkVisibility()).map((one) => [(one.closest("label") ?? one).getBoundingClientRect(), one.outerHTML])
        .filter(([box]) => box.height < 43.5 || box.width < 43.5).map(([, html]) => html));
      assert.deepEqual(small, [], where);
    }
    await (await by.fold("Part recently renewed", /Pump worn/, "switch")).check();
    await by.fold("Equipment at hand", "Blower");
    await by.start();
    await check("labels");
    await by.tap("always");
    await check("an action with a wait");
    await by.next();
    await by.type("abc");
    await check("a wrong reading");
    await by.enter("50");
    await by.enter("0.1");
    await by.button("Can't take this reading").click();
    await check("no verdict");
    await by.button("Back").click();
    for (const name of ["left", "right"]) await by.box(name).fill("2");
    await check("a worked-out reading");
    await by.next();
    await by.button("Can't take this reading").click();
    await check("after a reading that was not taken");
    await by.enter("50", "kPa");
    await by.tap("it is quiet");
    await check("a verdict");
    await by.button("Finish").click();
    await check("a write-up with causes to pick from");
  }, { windows: colorScheme === "dark" ? [[390, 844, "disk"]] : [[820, 1180, "server"]], context: { bypassCSP: true, colorScheme } });
}
