// A whole job with the keyboard alone: the title has the focus after each move, arrows choose, Enter goes on.

import assert from "node:assert/strict";

import { work } from "./at_work.mjs";

work("a whole job by keyboard", async (by) => {
  const { page } = by;
  const keys = page.keyboard;
  const focused = () => page.evaluate(() => document.activeElement.textContent);
  // Tabs on until the wanted thing has the focus; all that is passed on the way must be seen to have it, and not lie under the bar.
  async function reach(wanted, most = 80) {
    for (let at = 0; at < most; at += 1) {
      if (await wanted.evaluate((one) => one === document.activeElement)) return;
      await keys.press("Tab");
      const hidden = await page.evaluate(() => {
        const one = document.activeElement;
        const bar = document.querySelector(".job-actions");
        if (!one.closest("#job_") || bar.contains(one)) return "";
        const box = one.getBoundingClientRect();
        const over = bar.getBoundingClientRect();
        return box.bottom <= over.top + 1 || box.top >= over.bottom - 1 ? "" : one.outerHTML.slice(0, 90);
      });
      assert.equal(hidden, "", "the bar lies over what has the focus");
    }
    assert.fail(`the keyboard does not reach ${wanted}`);
  }
  await reach(page.getByRole("button", { name: "Start job", exact: true }));
  await keys.press("Enter");
  assert.equal(await focused(), "When is it weak?");
  await reach(by.radio("always"));
  await keys.press("Space");
  await keys.press("ArrowDown");
  assert.ok(await by.radio("only in the wet").isChecked());
  assert.match(await by.meaning(), /Go on with Engine weak in the wet/);
  await keys.press("ArrowUp");
  assert.match(await by.meaning(), /^always/);
  await keys.press("Enter");
  assert.equal(await focused(), "Let the coil cool");
  await reach(by.button("Next"));
  await keys.press("Enter");
  assert.equal(await focused(), "Measure the coil");
  await reach(by.box("Reading"));
  await keys.type("0,05");
  const unit = by.job.getByRole("combobox", { name: "Unit", exact: true });
  await reach(unit);
  for (let most = 0; most < 6 && (await unit.inputValue()) !== "kΩ"; most += 1) await keys.press("ArrowDown");
  assert.match(await by.meaning(), /^in spec/);
  await reach(by.box("coil temperature"));
  await keys.type("21 °C");
  await keys.press("Enter");
  assert.equal(await focused(), "Measure across the strap");
  // One step back, and forth again with what was typed.
  await reach(by.button("Back"));
  await keys.press("Enter");
  assert.equal(await focused(), "Measure the coil");
  assert.deepEqual([await by.box("Reading").inputValue(), await by.box("coil temperature").inputValue()], ["0.05", "21 °C"]);
  await reach(by.button("Next"));
  await keys.press("Enter");
  await reach(by.box("Reading"));
  await keys.type("-0.1");
  await keys.press("Enter");
  assert.equal(await by.heading(), "Measure across the strap", "Enter does not get past what is wrong");
  await keys.press("Control+a");
  await keys.type("0.1");
  await keys.press("Enter");
  assert.equal(await focused(), "Compare the brakes");
  await reach(by.box("left"));
  await keys.type("2");
  await keys.press("Tab");
  await keys.type("2");
  await keys.press("Enter");
  assert.equal(await focused(), "Compare the pressures");
  await reach(by.button("Can't take this reading"));
  await keys.press("Enter");
  assert.equal(await focused(), "Measure the boost");
  await reach(by.button("Change Measure across the strap"));
  await keys.press("Enter");
  assert.equal(await focused(), "Measure across the strap");
  await reach(by.box("Reading"));
  await keys.press("Control+a");
  await keys.type("0.9");
  await keys.press("Enter");
  assert.equal(await focused(), "This is the fault: Ground strap corroded");
  await reach(by.button("Finish"));
  await keys.press("Enter");
  assert.equal(await focused(), "Complaint");
  await reach(by.button("Save case file"));
  const [download] = await Promise.all([page.waitForEvent("download"), keys.press("Enter")]);
  assert.match(download.suggestedFilename(), /^engine-weak-.*\.yaml$/);
});
