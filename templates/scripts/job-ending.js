/* How a job ends, on the page: the region Verdict, and the region Write-up. */
"use strict";
Ruleout.ending = (function () {
  var make = Ruleout.make;
  var account = Ruleout.account;

  function list(name, items) {
    return make("ul", { "aria-label": name }, items);
  }

  function texts(lines) {
    return lines.map(function (line) { return make("li", { text: line }); });
  }

  function titled(region, title, part) {
    region.appendChild(make("h3", { text: title }));
    region.appendChild(part);
  }

  /* The repair of one cause: what it may hurt first, then where it stands and what it takes. */
  function repair(data, one, several, act) {
    var fix = one.fix;
    var takes = (fix.with || []).concat(fix.minutes ? [fix.minutes + " min"] : []);
    return make("li", {}, [
      fix.cautions ? Ruleout.cautions(fix.cautions) : null,
      several ? one.title + ": " : null,
      make("a", { href: act.address(fix.link.to), text: fix.link.text }),
      one.part ? make("span", { class: "more", text: " " + one.part }) : null,
      takes.length ? make("span", { class: "more part", text: "Takes: " + takes.join(", ") }) : null,
      fix.undo ? make("span", { class: "more part", text: "Afterwards: " + fix.undo }) : null
    ]);
  }

  function confirming(data, causes, act) {
    var after = account.confirm(data, causes);
    return after.links.map(function (link) {
      return make("li", {}, [make("a", { href: act.address(link.to), text: link.text }), ": " + link.more]);
    }).concat(texts(after.notes));
  }

  /* The note of the result that ended the job. */
  function noteOf(data, state) {
    var last = state.path[state.path.length - 1];
    if (!last || last.taken === undefined || last.step !== state.end.step) { return null; }
    return data.steps[Ruleout.engine.stepAt(data, last.step)].results[last.taken].note;
  }

  /* The region Verdict. `act` holds what its buttons do. */
  function verdict(data, job, state, act) {
    var end = state.end;
    var region = make("section", { "aria-label": "Verdict", class: "job-verdict " + end.kind });
    function line(text, kind) { if (text) { region.appendChild(make("p", { class: kind, text: text })); } }
    region.appendChild(make("h2", { tabindex: "-1", text: account.headline(data, end) }));
    line(account.why(data, state));
    var marked = end.causes.filter(function (id) { return job.out.indexOf(id) >= 0; });
    var renewed = account.renewed(data, job, end.causes);
    line(marked.length ? "Marked as already ruled out: " + account.titles(data, marked).join("; ") + "." : "", "not-for");
    line(renewed.length ? account.renewedText(data, renewed) : "", "not-for");
    line(noteOf(data, state), "note");
    if (act.reason) { region.appendChild(act.reason); }
    if (end.kind === "jump") {
      region.appendChild(make("p", { class: "on" }, [make("a", { href: act.onward(end.link), "data-keep": true, text: "Go on with " + end.link.text })]));
    }
    if (state.open.length) {
      var back = region.appendChild(make("div", { class: "put-back" }));
      titled(back, "Put back", list("Put back", state.open.map(function (one) { return make("li", { text: one.text }); })));
    }
    var fixes = end.causes.map(function (id) { return account.cause(data, id); }).filter(function (one) { return one.fix; });
    if (fixes.length) {
      titled(region, "Repair", list("Repair", fixes.map(function (one) { return repair(data, one, end.causes.length > 1, act); })));
    }
    var confirm = account.isVerdict(end) ? confirming(data, end.causes, act) : [];
    if (confirm.length) { titled(region, "Confirm the repair", list("Confirm the repair", confirm)); }
    region.appendChild(act.note);
    region.appendChild(make("div", { class: "job-buttons" }, [
      make("button", { type: "button", class: "main", text: "Finish", on: { click: act.finish } }),
      account.isVerdict(end) ? make("button", { type: "button", text: "Still there", on: { click: act.still } }) : null
    ]));
    return region;
  }

  function pick(data, job, state, act) {
    var group = make("div", { role: "radiogroup", "aria-label": "Cause found", class: "job-radios" });
    state.end.causes.forEach(function (id) {
      var radio = make("input", { type: "radio", name: "cause_", value: id, checked: job.picked === id, on: { change: function () { act.pick(id); } } });
      group.appendChild(make("label", {}, [radio, make("span", { text: account.cause(data, id).title })]));
    });
    return make("div", {}, [make("p", { class: "job-label", text: "Cause found" }), group]);
  }

  function table(round) {
    var rows = round.readings.map(function (one) {
      var more = (one.with.length ? ["With: " + one.with.join(", ")] : []).concat(one.more);
      return make("tr", {}, [
        make("th", { scope: "row" }, [one.title].concat(more.map(function (line) { return make("span", { class: "more part", text: line }); }))),
        make("td", { text: one.reading }), make("td", { text: one.limit }), make("td", { text: one.result })
      ]);
    });
    return make("div", { class: "scroll", role: "region", tabindex: "0", "aria-label": round.title + " of this job" }, [make("table", {}, [
      make("thead", {}, [make("tr", {}, ["Step", "Reading", "Limits", "Result"].map(function (head) { return make("th", { scope: "col", text: head }); }))]),
      make("tbody", {}, rows)
    ])]);
  }

  /* The region Write-up. */
  function writeUp(data, job, state, vehicle, minutes, act) {
    var all = account.account(data, job, state, vehicle, minutes);
    var region = make("section", { "aria-label": "Write-up", class: "job-writeup" });
    all.parts.forEach(function (part, at) {
      region.appendChild(make("h3", { text: part.title, tabindex: at ? null : "-1" }));
      if (part.title === "Cause" && account.isVerdict(state.end) && state.end.causes.length > 1) { region.appendChild(pick(data, job, state, act)); }
      part.lines.forEach(function (line) { region.appendChild(make("p", { text: line })); });
    });
    all.rounds.forEach(function (round) { titled(region, round.title, table(round)); });
    var chosen = account.found(job, state.end);
    var several = account.isVerdict(state.end) && state.end.causes.length > 1;
    region.appendChild(make("div", { class: "job-buttons" }, [
      make("button", { type: "button", class: "main", text: "Copy write-up", on: { click: function () { act.copy(account.asText(all)); } } }),
      make("button", { type: "button", text: "Print", on: { click: act.print } }),
      chosen || several ? make("button", { type: "button", text: "Save case file", disabled: !chosen, on: { click: function () {
        Ruleout.jobs.save(job.id + ".yaml", account.asCase(data, job, state, minutes), "application/yaml");
      } } }) : null
    ]));
    if (several && !chosen) { region.appendChild(make("p", { class: "note", text: "Pick the cause that was found: the case file names one." })); }
    return region;
  }

  /* Puts a text on the clipboard; `said` is told whether that worked. */
  function copy(text, said) {
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

  return { verdict: verdict, writeUp: writeUp, copy: copy };
}());
