/* One step of a job: title, cautions, how to do it, limits of this vehicle, timer, boxes. It decides nothing. */
"use strict";
Ruleout.step = (function () {
  var make = Ruleout.make;
  var engine = Ruleout.engine;
  var account = Ruleout.account;

  var SIGNALS = ["danger", "warning", "caution", "notice"];

  function signal(item) {
    return SIGNALS.findIndex(function (one) { return item.classList.contains(one); });
  }

  /* Cautions of the step, as the page has them, and those of preparations that are still in force: the worst first. */
  function dangers(data, article, state, step) {
    var own = article && article.querySelector(".cautions");
    var items = own ? Array.prototype.slice.call(own.cloneNode(true).children) : [];
    var said = items.map(function (one) { return one.querySelector(".caution-text").textContent; });
    data.setups.forEach(function (setup) {
      if (state.inForce.indexOf(setup.id) < 0 || step.setup.indexOf(setup.id) >= 0) { return; }
      var more = setup.cautions.filter(function (one) { return said.indexOf(one.text) < 0; });
      said = said.concat(more.map(function (one) { return one.text; }));
      items = items.concat(Array.prototype.slice.call(Ruleout.cautions(more).children));
    });
    items.sort(function (a, b) { return signal(a) - signal(b); });
    return items.length ? make("ul", { class: "cautions" }, items) : null;
  }

  /* The page's words on how to do it. */
  function how(article) {
    var found = article && article.querySelector(".step-how");
    if (!found) { return null; }
    var copy = found.cloneNode(true);
    Array.prototype.forEach.call(copy.querySelectorAll("[id]"), function (one) { one.removeAttribute("id"); });
    return copy;
  }

  function limits(step, meeting) {
    if (step.kind !== "measure") { return null; }
    if (meeting.is === "blind") { return make("p", { class: "note", text: "The limit for this vehicle is not known yet: use the maker's information." }); }
    var rows = step.results.map(function (result, at) {
      if (!meeting.takes[at].length) { return null; }
      return make("tr", {}, [make("th", { scope: "row", text: result.text }), make("td", { text: meeting.words[at] })]);
    });
    return make("table", { class: "job-limits", "aria-label": "Limits" }, [
      make("thead", {}, [make("tr", {}, [make("th", { scope: "col", text: "Result" }), make("th", { scope: "col", text: "Reading" })])]), make("tbody", {}, rows)
    ]);
  }

  function lacking(data, job, step) {
    var sets = engine.lacks(step, job.lacking);
    if (!sets.length) { return null; }
    var names = sets.map(function (any) {
      return any.map(function (id) { return data.equipment.find(function (one) { return one.id === id; }).title; }).join(" or ");
    });
    return make("p", { class: "not-for", text: "Not at hand: " + names.join("; ") + "." });
  }

  /* Steps that were passed over on the way here. */
  function passed(data, state) {
    var steps = [];
    for (var at = state.path.length - 1; at >= 0 && !state.path[at].entry; at -= 1) {
      if (state.path[at].passed) { steps.unshift(account.stepTitle(data, state.path[at].step)); }
    }
    return steps.length ? make("p", { class: "note", text: "Passed over for want of equipment: " + steps.join("; ") + "." }) : null;
  }

  function clock(seconds) {
    var left = Math.max(0, Math.ceil(seconds));
    return Math.floor(left / 60) + ":" + (left % 60 < 10 ? "0" : "") + left % 60;
  }

  /* The timer of a step with a wait: { element, stop }. `job.wait` says until when. */
  function timer(job, step, began) {
    if (!step.wait) { return { element: null, stop: function () {} }; }
    var ticking = 0;
    var face = make("span", { role: "timer", "aria-label": "Wait", text: clock(step.wait * 60) });
    var done = make("span", { role: "status", class: "note" });
    function tick() {
      var left = (job.wait.until - Date.now()) / 1000;
      face.textContent = clock(left);
      if (left <= 0) { window.clearInterval(ticking); done.textContent = "The wait is over."; }
    }
    function run() {
      window.clearInterval(ticking);
      ticking = window.setInterval(tick, 500);
      tick();
    }
    var button = make("button", { type: "button", text: "Start waiting", on: { click: function () {
      job.wait = { step: step.id, until: Date.now() + step.wait * 60000 };
      done.textContent = "";
      began();
      run();
    } } });
    if (job.wait && job.wait.step === step.id) { run(); }
    return {
      element: make("div", { class: "job-wait" }, [make("span", { class: "job-label", text: "Wait" }), face, button, done]),
      stop: function () { window.clearInterval(ticking); }
    };
  }

  /* What a reading means: { lines, wrong, reads } before anything moves; nothing while there is no reading. */
  function meaning(data, job, state, entry) {
    var entered = entry.reading ? engine.enter(data, state, entry) : null;
    if (!entered) { return null; }
    if (entered.wrong) { return { wrong: true, lines: [entered.wrong] }; }
    var visit = entered.state.path[entered.state.path.length - 1];
    var result = data.steps[state.at].results[entered.result];
    var lines = [];
    if (result.note) { lines.push(result.note); }
    lines.push(visit.ruled_out.length ? "Rules out: " + account.titles(data, visit.ruled_out).join("; ") + "." : "Rules out nothing more.");
    lines.push("Left: " + (visit.left.length ? account.titles(data, visit.left).join("; ") : "nothing on the list") + ".");
    lines.push(leads(data, engine.settle(data, entered.state, job.lacking)));
    return { wrong: false, reads: result.text, lines: lines };
  }

  function leads(data, state) {
    if (!state.end) { return "Next: " + data.steps[state.at].title + "."; }
    if (state.end.kind === "jump") { return "Go on with " + state.end.link.text + "."; }
    return account.headline(data, state.end) + (state.end.text ? ": " + state.end.text : ".");
  }

  /* Fills the parts of a step: { boxes, entry, stop }. `before` is what was entered there last. */
  function show(now, part, state, before, act) {
    var data = now.data;
    var step = data.steps[state.at];
    var meeting = state.class.meets[state.at];
    var heading = document.getElementById(step.id);
    var article = heading && heading.closest(".step");
    var wait = timer(now.job, step, act.waits);
    var boxes = null;
    function put(place, list) {
      list.forEach(function (one) { if (one) { place.appendChild(one); } });
    }
    put(part.head, [
      make("p", { class: "kind", text: act.about(step) }), make("h2", { tabindex: "-1", text: step.title }),
      dangers(data, article, state, step), passed(data, state), lacking(data, now.job, step)
    ]);
    put(part.how, [how(article)]);
    put(part.take, [limits(step, meeting), wait.element]);
    if (meeting.is !== "done") {
      boxes = Ruleout.reading(data, step, meeting, before && before.reading, act.typed);
      part.take.appendChild(boxes.element);
    }
    step.record.forEach(function (field) {
      part.take.appendChild(Ruleout.line(field, before && before.record && before.record[field], { "data-field": field }));
    });
    put(part.more, [
      Ruleout.line("Note", before && before.note, { "data-note": true }),
      make("button", { type: "button", text: "Can't take this reading", on: { click: act.skip } })
    ]);
    return {
      boxes: boxes,
      stop: wait.stop,
      entry: function () {
        var entry = { step: step.id };
        var note = part.more.querySelector("[data-note]").value.trim();
        if (boxes) { entry.reading = boxes.text(); }
        if (note) { entry.note = note; }
        Array.prototype.forEach.call(part.take.querySelectorAll("[data-field]"), function (input) {
          if (!input.value.trim()) { return; }
          entry.record = entry.record || {};
          entry.record[input.getAttribute("data-field")] = input.value.trim();
        });
        return entry;
      }
    };
  }

  return { show: show, meaning: meaning };
}());
