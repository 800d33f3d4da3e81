// Taking readings, going back and forth, passing steps over: each at three widths, from disk and from a server.

import assert from "node:assert/strict";

import { work } from "./at_work.mjs";

// Whether a box lies within the window, and above the bar.
const inWindow = (locator) => locator.evaluate((one) => {
  const box = one.getBoundingClientRect();
  return box.top >= 0 && box.bottom <= innerHeight + 0.5;
});

async function toCoil(by) {
  await by.start();
  await by.tap("always");
  await by.next();
}

async function toStrap(by) {
  await toCoil(by);
  await by.enter("50");
}

async function toBalance(by) {
  await toStrap(by);
  await by.enter("0.1");
}

async function toHose(by) {
  await toBalance(by);
  await by.box("left").fill("2");
  await by.box("right").fill("2");
  await by.next();
}

work("a wait counts down, and an action needs only Next", async (by) => {
  await by.start();
  await by.tap("always");
  assert.equal(await by.heading(), "Let the coil cool");
  assert.ok(await by.button("Next").isEnabled());
  const timer = by.job.getByRole("timer", { name: "Wait", exact: true });
  assert.equal(await timer.innerText(), "0:03");
  await by.button("Start waiting").click();
  await by.page.waitForFunction(() => /^0:0[12]$/.test(document.querySelector("[role=timer]").textContent));
  // The wait goes on where the page is loaded again.
  await by.page.reload();
  assert.match(await timer.innerText(), /^0:0[0-2]$/);
  await by.job.getByText("The wait is over.").waitFor();
  assert.equal(await timer.innerText(), "0:00");
  await by.next();
  assert.equal(await by.heading(), "Measure the coil");
});

work("a reading is typed in any unit of the quantity, with a decimal comma too", async (by) => {
  await toCoil(by);
  assert.doesNotMatch(await by.job.innerText(), /140/, "only this vehicle's limits");
  assert.ok(await by.button("Next").isDisabled());
  await by.type("0,05", "kΩ");
  assert.match(await by.meaning(), /^in spec\s+Rules out: Coil open or shorted\.\s+Left: .*Pump worn.*\s+Next: Measure across the strap\.$/s);
  assert.deepEqual(await by.list("Ruled out"), [], "nothing moves before Next");
  for (const [typed, wrong] of [["abc", /not a number/], ["5 bar", /unit/], ["-3", /never below zero/], ["1.2.3", /not a number/], ["30 000", /found “000”/]]) {
    await by.type(typed);
    assert.match(await by.meaning(), wrong);
    assert.ok(await by.button("Next").isDisabled(), typed);
  }
  await by.enter("70", "Ω");
  assert.equal(await by.heading(), "Measure across the strap");
  // The unit of the limits is offered first; the smaller one stands beside it.
  const unit = by.job.getByRole("combobox", { name: "Unit", exact: true });
  assert.equal(await unit.inputValue(), "V");
  assert.ok((await unit.getByRole("option").allInnerTexts()).includes("mV"));
  await by.type("300", "mV");
  assert.match(await by.meaning(), /^in spec\s+The strap is good/);
  await by.type("300.0000001", "mV");
  assert.match(await by.meaning(), /^above spec/);
  await by.type("-5", "mV");
  assert.match(await by.meaning(), /check the leads/);
  await by.type("250 mV", "V");
  assert.match(await by.meaning(), /^in spec/, "a unit behind the number holds");
  await by.type("0.25v");
  assert.match(await by.meaning(), /^in spec/, "however it is written");
  await by.type("2 mv");
  assert.match(await by.meaning(), /found “mv”/, "but not where it may be two");
});

work("the shop's unit comes first, and limits stand in it as well", async (by) => {
  await toHose(by);
  const unit = by.job.getByRole("combobox", { name: "Unit", exact: true });
  assert.equal(await unit.getByRole("option").first().innerText(), "kPa");
  assert.equal(await unit.inputValue(), "kPa");
  assert.match(await by.job.getByRole("table", { name: "Limits" }).innerText(), /0\.05 bar \(.*5 kPa\)/);
});

work("open circuit is a reading where it can be one", async (by) => {
  await toCoil(by);
  const open = by.job.getByRole("checkbox", { name: "Open circuit", exact: true });
  await open.check();
  assert.match(await by.meaning(), /^above spec/);
  await open.uncheck();
  assert.ok(await by.button("Next").isDisabled());
  for (const shown of ["OL", "ol", "O.L", "∞"]) {
    await by.type(shown);
    assert.match(await by.meaning(), /^above spec/, `as the meter shows it: ${shown}`);
  }
  await by.type("");
  await open.check();
  await by.next();
  assert.match(await by.heading(), /Coil open or shorted/);
  assert.match((await by.list("Readings so far"))[1], /open circuit: above spec/);
  await by.button("Back").click();
  assert.ok(await open.isChecked());
  await open.uncheck();
  await by.enter("50");
  assert.equal(await open.count(), 0, "a voltage is never an open circuit");
});

