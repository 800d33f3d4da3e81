/* Working a job on its procedure's page. The job's entries are the only thing kept; all that is shown is walked from them again. */
"use strict";
Ruleout.job = (function () {
  var make = Ruleout.make;
  var engine = Ruleout.engine;
  var jobs = Ruleout.jobs;
  var account = Ruleout.account;
  var time = Ruleout.time;
  var place = document.getElementById("job_place_");
  var root = document.body.getAttribute("data-root");
  var data = null;
  var job = null;
  var walk = null;
  var edit = -1;         /* which entry is being changed; -1: none */
  var remembered = {};   /* what a step's boxes held when one went back */
  var step = null;       /* the step on show; nothing at an ending */
  var asking = null;     /* what goes on once the vehicle is chosen; nothing while none is asked for */
  var pending = 0;
  var part = null;
  var beside = null;
  var spent = null;

  /* --- the frame --- */

  function build() {
    beside = Ruleout.beside(data, { start: start, changed: changedBeside, save: function () {
      var now = current();
      jobs.save(now.id + ".json", JSON.stringify(now, null, 1) + "\n", "application/json");
    } });
    spent = Ruleout.lists.time({ correct: function (said) {
      if (said !== null) { job.time = time.correct(job.time, said, Date.now()); }
      around();
      if (job.finished) { show(false); }
    }, pause: function () {
      job.time = job.time.from ? time.pause(job.time, Date.now()) : time.run(job.time, Date.now());
      around();
    } });
    part = Ruleout.frame(place, spent.element, { next: next, back: back, drafted: drafted, typed: typed });
    place.appendChild(beside.element);
    window.setInterval(tick, 10000);
    window.addEventListener("pagehide", left);
    document.addEventListener("visibilitychange", left);
  }

  function tick() {
    if (!job || job.finished) { return; }
    if (time.away(job.time, Date.now())) { welcome(); }
    job.time = time.seen(job.time, Date.now());
    showTime();
  }

  /* Back at a job: what it was left alone for does not count as work. */
  function welcome() {
    var now = Date.now();
    if (time.away(job.time, now)) { beside.say("The job was left alone for a while: that time does not count. The minutes spent can be corrected."); }
    job.time = job.time.from || job.time.spent ? time.back(job.time, now) : time.run(job.time, now);
  }

  function minutes() { return time.minutes(job.time, Date.now()); }
  function showTime() { spent.show(minutes(), job.time.from > 0, job.finished); }

  function changedBeside() {
    if (job) {
      job.out = beside.out();
      job.renewed = beside.renewed();
      job.lacking = beside.lacking(job.lacking);
      keepDraft();
      refit(false);
    } else { around(); }
  }

  /* The job as it stands, or the one that would be started. */
  function current() {
    return job || jobs.fresh(data.id, vehicleOf(), beside.out(), beside.lacking([]), beside.renewed());
  }

  /* What depends on the job but lies beside it: address, link, the list of open jobs. */
  function around() {
    if (job && !job.finished) { job.time = time.seen(job.time, Date.now()); }
    beside.link(jobs.address(current()));
    beside.only(engine.classOf(data, job ? job.vehicle : vehicleOf()));
    if (!job) { return; }
    showTime();
    try { history.replaceState(history.state, "", "#job=" + jobs.pack(job)); } catch (refused) { /* the link still holds it */ }
    var end = walk.state.end;
    jobs.keep(job.id, job.finished ? null : {
      address: jobs.address(job), title: data.title, vehicle: job.vehicle ? vehicleTitle(job.vehicle) : "",
      at: end ? account.headline(data, end) : "At: " + data.steps[walk.state.at].title,
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
    if (!data.classes.length) { beside.say("This procedure is for no vehicle."); return; }
    var vehicle = vehicleOf();
    if (!engine.classOf(data, vehicle)) { ask(start, ""); return; }
    if (vehicle !== Ruleout.vehicle.id()) { choose(vehicle); }
    job = jobs.fresh(data.id, vehicle, beside.out(), beside.lacking([]), beside.renewed());
    open();
  }

  function open() {
    edit = -1;
    remembered = {};
    part.say([]);
    beside.say("");
    if (!job.finished) { welcome(); }
    var causes = job.out.filter(function (id) { return !data.causes.some(function (one) { return one.id === id; }); });
    job.out = engine.without(job.out, causes);
    refit(true);
    /* The base may have changed since the job was left. */
    var gone = noLonger(walk.dropped);
    if (causes.length) { gone += (gone ? " " : "") + "No longer on the list of causes: " + causes.join("; ") + "."; }
    if (gone) { part.say(["The procedure has changed since the job was left. " + gone]); }
  }

  function choose(id) {
    var select = document.getElementById("vehicle_");
    if (!Array.prototype.some.call(select.options, function (one) { return one.value === id; })) { return; }
    select.value = id;
    select.dispatchEvent(new Event("change"));
  }

  /* Asks for the vehicle; `then` goes on with the one that was chosen. */
  function ask(then, why) {
    job = null;
    asking = then;
    clear();
    part.job.hidden = part.form.hidden = false;
    part.bar.hidden = spent.element.hidden = true;
    part.head.appendChild(make("h2", { tabindex: "-1", text: "Which vehicle?" }));
    var wrong = Ruleout.vehicle.id() && !engine.classOf(data, Ruleout.vehicle.id());
    if (why) { part.head.appendChild(make("p", { class: "not-for", text: why })); }
    part.head.appendChild(make("p", { text: (wrong ? "This procedure is not for the " + Ruleout.vehicle.title() + ". " : "") + "Limits and steps depend on it." }));
    var buttons = make("div", { class: "job-buttons" });
    data.classes.forEach(function (group) {
      group.vehicles.forEach(function (id) {
        buttons.appendChild(make("button", { type: "button", text: vehicleTitle(id), on: { click: function () { choose(id); if (asking) { chosen(); } } } }));
      });
    });
    part.head.appendChild(buttons);
    part.focus();
  }

  function chosen() {
    var then = asking;
    asking = null;
    then();
  }

  function resume() {
    var text = /^#job=(.+)$/.exec(location.hash);
    var found = text && jobs.unpack(text[1]);
    if (!text) { return; }
    if (!found || found.procedure !== data.id) { beside.say("The job in this address could not be read."); return; }
    beside.show(found);
    if (!engine.classOf(data, found.vehicle)) {
      /* Never another vehicle in silence: its limits would judge readings that were taken on this one. */
      ask(function () { found.vehicle = vehicleOf(); take(found); }, found.vehicle ? "The vehicle of this job, “" + vehicleTitle(found.vehicle) + "”, is not among those of this procedure any more. Its readings are kept." : "");
      return;
    }
    take(found);
  }

  function take(found) {
    job = found;
    asking = null;
    if (job.vehicle && job.vehicle !== Ruleout.vehicle.id()) { choose(job.vehicle); }
    open();
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

  /* What is typed but not entered yet is part of the job too: whoever resumes inside a step finds it. */
  function keepDraft() {
    if (!step || edit >= 0) { return; }
    var entry = step.entry();
    job.draft = entry.reading || entry.note || entry.record ? entry : null;
  }

  function drafted() {
    window.clearTimeout(pending);
    pending = 0;
    if (!job) { return; }
    keepDraft();
    around();
  }

  /* While one types: browsers let the address change only so often. */
  function typed() {
    window.clearTimeout(pending);
    pending = window.setTimeout(drafted, 400);
  }

  /* Left in the middle of a word: the box has not told of its change yet. */
  function left() {
    if (pending) { drafted(); }
  }

  function next() {
    if (!step) { return; }
    var entry = step.entry();
    if (step.boxes && (!entry.reading || engine.enter(data, standing(), entry).wrong)) { return; }
    put(entry);
  }

  function skip() {
    var entry = step.entry();
    entry.reading = engine.NOT_TAKEN;
    put(entry);
  }

  function put(entry) {
    delete remembered[entry.step];
    if (edit >= 0) { change(entry); return; }
    part.say([]);
    job.wait = null;
    job.draft = null;
    job.entries = job.entries.concat([entry]);
    refit(true);
  }

  function described(state, entry) {
    var path = engine.enter(data, state, entry);
    var last = path.state && path.state.path[path.state.path.length - 1];
    var result = last && entry.reading !== engine.NOT_TAKEN && last.result;
    return result && result !== entry.reading ? entry.reading + " (" + result + ")" : entry.reading || engine.DONE;
  }

  function noLonger(dropped) {
    var gone = dropped.filter(function (one) { return one.reading !== undefined; });
    return gone.length ? "No longer counts: " + gone.map(function (one) {
      /* A step that is gone has no title any more. */
      return engine.stepAt(data, one.step) < 0 ? one.step + " (" + one.reading + ")" : account.stepTitle(data, one.step);
    }).join("; ") + "." : "";
  }

  /* An earlier reading is another one now: says what it was, what it is, and what no longer counts. */
  function change(entry) {
    var at = edit;
    var state = walk.before[at];
    var was = job.entries[at];
    edit = -1;
    job.entries = job.entries.slice(0, at).concat([entry], job.entries.slice(at + 1));
    walk = engine.walk(data, job);
    job.entries = walk.kept;
    if (!walk.state.end) { job.finished = false; }
    part.say([
      "“" + data.steps[state.at].title + "” was " + described(state, was) + ", is now " + described(state, entry) + ".",
      noLonger(walk.dropped) || "All other readings still count."
    ]);
    show(true);
  }

  function back() {
    part.say([]);
    if (edit >= 0) { edit = -1; show(true); return; }
    if (!job.entries.length) { unstill(); return; }
    keepDraft();
    if (job.draft) { remembered[job.draft.step] = job.draft; }
    var last = job.entries[job.entries.length - 1];
    remembered[last.step] = last;
    job.entries = job.entries.slice(0, -1);
    if (job.finished) { job.time = time.run(job.time, Date.now()); }
    job.finished = false;
    job.wait = null;
    job.draft = null;
    refit(true);
  }

  function finish() {
    job.time = time.pause(job.time, Date.now());
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
    beside.show(job);
    job.entries = [];
    job.finished = false;
    job.time = time.run(job.time, Date.now());
    job.picked = "";
    part.say(["Ruled out now: " + account.titles(data, causes).join("; ") + ". The repair may have changed other readings: take them again."]);
    refit(true);
  }

  /* Back over "Still there", which a finger may have hit for its neighbour: the verdict and its readings as they were. */
  function unstill() {
    var round = job.earlier[job.earlier.length - 1];
    job.earlier = job.earlier.slice(0, -1);
    job.out = engine.without(job.out, round.causes);
    job.entries = round.entries;
    job.wait = null;
    job.draft = null;
    beside.show(job);
    refit(true);
  }

  /* --- showing --- */

  function clear() {
    if (step) { step.stop(); }
    step = null;
    part.clear();
  }

  function show(move) {
    clear();
    part.job.hidden = part.bar.hidden = spent.element.hidden = false;
    document.documentElement.classList.add("job-open");
    var ended = walk.state.end && edit < 0;
    part.form.hidden = part.next.hidden = Boolean(ended);
    part.back.hidden = edit < 0 && !job.entries.length && !job.earlier.length;
    part.bar.hidden = part.back.hidden && part.next.hidden;
    if (ended) { showEnd(); } else { showStep(); }
    Ruleout.lists.lists({ data: data, job: job, walk: walk }, standing(), function (at) {
      keepDraft();
      edit = at;
      part.say([]);
      show(true);
    }).forEach(function (one) { part.lists.appendChild(one); });
    Ruleout.vehicle.links(part.job);
    around();
    /* Whoever steps through the choice of vehicles with the arrow keys stays in it. */
    if (move && document.activeElement !== document.getElementById("vehicle_")) { part.focus(); }
    part.look();
  }

  /* Why the reading just passed over was not taken: it stands in the write-up. */
  function reason() {
    var last = edit >= 0 ? job.entries[edit] : job.entries[job.entries.length - 1];
    if (!last || last.reading !== engine.NOT_TAKEN) { return null; }
    return Ruleout.line("Why “" + account.stepTitle(data, last.step) + "” was not taken", last.why, { on: { change: function (event) {
      var why = event.target.value.trim();
      if (why) { last.why = why; } else { delete last.why; }
      around();
    } } });
  }

  function showStep() {
    var state = standing();
    var id = data.steps[state.at].id;
    var draft = job.draft && job.draft.step === id ? job.draft : remembered[id];
    step = Ruleout.step.show({ data: data, job: job }, part, state, edit >= 0 ? job.entries[edit] : draft, {
      about: function () {
        return (edit >= 0 ? "Changing an earlier reading" : "Step " + (state.path.length + 1)) + (job.vehicle ? ", " + vehicleTitle(job.vehicle) : "");
      },
      typed: mean, skip: skip, waits: around
    });
    var why = reason();
    if (why) { part.more.insertBefore(why, part.more.firstChild); }
    mean();
  }

  /* Says what the reading means before anything moves. */
  function mean() {
    if (!step || !step.boxes) { part.next.disabled = false; part.mean(null); return; }
    var means = Ruleout.step.meaning(data, job, standing(), step.entry());
    part.next.disabled = !means || means.wrong;
    part.mean(means);
  }

  function showEnd() {
    var note = Ruleout.line("Note on the job", job.note, { on: { change: function (event) {
      job.note = event.target.value.trim();
      around();
      if (job.finished) { show(false); }
    } } });
    part.end.appendChild(Ruleout.ending.verdict(data, job, walk.state, {
      finish: finish, still: still, note: note, reason: walk.state.end.kind === "needs-reading" ? reason() : null,
      address: function (to) { return to.charAt(0) === "#" ? to : root + to; },
      onward: function () { return jobs.address(jobs.fresh(walk.state.end.text, job.vehicle, [], job.lacking, [])); }
    }));
    if (job.finished) { showWriteUp(); }
  }

  function showWriteUp() {
    var copied = make("p", { role: "status", class: "note" });
    part.end.appendChild(Ruleout.ending.writeUp(data, job, walk.state, job.vehicle ? vehicleTitle(job.vehicle) : "", minutes(), {
      copy: function (text) {
        Ruleout.ending.copy(text, function (worked) { copied.textContent = worked ? "Copied." : "This browser does not let the page copy: select the text instead."; });
      },
      print: function () { window.print(); },
      pick: function (id) {
        job.picked = id;
        show(false);
        var chosen = part.end.querySelector(".job-writeup input:checked");
        if (chosen) { chosen.focus(); }
      }
    }));
    part.end.appendChild(copied);
  }

  /* --- beginning --- */

  function vehicleChanged() {
    if (!job && asking && engine.classOf(data, vehicleOf())) { chosen(); return; }
    if (!job) { around(); return; }
    var other = Ruleout.vehicle.id();
    if (other === job.vehicle) { return; }
    if (!engine.classOf(data, other)) {
      beside.say("The job stays with the " + vehicleTitle(job.vehicle) + ".");
      return;
    }
    job.vehicle = other;
    edit = -1;
    walk = engine.walk(data, job);
    job.entries = walk.kept;
    part.say(["The vehicle is now the " + vehicleTitle(other) + ". " + noLonger(walk.dropped)]);
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
