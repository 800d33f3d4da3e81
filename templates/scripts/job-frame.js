/* The frame that a job is shown in: the region Job with its statuses, form, bar and lists. It holds no job. */
"use strict";
Ruleout.frame = function (place, spent, act) {
  var make = Ruleout.make;
  var part = {};
  part.changed = make("div", { role: "status", "aria-label": "What changed", class: "job-changed" });
  part.meaning = make("div", { role: "status", "aria-label": "Meaning", class: "job-meaning" });
  part.head = make("div", { class: "job-head" });
  part.how = make("div", { class: "job-how" });
  part.take = make("div");
  part.more = make("div", { class: "job-more" });
  part.form = make("form", { id: "job_form_", novalidate: true, on: {
    submit: function (event) { event.preventDefault(); act.next(); }, change: act.drafted, input: act.typed
  } }, [part.head, make("div", { class: "job-columns" }, [part.how, make("div", { class: "job-take" }, [part.take, part.meaning, part.more])])]);
  part.end = make("div");
  part.next = make("button", { type: "submit", form: "job_form_", class: "main", text: "Next" });
  part.back = make("button", { type: "button", text: "Back", on: { click: act.back } });
  part.down = make("button", { type: "button", class: "quiet", text: "To the reading", on: { click: down } });
  part.bar = make("div", { class: "job-actions" }, [part.back, part.next, part.down]);
  part.lists = make("div", { class: "job-lists" });
  part.job = make("section", { "aria-label": "Job", id: "job_", class: "job", hidden: true }, [part.changed, part.form, part.end, part.bar, part.lists, spent]);

  function lines(status, texts) {
    texts.forEach(function (text) { status.appendChild(make("p", { text: text })); });
  }

  /* Empties all but what was said to have changed. */
  part.clear = function () {
    [part.head, part.how, part.take, part.more, part.meaning, part.end, part.lists].forEach(function (one) { one.textContent = ""; });
  };

  /* Says what changed. */
  part.say = function (texts) {
    part.changed.textContent = "";
    lines(part.changed, texts);
  };

  /* Says what a reading means: { wrong, reads, lines }, or nothing while there is none. */
  part.mean = function (means) {
    part.meaning.textContent = "";
    part.meaning.className = means && means.wrong ? "job-meaning wrong" : "job-meaning";
    if (!means) { return; }
    if (means.reads) { part.meaning.appendChild(make("p", { class: "if", text: means.reads })); }
    lines(part.meaning, means.lines);
    /* Not behind the bar. */
    if (part.take.contains(document.activeElement)) { part.meaning.scrollIntoView({ block: "nearest" }); }
  };

  /* The title has the focus after each move, and the job begins at the top of the window. */
  part.focus = function () {
    var first = part.job.querySelector("h2");
    if (first) { first.focus({ preventScroll: true }); part.job.scrollIntoView({ block: "start" }); }
  };

  /* Offers the way down while the place to type or tap is out of sight. */
  part.look = function () {
    var first = !part.form.hidden && part.take.querySelector("input, button");
    var box = first && first.getBoundingClientRect();
    part.down.classList.toggle("away", !first || (box.top >= 0 && box.bottom < part.bar.getBoundingClientRect().top));
  };

  function down() {
    var first = part.take.querySelector("input, button");
    if (first) { first.focus({ preventScroll: true }); part.take.scrollIntoView({ block: "start" }); }
  }

  place.appendChild(part.job);
  window.addEventListener("scroll", part.look, { passive: true });
  window.addEventListener("resize", part.look);
  return part;
};