work("a worked-out reading has a box for each of its names", async (by) => {
  await toBalance(by);
  assert.equal(await by.box("Reading").count(), 0);
  await by.box("left").fill("3,0");
  assert.ok(await by.button("Next").isDisabled(), "one of two is no reading");
  assert.equal(await by.meaning(), "");
  await by.box("right").fill("2.1");
  assert.match(await by.meaning(), /^in spec/);
  await by.box("right").fill("2.09");
  assert.match(await by.meaning(), /^below spec\s+Rules out: .*\s+Left: One brake drags\.\s+This is the fault: One brake drags\.$/s);
  await by.next();
  assert.match((await by.list("Readings so far")).at(-1), /3\.0 k?N, 2\.09 k?N: below spec/);
  await by.button("Back").click();
  assert.deepEqual([await by.box("left").inputValue(), await by.box("right").inputValue()], ["3.0", "2.09"]);
});

work("a worked-out reading without names takes as many as there are", async (by) => {
  await toHose(by);
  await by.box("Reading 1").fill("100");
  await by.box("Reading 2").fill("104");
  assert.match(await by.meaning(), /^in spec/);
  await by.button("Add a reading").click();
  assert.equal(await by.box("Reading 3").evaluate((one) => one === document.activeElement), true);
  assert.match(await by.meaning(), /^in spec/, "an empty row does not count");
  await by.box("Reading 3").fill("98");
  assert.match(await by.meaning(), /^above spec/);
  await by.next();
  await by.button("Change Compare the pressures").click();
  assert.equal(await by.box("Reading 3").inputValue(), "98");
});

work("one step back, and the place to act, are in sight on every step", async (by, { width }) => {
  await by.start();
  assert.equal(await by.button("Back").count(), 0, "nothing lies behind the first step");
  assert.ok(await inWindow(by.button("Next")));
  await by.tap("always");
  for (const reading of [null, "50", "0.1"]) {
    assert.ok(await inWindow(by.button("Back")) && await inWindow(by.button("Next")), await by.heading());
    if (reading) await by.enter(reading); else await by.next();
  }
  for (const name of ["left", "right"]) await by.box(name).fill("2");
  await by.next();
  await by.button("Can't take this reading").click();
  await by.enter("0.5", "bar");
  assert.equal(await by.heading(), "Listen to the pump");
  assert.ok(await inWindow(by.button("Back")));
  // Cautions stand before the words, and nothing lies over them once they are scrolled to.
  const covered = await by.job.evaluate((job) => {
    const words = job.querySelector(".job-how");
    return [...job.querySelectorAll(".caution")].map((one) => {
      one.scrollIntoView({ block: "nearest" });
      const box = one.getBoundingClientRect();
      const seen = [[4, 4], [box.width - 4, box.height - 4]].map(([x, y]) => document.elementFromPoint(box.left + x, box.top + y));
      const first = one.compareDocumentPosition(words) & Node.DOCUMENT_POSITION_FOLLOWING;
      return one.checkVisibility() && first && seen.every((at) => one.contains(at)) ? "" : one.innerText;
    });
  });
  assert.deepEqual(covered, ["", "", ""]);
  // The words of this step are long: the way down to the radios is one tap, and it is not there when they are in sight.
  await by.page.evaluate(() => new Promise((drawn) => {
    document.getElementById("job_").scrollIntoView();
    requestAnimationFrame(() => requestAnimationFrame(drawn));
  }));
  const down = by.button("To the reading");
  assert.equal(await down.isVisible(), !(await inWindow(by.radio("it howls"))));
  assert.equal(await down.isVisible(), width < 1000, "at 390 and 820 pixels the words fill the window");
  const next = async () => { const { x, width: wide } = await by.button("Next").boundingBox(); return [x, wide]; };
  const beside = await next();
  if (width < 1000) {
    // A tap where it is: Playwright's own click may scroll first, and then it is not needed any more.
    const { x, y, width: wide, height } = await down.boundingBox();
    await by.page.mouse.click(x + wide / 2, y + height / 2);
    assert.ok(await inWindow(by.radio("it howls")));
  }
  await by.radio("it howls").check();
  await down.waitFor({ state: "hidden" });
  assert.deepEqual(await next(), beside, "a finger on Next finds it where it was, though the way down came or went");
  assert.ok(await inWindow(by.button("Back")) && await inWindow(by.button("Next")));
  assert.ok(await inWindow(by.job.getByRole("status", { name: "Meaning" })), "what it means is seen before it moves on");
  // While the lists below are read, the bar keeps to the top.
  await by.job.getByRole("list", { name: "Readings so far", exact: true }).getByRole("button").last().scrollIntoViewIfNeeded();
  assert.ok(await inWindow(by.button("Back")));
});

