/* What a job comes to, in words: the ending, the write-up, the case file. No page, no clock. */
"use strict";
Ruleout.account = (function () {
  function cause(data, id) {
    return data.causes.find(function (one) { return one.id === id; }) || { id: id, title: id };
  }

  function titles(data, ids) {
    return ids.map(function (id) { return cause(data, id).title; });
  }

  function stepOf(data, id) { return data.steps[Ruleout.engine.stepAt(data, id)]; }
  function stepTitle(data, id) { return stepOf(data, id).title; }

  /* The ending in one line. */
  function headline(data, end) {
    var names = titles(data, end.causes).join(", ");
    switch (end.kind) {
      case "shows": return "This is the fault: " + names;
      case "found": return end.causes.length > 1 ? "Can't tell apart: " + names : end.causes.length ? "Nothing else is left: " + names : "Nothing on the list is left";
      case "normal": return "Works as it should";
      case "unproven": return "The fault did not show itself";
      case "refer": return "Hand over";
      case "jump": return "Go on with another procedure";
      default: return "No verdict";
    }
  }

  function isVerdict(end) { return (end.kind === "shows" || end.kind === "found") && end.causes.length > 0; }

  /* Why, in a sentence. */
  function why(data, state) {
    var end = state.end;
    var last = state.path[state.path.length - 1];
    switch (end.kind) {
      case "shows": return "Shown at “" + stepTitle(data, end.step) + "”: " + last.result + ".";
      case "found": return "The readings so far rule out all else. One fault at a time is assumed.";
      case "needs-reading": return "“" + stepTitle(data, end.step) + "” could not be done, and there is no other way on from here. Still open: " +
        (titles(data, state.left).join("; ") || "nothing on the list") + ".";
      case "no-result": return "The procedure has no way on from “" + stepTitle(data, end.step) + "”.";
      default: return end.kind === "jump" ? "" : end.text || "";
    }
  }

  /* Causes of a list whose part is marked as renewed. */
  function renewed(data, job, ids) {
    return ids.filter(function (id) { return job.renewed.indexOf(id) >= 0; });
  }

  function renewedText(data, ids) {
    return "Part renewed recently: " + titles(data, ids).join("; ") + ". Renewed recently is not proof that it is good.";
  }

  /* How the repair of these causes is confirmed: what the procedure asks for and what their repairs ask for add up. */
  function confirm(data, ids) {
    var all = [data.after].concat(ids.map(function (id) { return (cause(data, id).fix || {}).after; }).filter(Boolean));
    var links = [];
    all.forEach(function (after) {
      (after.confirm || []).forEach(function (link) {
        if (!links.some(function (known) { return known.to === link.to && known.more === link.more; })) { links.push(link); }
      });
    });
    var trips = Math.max.apply(null, all.map(function (after) { return after.trips; }));
    var codes = data.codes.join(", ");
    var notes = [];
    if (all.some(function (after) { return after.clear; })) { notes.push(codes ? "Clear the fault codes: " + codes + "." : "Clear the fault codes."); }
    if (trips > 0 && data.codes.length) {
      notes.push((trips === 1 ? "Drive one trip" : "Drive " + trips + " trips") + " and read the codes again.");
      notes = notes.concat(data.monitors || []);
    }
    return { links: links, notes: notes };
  }

  /* What an entry adds to its reading. */
  function more(visit) {
    var entry = visit.entry || {};
    var record = entry.record || {};
    var lines = Object.keys(record).filter(function (field) { return record[field]; }).map(function (field) { return field + ": " + record[field]; });
    if (visit.passed) { lines.push("Reason: equipment not at hand"); } else if (entry.why) { lines.push("Reason: " + entry.why); }
    if (entry.note) { lines.push("Note: " + entry.note); }
    return lines;
  }

  function equipment(data, job, step) {
    return step.with.map(function (any) {
      var here = Ruleout.engine.without(any, job.lacking);
      return (here.length ? here : any).map(function (id) { return data.equipment.find(function (one) { return one.id === id; }).title; }).join(" or ");
    });
  }

  /* The readings of a walk: { step, title, reading, limit, result, with, more }. */
  function readings(data, job, state) {
    var rows = state.path.filter(function (visit) { return visit.reading !== null || more(visit).length; }).map(function (visit) {
      var at = Ruleout.engine.stepAt(data, visit.step);
      var meeting = state.class.meets[at];
      var taken = visit.reading !== Ruleout.engine.NOT_TAKEN;
      return {
        step: visit.step, title: data.steps[at].title, reading: visit.reading || "done", result: visit.result || "",
        limit: taken && (meeting.limit || (meeting.words && meeting.words[visit.taken])) || "",
        with: taken ? equipment(data, job, data.steps[at]) : [], more: more(visit)
      };
    });
    if (state.end && state.end.kind === "needs-reading") {
      var last = job.entries[job.entries.length - 1] || {};
      rows.push({ step: state.end.step, title: stepTitle(data, state.end.step), reading: Ruleout.engine.NOT_TAKEN, result: "", limit: "", with: [], more: more({ entry: last }) });
    }
    return rows;
  }

  /* The cause that the case names; nothing while it is to be picked, or after an ending without one. */
  function found(job, end) {
    if (end.kind === "normal") { return "no-fault"; }
    if (!isVerdict(end)) { return ""; }
    if (end.causes.length === 1) { return end.causes[0]; }
    return end.causes.indexOf(job.picked) >= 0 ? job.picked : "";
  }

  function corrected(data, causes, open) {
    var lines = [];
    causes.forEach(function (id) {
      var one = cause(data, id);
      if (!one.fix) { return; }
      lines.push(one.fix.link.text + (one.part ? " (" + one.part + ")" : ""));
      if (one.fix.undo) { lines.push("Afterwards: " + one.fix.undo); }
    });
    open.forEach(function (one) { lines.push("Put back: " + one.text); });
    if (causes.length) {
      var after = confirm(data, causes);
      after.links.forEach(function (link) { lines.push("Confirm: " + link.text + ": " + link.more); });
      lines = lines.concat(after.notes);
    }
    return lines.length ? lines : ["None"];
  }

  /* The write-up: { parts: [{ title, lines }], rounds: [{ title, readings }] }. */
  function account(data, job, state, vehicle, minutes) {
    var end = state.end;
    var chosen = found(job, end);
    var causes = chosen && chosen !== "no-fault" ? [chosen] : end.causes;
    var about = [data.complaint];
    if (vehicle) { about.push("Vehicle: " + vehicle); }
    if (data.codes.length) { about.push("Fault codes: " + data.codes.join(", ")); }
    var said = chosen && chosen !== "no-fault" ? [cause(data, chosen).title] : [headline(data, end)];
    if (why(data, state)) { said.push(why(data, state)); }
    job.earlier.forEach(function (round) {
      said.push("Repaired before, and still there: " + titles(data, round.causes).join("; "));
    });
    var repaired = job.earlier.reduce(function (all, round) { return all.concat(round.causes); }, []);
    var out = Ruleout.engine.without(job.out, repaired);
    if (out.length) { said.push("Ruled out before the job: " + titles(data, out).join("; ")); }
    if (job.renewed.length) { said.push(renewedText(data, job.renewed)); }
    if (job.note) { said.push("Note: " + job.note); }
    var correction = corrected(data, causes, state.open);
    correction.push("Time spent: " + minutes + (minutes === 1 ? " minute" : " minutes"));
    var rounds = job.earlier.map(function (round, at) {
      var walked = Ruleout.engine.walk(data, { vehicle: job.vehicle, out: [], lacking: job.lacking, entries: round.entries });
      return { title: at ? "Readings before repair " + (at + 1) : "Readings before the first repair", readings: readings(data, job, walked.state) };
    });
    return {
      parts: [
        { title: "Complaint", lines: about },
        { title: "Cause", lines: said },
        { title: "Correction", lines: correction }
      ],
      rounds: rounds.concat([{ title: "Readings", readings: readings(data, job, state) }])
    };
  }

  function asText(all) {
    var text = all.parts.map(function (part) { return part.title + "\n" + part.lines.map(function (line) { return "  " + line; }).join("\n"); });
    all.rounds.forEach(function (round) {
      text.push(round.title + "\n" + round.readings.map(function (one) {
        return "  " + one.title + ": " + one.reading + (one.result && one.result !== one.reading ? ", " + one.result : "") + (one.limit ? " (limits: " + one.limit + ")" : "") +
          (one.with.length ? "\n    With: " + one.with.join(", ") : "") + one.more.map(function (line) { return "\n    " + line; }).join("");
      }).join("\n"));
    });
    return text.join("\n\n") + "\n";
  }

  /* The readings of a case by step. An action is written only where it was not taken, and then from its first visit on. */
  function caseReadings(data, state) {
    var by = Object.create(null);
    state.path.forEach(function (visit) {
      var kind = stepOf(data, visit.step).kind;
      if (kind === "which") { return; }
      (by[visit.step] = by[visit.step] || []).push(visit.reading === null ? Ruleout.engine.DONE : visit.reading);
    });
    Object.keys(by).forEach(function (step) {
      if (stepOf(data, step).kind !== "do") { return; }
      by[step] = by[step].slice(0, by[step].lastIndexOf(Ruleout.engine.NOT_TAKEN) + 1);
      if (!by[step].length) { delete by[step]; }
    });
    return by;
  }

  /* A case file, as the author's folder takes it. JSON's quoting is YAML's too. */
  function asCase(data, job, state, minutes) {
    var by = caseReadings(data, state);
    var lines = ["procedure: " + job.procedure];
    if (job.vehicle) { lines.push("vehicle: " + job.vehicle); }
    lines.push(Object.keys(by).length ? "readings:" : "readings: {}");
    Object.keys(by).forEach(function (step) {
      var quoted = by[step].map(function (one) { return JSON.stringify(one); });
      lines.push("  " + step + ": " + (quoted.length > 1 ? "[" + quoted.join(", ") + "]" : quoted[0]));
    });
    lines.push("cause: " + found(job, state.end));
    if (minutes > 0) { lines.push("minutes: " + minutes); }
    var notes = readings(data, job, state).filter(function (one) { return one.more.length; }).map(function (one) { return one.title + ": " + one.more.join(", "); });
    if (job.renewed.length) { notes.push(renewedText(data, job.renewed)); }
    if (job.note) { notes.push(job.note); }
    if (notes.length) { lines.push("note: " + JSON.stringify(notes.join("; "))); }
    return lines.join("\n") + "\n";
  }

  return {
    cause: cause, titles: titles, stepTitle: stepTitle, headline: headline, isVerdict: isVerdict, why: why, renewed: renewed, renewedText: renewedText,
    confirm: confirm, found: found, account: account, asText: asText, asCase: asCase
  };
}());
