/* What a job knows so far: the lists Causes left, Ruled out and Readings so far, and the time spent. */
"use strict";
Ruleout.lists = (function () {
  var make = Ruleout.make;
  var account = Ruleout.account;

  function titled(title, items, more) {
    return make("div", {}, [make("h3", { text: title }), make("ul", { "aria-label": title }, items)].concat(more || []));
  }

  /* The three lists where the job stands at `state`. */
  function lists(now, state, change) {
    var data = now.data;
    var out = state.class.causes.filter(function (id) { return state.left.indexOf(id) < 0; });
    function causes(ids) {
      /* The mark is drawn by the style sheet: the item itself is the cause's title and nothing else. */
      return ids.map(function (id) {
        var renewed = now.job.renewed.indexOf(id) >= 0;
        return make("li", { class: renewed ? "renewed" : null, text: account.cause(data, id).title });
      });
    }
    var marked = account.renewed(data, now.job, state.left);
    var readings = now.walk.state.path.filter(function (visit) { return visit.reading !== null && !visit.passed; }).map(function (visit) {
      var title = account.stepTitle(data, visit.step);
      var result = visit.result && visit.result !== visit.reading ? ": " + visit.result : "";
      var why = visit.entry.why ? ": " + visit.entry.why : "";
      return make("li", {}, [
        make("span", {}, [make("b", { text: title }), " " + visit.reading + result + why]),
        make("button", { type: "button", text: "Change", "aria-label": "Change " + title, on: { click: function () { change(now.walk.kept.indexOf(visit.entry)); } } })
      ]);
    });
    var passed = now.walk.state.path.filter(function (visit) { return visit.passed; }).map(function (visit) { return account.stepTitle(data, visit.step); });
    return [
      titled("Causes left", causes(state.left), marked.length ? [make("p", { class: "note", text: account.renewedText(data, marked) })] : []),
      titled("Ruled out", causes(out)),
      titled("Readings so far", readings, passed.length ? [make("p", { class: "note", text: "Passed over, equipment not at hand: " + passed.join("; ") + "." })] : [])
    ];
  }

  /* The time spent: { element, show }. `act` corrects it and stops or starts the clock. */
  function time(act) {
    var box = make("input", { type: "text", inputmode: "numeric", autocomplete: "off", on: { change: function () {
      var said = box.value.trim();
      if (/^\d{1,5}$/.test(said)) { act.correct(Number(said)); } else { act.correct(null); }
    } } });
    var button = make("button", { type: "button", text: "Pause", on: { click: act.pause } });
    return {
      element: make("div", { class: "job-time" }, [make("label", { class: "job-box" }, [make("span", { text: "Minutes spent" }), box]), button]),
      show: function (minutes, runs, finished) {
        if (document.activeElement !== box) { box.value = String(minutes); }
        button.textContent = runs ? "Pause" : "Go on";
        button.hidden = finished;
      }
    };
  }

  return { lists: lists, time: time };
}());