work("a preparation in force keeps its caution in sight on the steps after it", async (by) => {
  await toHose(by);
  assert.doesNotMatch(await by.job.innerText(), /can fall/);
  await by.button("Can't take this reading").click();
  assert.match(await by.job.innerText(), /DANGER\s+Exhaust gas[\s\S]*DANGER\s+A raised vehicle can fall/);
  await by.enter("50", "kPa");
  assert.equal(await by.heading(), "Listen to the pump");
  assert.match(await by.job.innerText(), /A raised vehicle can fall/);
  // Resumed inside the step, the cautions stand there again, before the words.
  await by.page.reload();
  assert.equal(await by.heading(), "Listen to the pump");
  const signals = await by.job.locator(".caution").evaluateAll((all) => all.map((one) => {
    const words = document.querySelector("#job_ .job-how");
    return `${one.innerText.split(/\s/)[0]} ${Boolean(one.compareDocumentPosition(words) & Node.DOCUMENT_POSITION_FOLLOWING)}`;
  }));
  assert.deepEqual(signals, ["DANGER true", "DANGER true", "WARNING true"], "the worst first, whichever of them the preparation brings");
});

work("what can't be taken goes its other way, with the reason", async (by) => {
  await toHose(by);
  const left = await by.list("Causes left");
  await by.button("Can't take this reading").click();
  assert.equal(await by.heading(), "Measure the boost");
  assert.deepEqual(await by.list("Causes left"), left, "nothing is learned");
  const why = by.box("Why “Compare the pressures” was not taken");
  await why.fill("hose not to be reached");
  await why.blur();
  await by.enter("50", "kPa");
  assert.match((await by.list("Readings so far")).at(-2), /^Compare the pressures\s+not taken: hose not to be reached/);
  await by.tap("it howls");
  await by.button("Finish").click();
  assert.match(await by.writeUp.innerText(), /Compare the pressures\s+Reason: hose not to be reached\s+not taken/);
});

work("what can't be taken and has no other way leaves what stays open", async (by) => {
  await toBalance(by);
  await by.button("Can't take this reading").click();
  assert.equal(await by.heading(), "No verdict");
  assert.match(await by.verdict.innerText(), /no other way on.*Still open: One brake drags; Air hose leaks; Pump worn/s);
  const why = by.box("Why “Compare the brakes” was not taken");
  await why.fill("rollers out of order");
  await why.blur();
  assert.equal(await by.button("Still there").count(), 0);
  assert.deepEqual(await by.verdict.getByRole("list", { name: "Put back" }).getByRole("listitem").allInnerTexts(), ["Take the blower away"]);
  await by.button("Finish").click();
  assert.match(await by.writeUp.innerText(), /No verdict[\s\S]*Reason: rollers out of order/);
  assert.equal(await by.button("Save case file").count(), 0, "there is no cause to name");
  await by.button("Back").click();
  assert.equal(await by.heading(), "Compare the brakes");
});

work("steps fall back while equipment is not at hand", async (by) => {
  await (await by.fold("Equipment at hand", "Blower")).uncheck();
  await by.start();
  await by.tap("always");
  assert.equal(await by.heading(), "Measure the coil");
  assert.match(await by.job.innerText(), /Passed over for want of equipment: Let the coil cool/);
  // Another ending than a step is not taken by itself: that the meter is missing is said.
  await (await by.fold("Equipment at hand", "Multimeter")).uncheck();
  assert.equal(await by.heading(), "Measure the coil");
  assert.match(await by.job.innerText(), /Not at hand: Multimeter/);
  await by.button("Can't take this reading").click();
  assert.match(await by.verdict.innerText(), /^Hand over\s+To a bay with a meter/);
  await by.button("Back").click();
  await (await by.fold("Equipment at hand", "Multimeter")).check();
  assert.doesNotMatch(await by.job.innerText(), /Not at hand/);
  // Going back to where it is at hand again brings the step back.
  await (await by.fold("Equipment at hand", "Blower")).check();
  assert.equal(await by.heading(), "Let the coil cool");
});
