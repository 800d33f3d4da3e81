/* Working a job on its procedure's page. The job's entries are the only thing kept; all that is shown is walked from them again. */
"use strict";
Ruleout.job = (function () {
  var make = Ruleout.make;
  var engine = Ruleout.engine;
  var jobs = Ruleout.jobs;
  var ending = Ruleout.ending;
  var place = document.getElementById("job_place_");
  var root = document.body.getAttribute("data-root");
  var data = null;
  var job = null;
  var walk = null;
  var edit = -1;         /* which entry is being changed; -1: none */
  var remembered = {};   /* what a step's boxes held when one went back */
  var boxes = null;
  var ticking = 0;
  var part = {};

  /* --- what stands on the page beside the job --- */

  function ticked(group, wanted) {
    return Array.prototype.filter.call(group.querySelectorAll("input"), function (input) { return input.checked === wanted; })
      .map(function (input) { return input.value; });
  }

  function checks(title, rows, checked, changed) {
    var group = make("div", { role: "group", "aria-label": title, class: "job-checks" }, rows.map(function (row) {
      return make("label", { class: "job-check" }, [make("input", { type: "checkbox", value: row.id, checked: checked, autocomplete: "off", on: { change: changed } }), make("span", { text: row.title })]);
    }));
    return { group: group, element: make("details", {}, [make("summary", { text: title }), group]) };
  }

  function build() {
    part.equipment = checks("Equipment at hand", data.equipment, true, changedAround);
    part.out = checks("Already ruled out", data.causes.filter(function (one) { return one.id !== "no-fault"; }), false, changedAround);
    part.save = make("button", { type: "button", text: "Save job file", on: { click: function () {
      var now = current();
      jobs.save(now.id + ".json", JSON.stringify(now, null, 1) + "\n", "application/json");
    } } });
    part.link = make("a", { text: "Link to this job", "data-keep": true, href: "#" });
    part.says = make("p", { role: "status", class: "note job-says" });
    part.changed = make("div", { role: "status", "aria-label": "What changed", class: "job-changed" });
    part.meaning = make("div", { role: "status", "aria-label": "Meaning", class: "job-meaning" });
    part.head = make("div");
    part.form = make("form", { novalidate: true, on: { submit: function (event) { event.preventDefault(); next(); } } });
    part.lists = make("div", { class: "job-lists" });
    part.end = make("div");
    part.job = make("section", { "aria-label": "Job", id: "job_", class: "job", hidden: true }, [part.changed, part.head, part.form, part.end, part.lists]);
    part.bar = make("section", { "aria-label": "Work the job", class: "job-bar" }, [
      make("div", { class: "job-buttons" }, [make("button", { type: "button", class: "main", text: "Start job", on: { click: start } }), part.save, part.link]),
      make("div", { class: "job-folds" }, [data.equipment.length ? part.equipment.element : null, part.out.element]), part.says
    ]);
    place.appendChild(part.job);
    place.appendChild(part.bar);
  }

  function changedAround() {
    if (job) {
      job.out = ticked(part.out.group, true);
      job.lacking = ticked(part.equipment.group, false);
      refit(false);
    } else { around(); }
  }

  /* The job as it stands, or the one that would be started. */
  function current() {
    return job || jobs.fresh(data.id, vehicleOf(), ticked(part.out.group, true), ticked(part.equipment.group, false));
  }

  /* What depends on the job but lies beside it: address, link, the list of open jobs. */
  function around() {
    part.link.setAttribute("href", jobs.address(current()));
    Array.prototype.forEach.call(part.out.group.querySelectorAll("input"), function (input) {
      var group = engine.classOf(data, job ? job.vehicle : vehicleOf());
      input.parentNode.hidden = Boolean(group) && group.causes.indexOf(input.value) < 0;
    });
    if (!job) { return; }
    try { history.replaceState(history.state, "", "#job=" + jobs.pack(job)); } catch (refused) { /* the link still holds it */ }
    var end = walk.state.end;
    jobs.keep(job.id, job.finished ? null : {
      address: jobs.address(job), title: data.title, vehicle: job.vehicle ? vehicleTitle(job.vehicle) : "",
      at: end ? ending.headline(data, end) : "At: " + data.steps[walk.state.at].title,
      since: job.id.slice(data.id.length + 1).replace(/^(\d{4})(\d\d)(\d\d)-(\d\d)(\d\d).*$/, "$1-$2-$3 $4:$5")
    });
    if (Ruleout.feedback) { Ruleout.feedback(end ? end.step : data.steps[walk.state.at].id); }
  }

  function vehicleTitle(id) {
    var option = Array.prototype.find.call(document.getElementById("vehicle_").options, function (one) { return one.value === id; });
    return option ? option.textContent : id;
  }

  /* The chosen vehicle, or the only one that there is to choose; "" while it must be asked for. */
  function vehicleOf() {
    var chosen = Ruleout.vehicle.id();
    if (chosen) { return chosen; }
    var all = data.classes.reduce(function (list, one) { return list.concat(one.vehicles); }, []);
    return all.length === 1 ? all[0] : "";
  }

  /* --- starting --- */

  function start() {
    if (!data.classes.length) { part.says.textContent = "This procedure is for no vehicle."; return; }
    var vehicle = vehicleOf();
    if (!engine.classOf(data, vehicle)) { ask(); return; }
    if (vehicle !== Ruleout.vehicle.id()) { choose(vehicle); }
    job = jobs.fresh(data.id, vehicle, ticked(part.out.group, true), ticked(part.equipment.group, false));
    open();
  }

  function open() {
    edit = -1;
    remembered = {};
    part.changed.textContent = "";
    part.says.textContent = "";
    refit(true);
  }

  function choose(id) {
    var select = document.getElementById("vehicle_");
    if (!Array.prototype.some.call(select.options, function (one) { return one.value === id; })) { return; }
    select.value = id;
    select.dispatchEvent(new Event("change"));
  }

  function ask() {
    clear();
    part.job.hidden = false;
    part.head.appendChild(make("h2", { tabindex: "-1", text: "Which vehicle?" }));
    var other = Ruleout.vehicle.id();
    part.head.appendChild(make("p", { text: (other ? "This procedure is not for the " + Ruleout.vehicle.title() + ". " : "") + "Limits and steps depend on it." }));
    var buttons = make("div", { class: "job-buttons" });
    data.classes.forEach(function (group) {
      group.vehicles.forEach(function (id) {
        buttons.appendChild(make("button", { type: "button", text: vehicleTitle(id), on: { click: function () { choose(id); start(); } } }));
      });
    });
    part.head.appendChild(buttons);
    focus();
  }

  function resume() {
    var text = /^#job=(.+)$/.exec(location.hash);
    var found = text && jobs.unpack(text[1]);
    if (!text) { return; }
    if (!found || found.procedure !== data.id) { part.says.textContent = "The job in this address could not be read."; return; }
    if (!engine.classOf(data, found.vehicle)) { found.vehicle = vehicleOf(); }
    setChecks(part.out.group, found.out, true);
    setChecks(part.equipment.group, found.lacking, false);
    if (!engine.classOf(data, found.vehicle)) { ask(); return; }
    job = found;
    if (job.vehicle && job.vehicle !== Ruleout.vehicle.id()) { choose(job.vehicle); }
    open();
  }

  function setChecks(group, ids, checked) {
    Array.prototype.forEach.call(group.querySelectorAll("input"), function (input) {
      input.checked = (ids.indexOf(input.value) >= 0) === checked;
    });
  }

  /* --- moving --- */

  /* Walks again and shows where the job stands. */
  function refit(move) {
    walk = engine.walk(data, job);
    job.entries = walk.kept;
    if (!walk.state.end) { job.finished = false; }
    show(move);
  }

  function standing() { return edit >= 0 ? walk.before[edit] : walk.state; }

  function entryNow() {
    var state = standing();
    var step = data.steps[state.at];
    var entry = { step: step.id };
    if (boxes) { entry.reading = boxes.text(); }
    if (step.record.length) {
      entry.record = {};
      Array.prototype.forEach.call(part.form.querySelectorAll("[data-field]"), function (input) {
        if (input.value.trim()) { entry.record[input.getAttribute("data-field")] = input.value.trim(); }
      });
    }
    return entry;
  }

  function next() {
    var entry = entryNow();
    if (boxes && (!entry.reading || engine.enter(data, standing(), entry).wrong)) { return; }
    put(entry);
  }

  function skip() {
    var entry = entryNow();
    entry.reading = engine.NOT_TAKEN;
    put(entry);
  }

  function put(entry) {
    delete remembered[entry.step];
    if (edit >= 0) { change(entry); return; }
    part.changed.textContent = "";
    job.wait = null;
    job.entries = job.entries.concat([entry]);
    refit(true);
  }

  function described(state, entry) {
    var path = engine.enter(data, state, entry);
    var last = path.state && path.state.path[path.state.path.length - 1];
    var result = last && last.result;
    return result && result !== entry.reading ? entry.reading + " (" + result + ")" : entry.reading || "done";
  }

  /* An earlier reading is another one now: says what it was, what it is, and what no longer counts. */
  function change(entry) {
    var at = edit;
    var state = walk.before[at];
    var was = job.entries[at];
    var title = data.steps[state.at].title;
    edit = -1;
    job.entries = job.entries.slice(0, at).concat([entry], job.entries.slice(at + 1));
    walk = engine.walk(data, job);
    var gone = walk.dropped.filter(function (one) { return one.reading !== undefined; });
    job.entries = walk.kept;
    if (!walk.state.end) { job.finished = false; }
    part.changed.textContent = "";
    part.changed.appendChild(make("p", { text: "“" + title + "” was " + described(state, was) + ", is now " + described(state, entry) + "." }));
    part.changed.appendChild(make("p", { text: gone.length
      ? "No longer counts: " + gone.map(function (one) { return ending.stepTitle(data, one.step); }).join("; ") + "."
      : "All other readings still count." }));
    show(true);
  }

  function back() {
    part.changed.textContent = "";
    if (edit >= 0) { edit = -1; show(true); return; }
    var last = job.entries[job.entries.length - 1];
    remembered[last.step] = last;
    job.entries = job.entries.slice(0, -1);
    job.finished = false;
    job.wait = null;
    refit(true);
  }

  function finish() {
    job.finished = true;
    show(false);
    var first = part.end.querySelector(".job-writeup h3");
    if (first) { first.focus(); }
  }

  /* The repair did not help: the cause is ruled out, and as the repair may have changed anything, the readings are taken again. */
  function still() {
    var causes = walk.state.end.causes;
    job.earlier = job.earlier.concat([{ entries: job.entries, causes: causes }]);
    job.out = job.out.concat(engine.without(causes, job.out));
    setChecks(part.out.group, job.out, true);
    job.entries = [];
    job.finished = false;
    job.picked = "";
    part.changed.textContent = "";
    part.changed.appendChild(make("p", { text: "Ruled out now: " + ending.titles(data, causes).join("; ") + ". The repair may have changed other readings: take them again." }));
    refit(true);
  }

  /* --- showing --- */

  function clear() {
    window.clearInterval(ticking);
    [part.head, part.form, part.end, part.lists].forEach(function (one) { one.textContent = ""; });
    boxes = null;
  }

  function focus() {
    var first = part.job.querySelector("h2");
    if (first) { first.focus({ preventScroll: true }); part.job.scrollIntoView({ block: "start" }); }
  }

  function show(move) {
    clear();
    part.job.hidden = false;
    document.documentElement.classList.add("job-open");
    if (walk.state.end && edit < 0) { showEnd(); } else { showStep(); }
    showLists();
    Ruleout.vehicle.links(part.job);
    around();
    if (move) { focus(); }
  }

  function cautions(list) {
    return make("ul", { class: "cautions" }, list.map(function (one) {
      return make("li", { class: "caution " + one.signal }, [
        make("strong", { class: "signal", text: one.signal.toUpperCase() }), " ", make("span", { class: "caution-text", text: one.text })
      ]);
    }));
  }

  /* Cautions of the step, as the page has them, and those of preparations that are still in force. */
  function dangers(article, state, step) {
    var own = article && article.querySelector(".cautions");
    var list = own ? own.cloneNode(true) : make("ul", { class: "cautions" });
    var said = Array.prototype.map.call(list.querySelectorAll(".caution-text"), function (one) { return one.textContent; });
    data.setups.forEach(function (setup) {
      if (state.inForce.indexOf(setup.id) < 0 || step.setup.indexOf(setup.id) >= 0) { return; }
      var more = setup.cautions.filter(function (one) { return said.indexOf(one.text) < 0; });
      Array.prototype.slice.call(cautions(more).childNodes).forEach(function (one) { list.appendChild(one); });
    });
    return list.childNodes.length ? list : null;
  }

  function copyOf(article, selector) {
    var found = article && article.querySelector(selector);
    if (!found) { return null; }
    var copy = found.cloneNode(true);
    Array.prototype.forEach.call(copy.querySelectorAll("[id]"), function (one) { one.removeAttribute("id"); });
    /* The job's own heading is one level above the page's. */
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

  function lacking(step) {
    var sets = engine.lacks(step, job.lacking);
    if (!sets.length) { return null; }
    var names = sets.map(function (any) {
      return any.map(function (id) { return data.equipment.find(function (one) { return one.id === id; }).title; }).join(" or ");
    });
    return make("p", { class: "not-for", text: "Not at hand: " + names.join("; ") + "." });
  }

  function clock(seconds) {
    var left = Math.max(0, Math.round(seconds));
    return Math.floor(left / 60) + ":" + (left % 60 < 10 ? "0" : "") + left % 60;
  }

  function timer(step) {
    if (!step.wait) { return null; }
    var face = make("span", { role: "timer", "aria-label": "Wait", text: clock(step.wait * 60) });
    var done = make("span", { role: "status", class: "note" });
    function run() {
      function tick() {
        var left = (job.wait.until - Date.now()) / 1000;
        face.textContent = clock(left);
        if (left <= 0) { window.clearInterval(ticking); done.textContent = "The wait is over."; }
      }
      window.clearInterval(ticking);
      ticking = window.setInterval(tick, 1000);
      tick();
    }
    var button = make("button", { type: "button", text: "Start waiting", on: { click: function () {
      job.wait = { step: step.id, until: Date.now() + step.wait * 60000 };
      done.textContent = "";
      around();
      run();
    } } });
    if (job.wait && job.wait.step === step.id) { run(); }
    return make("div", { class: "job-wait" }, [make("span", { class: "job-label", text: "Wait" }), face, button, done]);
  }

  function showStep() {
    var state = standing();
    var step = data.steps[state.at];
    var meeting = state.class.meets[state.at];
    var heading = document.getElementById(step.id);
    var article = heading && heading.closest(".step");
    var before = edit >= 0 ? job.entries[edit] : remembered[step.id];
    var about = (edit >= 0 ? "Changing an earlier reading" : "Step " + (state.path.length + 1)) + (job.vehicle ? ", " + vehicleTitle(job.vehicle) : "");
    part.head.appendChild(make("p", { class: "kind", text: about }));
    part.head.appendChild(make("h2", { tabindex: "-1", text: step.title }));
    [dangers(article, state, step), passed(state), lacking(step), copyOf(article, ".step-how"), limits(step, meeting)].forEach(function (one) {
      if (one) { part.head.appendChild(one); }
    });
    var wait = timer(step);
    if (wait) { part.form.appendChild(wait); }
    var nextButton = make("button", { type: "submit", class: "main", text: "Next" });
    if (meeting.is !== "done") {
      boxes = Ruleout.reading(data, step, meeting, before && before.reading, function () { mean(nextButton); });
      part.form.appendChild(boxes.element);
    }
    step.record.forEach(function (field) {
      var value = before && before.record && before.record[field];
      part.form.appendChild(make("label", { class: "job-box wide" }, [
        make("span", { text: field }), make("input", { type: "text", autocomplete: "off", "data-field": field, value: value || null })
      ]));
    });
    part.form.appendChild(part.meaning);
    var test = meeting.is !== "done";
    part.form.appendChild(make("div", { class: "job-buttons" }, [
      nextButton,
      edit >= 0 ? make("button", { type: "button", text: "Keep as it was", on: { click: back } })
        : job.entries.length ? make("button", { type: "button", text: "Back", on: { click: back } }) : null,
      test || step.without ? make("button", { type: "button", text: "Can't take this reading", on: { click: skip } }) : null
    ]));
    mean(nextButton);
  }

  /* Steps that were passed over on the way here. */
  function passed(state) {
    var steps = [];
    for (var at = state.path.length - 1; at >= 0 && !state.path[at].entry; at -= 1) {
      if (state.path[at].passed) { steps.unshift(ending.stepTitle(data, state.path[at].step)); }
    }
    return steps.length ? make("p", { class: "note", text: "Passed over for want of equipment: " + steps.join("; ") + "." }) : null;
  }

  /* Says what the reading means before anything moves. */
  function mean(button) {
    var state = standing();
    var lines = [];
    part.meaning.textContent = "";
    part.meaning.className = "job-meaning";
    if (!boxes) { button.disabled = false; return; }
    var entry = entryNow();
    var entered = entry.reading ? engine.enter(data, state, entry) : null;
    button.disabled = !entered || Boolean(entered.wrong);
    if (!entered) { return; }
    if (entered.wrong) {
      part.meaning.classList.add("wrong");
      lines.push(entered.wrong);
    } else {
      var visit = entered.state.path[entered.state.path.length - 1];
      var result = data.steps[state.at].results[entered.result];
      part.meaning.appendChild(make("p", { class: "if", text: result.text }));
      if (result.note) { lines.push(result.note); }
      lines.push(visit.ruled_out.length ? "Rules out: " + ending.titles(data, visit.ruled_out).join("; ") + "." : "Rules out nothing more.");
      lines.push("Left: " + (visit.left.length ? ending.titles(data, visit.left).join("; ") : "nothing on the list") + ".");
      lines.push(leads(engine.settle(data, entered.state, job.lacking)));
    }
    lines.forEach(function (line) { part.meaning.appendChild(make("p", { text: line })); });
  }

  function leads(state) {
    if (!state.end) { return "Next: " + data.steps[state.at].title + "."; }
    if (state.end.kind === "jump") { return "Go on with " + state.end.link.text + "."; }
    return ending.headline(data, state.end) + (state.end.text ? ": " + state.end.text : ".");
  }

  function showEnd() {
    part.end.appendChild(ending.verdict(data, job, walk.state, {
      finish: finish, still: still, back: back,
      address: function (to) { return to.charAt(0) === "#" ? to : root + to; },
      onward: function (link) {
        var id = walk.state.end.text;
        return jobs.address(jobs.fresh(id, job.vehicle, [], job.lacking));
      }
    }));
    if (job.finished) {
      part.end.appendChild(ending.writeUp(data, job, walk.state, job.vehicle ? vehicleTitle(job.vehicle) : "", {
        copy: copy,
        print: function () { window.print(); },
        pick: function (id) {
          job.picked = id;
          show(false);
          var chosen = part.end.querySelector(".job-writeup input:checked");
          if (chosen) { chosen.focus(); }
        }
      }));
      part.end.appendChild(part.copied = make("p", { role: "status", class: "note" }));
    }
  }

  function copy(text) {
    function said(worked) { part.copied.textContent = worked ? "Copied." : "This browser does not let the page copy: select the text instead."; }
    function plainly() {
      var area = make("textarea", { "aria-hidden": "true", class: "job-copy" });
      area.value = text;
      document.body.appendChild(area);
      area.select();
      var worked = document.execCommand("copy");
      area.remove();
      said(worked);
    }
    if (navigator.clipboard) { navigator.clipboard.writeText(text).then(function () { said(true); }, plainly); } else { plainly(); }
  }

  function titled(title, items) {
    return make("div", {}, [make("h3", { text: title }), make("ul", { "aria-label": title }, items)]);
  }

  function showLists() {
    var state = standing();
    var out = state.class.causes.filter(function (id) { return state.left.indexOf(id) < 0; });
    function causes(ids) {
      return ids.map(function (id) { return make("li", { text: ending.cause(data, id).title }); });
    }
    part.lists.appendChild(titled("Causes left", causes(state.left)));
    part.lists.appendChild(titled("Ruled out", causes(out)));
    part.lists.appendChild(titled("Readings so far", walk.state.path.filter(function (visit) { return visit.reading !== null; }).map(function (visit) {
      var title = ending.stepTitle(data, visit.step);
      var result = visit.result && visit.result !== visit.reading ? ": " + visit.result : "";
      var said = visit.passed ? "passed over, equipment not at hand" : visit.reading + result;
      var at = walk.kept.indexOf(visit.entry);
      return make("li", {}, [
        make("span", {}, [make("b", { text: title }), " " + said]),
        visit.entry ? make("button", { type: "button", text: "Change", "aria-label": "Change " + title, on: { click: function () {
          edit = at;
          part.changed.textContent = "";
          show(true);
        } } }) : null
      ]);
    })));
  }

  /* --- beginning --- */

  function vehicleChanged() {
    if (!job) { around(); return; }
    var chosen = Ruleout.vehicle.id();
    if (chosen === job.vehicle) { return; }
    if (!engine.classOf(data, chosen)) {
      part.says.textContent = "The job stays with the " + vehicleTitle(job.vehicle) + ".";
      return;
    }
    var dropped;
    job.vehicle = chosen;
    edit = -1;
    walk = engine.walk(data, job);
    dropped = walk.dropped.filter(function (one) { return one.reading !== undefined; });
    job.entries = walk.kept;
    part.changed.textContent = "";
    part.changed.appendChild(make("p", { text: "The vehicle is now the " + vehicleTitle(chosen) + "." +
      (dropped.length ? " No longer counts: " + dropped.map(function (one) { return ending.stepTitle(data, one.step); }).join("; ") + "." : "") }));
    show(false);
  }

  return {
    /* Called by the procedure's own script. */
    got: function (all) {
      data = all;
      build();
      Ruleout.vehicle.onChange(vehicleChanged);
      around();
      resume();
      window.addEventListener("hashchange", resume);
    }
  };
}());
