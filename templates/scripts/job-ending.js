/* How a job ends: the verdict, and the write-up. */
"use strict";
Ruleout.ending = (function () {
  var make = Ruleout.make;

  function cause(data, id) {
    return data.causes.find(function (one) { return one.id === id; }) || { id: id, title: id };
  }

  function titles(data, ids) {
    return ids.map(function (id) { return cause(data, id).title; });
  }

  function stepTitle(data, id) {
    return data.steps[Ruleout.engine.stepAt(data, id)].title;
  }

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
      case "needs-reading": return "“" + stepTitle(data, end.step) + "” could not be done, and there is no other way on from here. Still open: " + titles(data, state.left).join("; ") + ".";
      case "no-result": return "The procedure has no way on from “" + stepTitle(data, end.step) + "”.";
      default: return end.kind === "jump" ? "" : end.text || "";
    }
  }

  function list(name, items) {
    return make("ul", { "aria-label": name }, items);
  }

  /* The region Verdict. `act` holds what its buttons do. */
  function verdict(data, job, state, act) {
    var end = state.end;
    var region = make("section", { "aria-label": "Verdict", class: "job-verdict " + end.kind });
    region.appendChild(make("h2", { tabindex: "-1", text: headline(data, end) }));
    if (why(data, state)) { region.appendChild(make("p", { text: why(data, state) })); }
    var marked = end.causes.filter(function (id) { return job.out.indexOf(id) >= 0; });
    if (marked.length) { region.appendChild(make("p", { class: "not-for", text: "Marked as already ruled out: " + titles(data, marked).join("; ") + "." })); }
    var note = state.path.length && state.path[state.path.length - 1].taken !== undefined
      ? data.steps[Ruleout.engine.stepAt(data, end.step)].results[state.path[state.path.length - 1].taken].note : null;
    if (note) { region.appendChild(make("p", { class: "note", text: note })); }
    if (end.kind === "jump") {
      region.appendChild(make("p", { class: "on" }, [make("a", { href: act.onward(end.link), "data-keep": true, text: "Go on with " + end.link.text })]));
    }
    if (state.open.length) {
      region.appendChild(make("h3", { text: "Put back" }));
      region.appendChild(list("Put back", state.open.map(function (one) { return make("li", { text: one.text }); })));
    }
    var fixes = end.causes.map(function (id) { return cause(data, id); }).filter(function (one) { return one.fix; });
    if (fixes.length) {
      region.appendChild(make("h3", { text: "Repair" }));
      region.appendChild(list("Repair", fixes.map(function (one) {
        return make("li", {}, [
          end.causes.length > 1 ? one.title + ": " : null,
          make("a", { href: act.address(one.fix.to), text: one.fix.text }),
          one.part ? make("span", { class: "more", text: " " + one.part }) : null
        ]);
      })));
    }
    var confirm = document.querySelector(".confirm");
    if (isVerdict(end) && confirm) {
      var copy = confirm.cloneNode(true);
      copy.setAttribute("aria-label", "Confirm the repair");
      region.appendChild(make("h3", { text: "Confirm the repair" }));
      region.appendChild(copy);
    }
    region.appendChild(make("div", { class: "job-buttons" }, [
      make("button", { type: "button", class: "main", text: "Finish", on: { click: act.finish } }),
      isVerdict(end) ? make("button", { type: "button", text: "Still there", on: { click: act.still } }) : null,
      job.entries.length ? make("button", { type: "button", text: "Back", on: { click: act.back } }) : null
    ]));
    return region;
  }

  /* The readings of a walk: { step, title, reading, limit, result, record }. */
  function readings(data, state) {
    return state.path.filter(function (visit) { return visit.reading !== null || visit.entry && visit.entry.record; }).map(function (visit) {
      var at = Ruleout.engine.stepAt(data, visit.step);
      var meeting = state.class.meets[at];
      var record = visit.entry && visit.entry.record || {};
      return {
        step: visit.step, title: data.steps[at].title, reading: visit.reading || "done", result: visit.result || "",
        limit: meeting.limit || (meeting.words && meeting.words[visit.taken]) || "",
        record: Object.keys(record).filter(function (field) { return record[field]; }).map(function (field) { return field + ": " + record[field]; })
      };
    });
  }

  function found(job, end) {
    if (end.kind === "normal") { return "no-fault"; }
    if (!isVerdict(end)) { return ""; }
    if (end.causes.length === 1) { return end.causes[0]; }
    return end.causes.indexOf(job.picked) >= 0 ? job.picked : "";
  }

  /* The write-up as headings, lines and readings. */
  function account(data, job, state, vehicle) {
    var end = state.end;
    var chosen = found(job, end);
    var causes = chosen && chosen !== "no-fault" ? [chosen] : end.causes;
    var correction = [];
    causes.forEach(function (id) {
      var one = cause(data, id);
      if (one.fix) { correction.push(one.fix.text + (one.part ? " (" + one.part + ")" : "")); }
    });
    state.open.forEach(function (one) { correction.push("Put back: " + one.text); });
    var about = [data.complaint];
    if (vehicle) { about.push("Vehicle: " + vehicle); }
    if (data.codes.length) { about.push("Fault codes: " + data.codes.join(", ")); }
    var said = chosen && chosen !== "no-fault" ? [cause(data, chosen).title] : [headline(data, end)];
    if (why(data, state)) { said.push(why(data, state)); }
    job.earlier.forEach(function (round) {
      said.push("Repaired before, and still there: " + titles(data, round.causes).join("; "));
    });
    return {
      parts: [
        { title: "Complaint", lines: about },
        { title: "Cause", lines: said },
        { title: "Correction", lines: correction.length ? correction : ["None"] }
      ],
      readings: readings(data, state)
    };
  }

  function asText(all) {
    var text = all.parts.map(function (part) { return part.title + "\n" + part.lines.map(function (line) { return "  " + line; }).join("\n"); });
    text.push("Readings\n" + all.readings.map(function (one) {
      return "  " + one.title + ": " + one.reading + (one.result && one.result !== one.reading ? ", " + one.result : "") + (one.limit ? " (limits: " + one.limit + ")" : "") +
        one.record.map(function (line) { return "\n    " + line; }).join("");
    }).join("\n"));
    return text.join("\n\n") + "\n";
  }

  /* A case file, as the author's folder takes it. JSON's quoting is YAML's too. */
  function asCase(data, job, state) {
    var order = [];
    var by = {};
    state.path.forEach(function (visit) {
      if (visit.reading === null) { return; }
      if (!by[visit.step]) { by[visit.step] = []; order.push(visit.step); }
      by[visit.step].push(visit.reading);
    });
    var lines = ["procedure: " + job.procedure];
    if (job.vehicle) { lines.push("vehicle: " + job.vehicle); }
    lines.push(order.length ? "readings:" : "readings: {}");
    order.forEach(function (step) {
      var quoted = by[step].map(function (one) { return JSON.stringify(one); });
      lines.push("  " + step + ": " + (quoted.length > 1 ? "[" + quoted.join(", ") + "]" : quoted[0]));
    });
    lines.push("cause: " + found(job, state.end));
    var notes = readings(data, state).reduce(function (all, one) { return all.concat(one.record); }, []);
    if (notes.length) { lines.push("note: " + JSON.stringify(notes.join("; "))); }
    return lines.join("\n") + "\n";
  }

  function pick(data, job, state, act) {
    var group = make("div", { role: "radiogroup", "aria-label": "Cause found", class: "job-radios" });
    state.end.causes.forEach(function (id) {
      var radio = make("input", { type: "radio", name: "cause_", value: id, checked: job.picked === id, on: { change: function () { act.pick(id); } } });
      group.appendChild(make("label", {}, [radio, make("span", { text: cause(data, id).title })]));
    });
    return make("div", {}, [make("p", { class: "job-label", text: "Cause found" }), group]);
  }

  /* The region Write-up. */
  function writeUp(data, job, state, vehicle, act) {
    var all = account(data, job, state, vehicle);
    var region = make("section", { "aria-label": "Write-up", class: "job-writeup" });
    all.parts.forEach(function (part, at) {
      region.appendChild(make("h3", { text: part.title, tabindex: at ? null : "-1" }));
      if (part.title === "Cause" && isVerdict(state.end) && state.end.causes.length > 1) { region.appendChild(pick(data, job, state, act)); }
      part.lines.forEach(function (line) { region.appendChild(make("p", { text: line })); });
    });
    region.appendChild(make("h3", { text: "Readings" }));
    var rows = all.readings.map(function (one) {
      return make("tr", {}, [
        make("th", { scope: "row" }, [one.title].concat(one.record.map(function (line) { return make("span", { class: "more part", text: line }); }))),
        make("td", { text: one.reading }), make("td", { text: one.limit }), make("td", { text: one.result })
      ]);
    });
    region.appendChild(make("div", { class: "scroll", role: "region", tabindex: "0", "aria-label": "Readings of this job" }, [make("table", {}, [
      make("thead", {}, [make("tr", {}, ["Step", "Reading", "Limits", "Result"].map(function (head) { return make("th", { scope: "col", text: head }); }))]),
      make("tbody", {}, rows)
    ])]));
    var chosen = found(job, state.end);
    var several = isVerdict(state.end) && state.end.causes.length > 1;
    region.appendChild(make("div", { class: "job-buttons" }, [
      make("button", { type: "button", class: "main", text: "Copy write-up", on: { click: function () { act.copy(asText(all)); } } }),
      make("button", { type: "button", text: "Print", on: { click: act.print } }),
      chosen || several ? make("button", { type: "button", text: "Save case file", disabled: !chosen, on: { click: function () {
        Ruleout.jobs.save(job.id + ".yaml", asCase(data, job, state), "application/yaml");
      } } }) : null
    ]));
    return region;
  }

  return { verdict: verdict, writeUp: writeUp, headline: headline, cause: cause, titles: titles, stepTitle: stepTitle, asCase: asCase };
}());
