/* The thinking of a job, as the compiler's own walk does it. No page, no clock: a procedure and readings go in, the path comes out.
   A reading is text as a case file writes it: "12.4 V", "open circuit", a label, "3.0 kN, 2.1 kN", "not taken". */
"use strict";
Ruleout.engine = (function () {
  var numbers = Ruleout.numbers;
  var NOT_TAKEN = "not taken";
  /* What a case writes for an action that was done on one visit and not taken on a later one. */
  var DONE = "done";

  function both(a, b) { return a.filter(function (one) { return b.indexOf(one) >= 0; }); }
  function without(a, b) { return a.filter(function (one) { return b.indexOf(one) < 0; }); }

  /* The class of a vehicle. Where all vehicles are worked alike, none need be chosen. */
  function classOf(data, vehicle) {
    if (!vehicle && data.classes.length === 1) { return data.classes[0]; }
    return data.classes.find(function (one) { return one.vehicles.indexOf(vehicle) >= 0; });
  }

  function stepAt(data, id) {
    return data.steps.findIndex(function (step) { return step.id === id; });
  }

  /* Several amounts as the one number that counts, or { wrong }. */
  function worked(parts, typed, of) {
    var values = [];
    var texts = typed.split(/,(?!\d)/);
    for (var at = 0; at < texts.length; at += 1) {
      var part = numbers.amount(texts[at], of);
      if (part.wrong) { return part; }
      if (!possible(part.value, parts.of, of)) { return { wrong: impossible(part.value, parts.of, of) }; }
      values.push(part.value);
    }
    if (parts.names.length && values.length !== parts.names.length) {
      return { wrong: "Expected " + parts.names.length + " readings: " + parts.names.join(", ") + "." };
    }
    if (parts.take === "difference") {
      return values.length === 2 ? { value: numbers.minus(values[0], values[1]) } : { wrong: "Expected two readings." };
    }
    var sorted = values.slice().sort(numbers.compare);
    var low = sorted[0];
    var high = sorted[sorted.length - 1];
    if (parts.take === "spread") { return { value: numbers.minus(high, low) }; }
    if (high.top === 0n) { return { wrong: "The highest reading is zero: there is no share of it." }; }
    return { value: numbers.times(numbers.over(low, high), numbers.exact(parts.scale)) };
  }

  var SIGNED = ["dc voltage", "current", "pressure", "pressure difference", "temperature difference", "angle", "percentage"];

  /* Whether the quantity can have that value at all, on any vehicle. */
  function possible(value, name, quantity) {
    var below = value.top < 0n && SIGNED.indexOf(name) < 0;
    var over = name === "duty cycle" && numbers.compare(value, numbers.exact("100")) > 0;
    return !below && !over && !(quantity.whole && value.bottom !== 1n);
  }

  function impossible(value, name, quantity) {
    if (quantity.whole && value.bottom !== 1n) { return "A count is a whole number."; }
    if (name === "duty cycle") { return "A duty cycle is 0 to 100 %."; }
    if (name === "temperature") { return "Nothing is below absolute zero."; }
    return "A reading of " + name + " is never below zero: check the leads and the setting.";
  }

  /* What was typed for a measuring step: { value }, { open } or { wrong }. */
  function read(data, step, typed) {
    var quantity = data.quantities[step.quantity];
    if (quantity.open && typed.trim() === "open circuit") { return { open: true }; }
    if (step.parts && typed.indexOf(",") >= 0) { return worked(step.parts, typed, data.quantities[step.parts.of]); }
    var one = numbers.amount(typed, quantity);
    if (!one.wrong && !possible(one.value, step.quantity, quantity)) { return { wrong: impossible(one.value, step.quantity, quantity) }; }
    return one;
  }

  function inCell(cell, value) {
    function after(edge) {
      var side = numbers.compare(value, numbers.exact(edge[0]));
      return side > 0 || (side === 0 && edge[1] === 0);
    }
    return (!cell[0] || after(cell[0])) && (!cell[1] || !after(cell[1]));
  }

  function cellOf(cells, reading) {
    return cells.findIndex(function (cell) { return reading.open ? cell === null : cell !== null && inCell(cell, reading.value); });
  }

  /* Which result a reading takes where the job stands: { result, learned } or { wrong }. */
  function judge(data, state, typed) {
    var step = data.steps[state.at];
    var meeting = state.class.meets[state.at];
    if (meeting.is === "blind" || step.kind === "observe") {
      var result = step.results.findIndex(function (one) { return one.text === typed.trim(); });
      if (result < 0) { return { wrong: "“" + typed.trim() + "” is not one of the results of this step." }; }
      if (meeting.is === "blind") { return { result: result }; }
    }
    var key = state.class.keys[meeting.key];
    var cell;
    if (key.labels) {
      cell = key.labels.indexOf(typed.trim());
    } else {
      var reading = read(data, step, typed);
      if (reading.wrong) { return { wrong: reading.wrong }; }
      cell = cellOf(key.cells, reading);
      if (cell < 0) { return { wrong: "Negative: check the leads.", none: true }; }
    }
    var known = state.facts[meeting.key];
    if (known && known.indexOf(cell) < 0) {
      return { wrong: "This contradicts an earlier reading of the same thing. Take one of the two again.", none: true };
    }
    var taken = meeting.takes.findIndex(function (take) { return take.indexOf(cell) >= 0; });
    if (taken < 0) { return { wrong: "No result of this step covers that reading.", none: true }; }
    return { result: taken, learned: known ? both(meeting.takes[taken], known) : meeting.takes[taken] };
  }

  function start(data, vehicle, out) {
    var group = classOf(data, vehicle);
    return {
      class: group, at: 0, facts: {}, open: [], path: [], end: null, inForce: [],
      left: group ? without(group.causes, out || []) : []
    };
  }

  function copy(state, change) { return Object.assign({}, state, change); }

  function ended(data, state, kind, more) {
    return copy(state, { end: Object.assign({ kind: kind, causes: [], step: data.steps[state.at].id, text: null }, more) });
  }

  function follow(data, state, way) {
    if (way.kind === "then") { return copy(state, { at: stepAt(data, way.step) }); }
    var causes = way.causes || (way.kind === "found" ? without(state.left, ["no-fault"]) : []);
    return ended(data, state, way.kind, { causes: causes, text: way.text || null, link: way.link });
  }

  /* Opens what the step leaves to be put back, closes what it puts back. */
  function putAway(data, state, step) {
    var open = state.open.filter(function (one) { return !one.own || step.undoes.indexOf(one.own) < 0; });
    var inForce = state.inForce;
    step.setup.forEach(function (id) {
      var setup = data.setups.find(function (one) { return one.id === id; });
      open = open.filter(function (one) { return !one.setup || setup.ends.indexOf(one.setup) < 0; });
      inForce = without(inForce, setup.ends.concat([id])).concat([id]);
      if (setup.undo && !open.some(function (one) { return one.setup === id; })) {
        open = open.concat([{ step: step.id, text: setup.undo, setup: id }]);
      }
    });
    if (step.undo && !open.some(function (one) { return one.own === step.id; })) {
      open = open.concat([{ step: step.id, text: step.undo, own: step.id }]);
    }
    return { open: open, inForce: inForce };
  }

  /* The state after a result. */
  function take(data, state, result, learned, reading, more) {
    var step = data.steps[state.at];
    var meeting = state.class.meets[state.at];
    var outcome = step.results[result];
    var left = without(state.left, outcome.out);
    if (outcome.way.kind === "shows") { left = outcome.way.causes.slice(); }
    var facts = Object.assign({}, state.facts);
    if (learned) { facts[meeting.key] = learned; }
    (meeting.forgets || []).forEach(function (key) { delete facts[key]; });
    var visit = Object.assign({
      step: step.id, result: outcome.text || null, reading: reading, ruled_out: without(state.left, left), left: left, taken: result
    }, more);
    var next = copy(state, Object.assign({ left: left, facts: facts, path: state.path.concat([visit]) }, putAway(data, state, step)));
    return follow(data, next, outcome.way);
  }

  /* The way of whoever can't take the reading: nothing is learned. */
  function skip(data, state, more) {
    var step = data.steps[state.at];
    if (!step.without) { return ended(data, state, "needs-reading"); }
    var visit = Object.assign({ step: step.id, result: null, reading: NOT_TAKEN, ruled_out: [], left: state.left }, more);
    return follow(data, copy(state, { path: state.path.concat([visit]) }), step.without);
  }

  /* Lists of equipment that the step asks for and that are not at hand. */
  function lacks(step, lacking) {
    return step.with.filter(function (any) { return any.length && without(any, lacking).length === 0; });
  }

  /* Passes over steps that ask nothing: routes, and steps whose equipment is lacking and that have another way to go. */
  function settle(data, state, lacking) {
    for (var most = 4 * data.steps.length; most > 0 && !state.end; most -= 1) {
      var meeting = state.class.meets[state.at];
      var step = data.steps[state.at];
      if (meeting.is === "route") {
        state = meeting.route === undefined ? ended(data, state, "no-result") : take(data, state, meeting.route, null, null);
      } else if (lacks(step, lacking || []).length && step.without && step.without.kind === "then") {
        state = skip(data, state, { passed: true });
      } else {
        return state;
      }
    }
    return state.end ? state : ended(data, state, "no-result");
  }

  /* The state after an entry { step, reading, record }; or { wrong }. */
  function enter(data, state, entry) {
    var meeting = state.class.meets[state.at];
    var more = { entry: entry };
    if (entry.reading === NOT_TAKEN) { return { state: skip(data, state, more) }; }
    if (meeting.is === "done") { return { state: take(data, state, 0, null, null, more) }; }
    var judged = judge(data, state, entry.reading);
    if (judged.wrong) { return judged; }
    return { state: take(data, state, judged.result, judged.learned, entry.reading, more), result: judged.result };
  }

  /* Walks a job's entries in order. An entry that is not asked for where it stands waits for its step to come; those that never
     come, or no longer fit, no longer count. */
  function walk(data, job) {
    var state = settle(data, start(data, job.vehicle, job.out), job.lacking);
    var waiting = job.entries.slice();
    var kept = [];
    var before = [];
    while (!state.end) {
      var id = data.steps[state.at].id;
      var next = waiting.findIndex(function (entry) { return entry.step === id; });
      if (next < 0) { break; }
      var entered = enter(data, state, waiting[next]);
      if (entered.wrong) { break; }
      before.push(state);
      kept.push(waiting.splice(next, 1)[0]);
      state = settle(data, entered.state, job.lacking);
    }
    return { state: state, kept: kept, dropped: waiting, before: before };
  }

  /* What `ruleout trace --format json` prints, for the same readings by step. */
  function trace(data, vehicle, readings) {
    var state = start(data, vehicle, []);
    var used = Object.create(null);
    var idle = 0;
    while (!state.end) {
      var meeting = state.class.meets[state.at];
      var id = data.steps[state.at].id;
      if (idle > data.steps.length + 1) { state = ended(data, state, "no-result"); break; }
      if (meeting.is === "route") {
        state = meeting.route === undefined ? ended(data, state, "no-result") : take(data, state, meeting.route, null, null);
        idle += 1;
      } else if (meeting.is === "done") {
        var said = (readings[id] || [])[used[id] || 0];
        var step = data.steps[state.at];
        if (said === NOT_TAKEN || (said === DONE && step.without)) { used[id] = (used[id] || 0) + 1; }
        state = said === NOT_TAKEN ? skip(data, state) : take(data, state, 0, null, null);
        idle = said === NOT_TAKEN ? 0 : idle + 1;
      } else {
        used[id] = used[id] || 0;
        var typed = (readings[id] || [])[used[id]];
        if (typed === undefined) { state = ended(data, state, "needs-reading"); break; }
        used[id] += 1;
        var entered = enter(data, state, { step: id, reading: typed });
        if (entered.wrong && !entered.none) { return { wrong: entered.wrong, step: id }; }
        state = entered.wrong ? ended(data, state, "no-result") : entered.state;
        idle = 0;
      }
    }
    return {
      procedure: data.id,
      vehicle: vehicle || null,
      path: state.path.map(function (visit) {
        return { step: visit.step, result: visit.result, reading: visit.reading, ruled_out: visit.ruled_out, left: visit.left };
      }),
      end: { kind: state.end.kind, causes: state.end.causes, step: state.end.step, text: state.end.text },
      undo: state.open.map(function (one) { return { step: one.step, text: one.text }; })
    };
  }

  return {
    NOT_TAKEN: NOT_TAKEN, DONE: DONE, classOf: classOf, stepAt: stepAt, start: start, judge: judge, enter: enter, walk: walk,
    settle: settle, lacks: lacks, trace: trace, read: read, without: without
  };
}());
