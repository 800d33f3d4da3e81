/* What stands on the page beside a job: Start job, its file and link, the equipment at hand, what is already ruled out, what was renewed. */
"use strict";
Ruleout.beside = function (data, act) {
  var make = Ruleout.make;

  function ticked(fold, wanted) {
    return Array.prototype.filter.call(fold.boxes, function (input) { return input.checked === wanted; })
      .map(function (input) { return input.value; });
  }

  function tick(fold, ids, checked) {
    Array.prototype.forEach.call(fold.boxes, function (input) { input.checked = (ids.indexOf(input.value) >= 0) === checked; });
  }

  function fold(title, rows, checked, more, note) {
    var group = make("div", { role: "group", "aria-label": title, class: "job-checks" }, rows.map(function (row) {
      var box = make("input", Object.assign({ type: "checkbox", value: row.id, checked: checked, autocomplete: "off", on: { change: changed } }, more));
      return make("label", { class: "job-check" }, [box, make("span", { text: row.title })]);
    }));
    return {
      boxes: group.querySelectorAll("input"),
      element: make("details", {}, [make("summary", { text: title }), note ? make("p", { class: "note", text: note }) : null, group])
    };
  }

  function changed() {
    lacks();
    Ruleout.remember("lacking", lacking([]).join(" "));
    act.changed();
  }

  var real = data.causes.filter(function (one) { return one.id !== "no-fault"; });
  var equipment = fold("Equipment at hand", data.equipment, true);
  var out = fold("Already ruled out", real, false);
  /* Not a check that rules anything out: named by the part, so that the two can't be mistaken for each other. */
  var renewed = fold("Part recently renewed", real.map(function (one) {
    return { id: one.id, title: (one.part || "Part") + ", against: " + one.title };
  }), false, { role: "switch" }, "It counts for nothing: renewed recently is not proof. It is only noted beside the cause and in the write-up.");
  var link = make("a", { text: "Link to this job", "data-keep": true, href: "#" });
  var says = make("p", { role: "status", class: "note job-says" });
  var missing = make("p", { class: "note job-says" });
  var bar = make("section", { "aria-label": "Work the job", class: "job-bar" }, [
    make("div", { class: "job-buttons" }, [
      make("button", { type: "button", class: "main", text: "Start job", on: { click: act.start } }),
      make("button", { type: "button", text: "Save job file", on: { click: act.save } }), link
    ]),
    make("div", { class: "job-folds" }, [data.equipment.length ? equipment.element : null, out.element, renewed.element]), missing, says
  ]);

  function lacks() {
    var names = data.equipment.filter(function (one) { return ticked(equipment, false).indexOf(one.id) >= 0; }).map(function (one) { return one.title; });
    missing.textContent = names.length ? "Not at hand: " + names.join("; ") + ". Steps that need it fall back where they can." : "";
  }

  function isHere(id) { return data.equipment.some(function (one) { return one.id === id; }); }

  /* Equipment not at hand. What other procedures' jobs lack, and this one doesn't ask for, is kept. */
  function lacking(before) {
    var known = before.concat(Ruleout.remember("lacking").split(" ").filter(Boolean));
    var elsewhere = known.filter(function (id, at) { return !isHere(id) && known.indexOf(id) === at; });
    return ticked(equipment, false).concat(elsewhere);
  }

  tick(equipment, Ruleout.remember("lacking").split(" "), false);
  lacks();

  return {
    element: bar,
    say: function (text) { says.textContent = text; },
    link: function (address) { link.setAttribute("href", address); },
    out: function () { return ticked(out, true); },
    renewed: function () { return ticked(renewed, true); },
    lacking: lacking,
    /* Shows what a job holds. */
    show: function (job) {
      tick(out, job.out, true);
      tick(renewed, job.renewed, true);
      tick(equipment, job.lacking, false);
      lacks();
    },
    /* Only the causes of the vehicle. */
    only: function (group) {
      [out, renewed].forEach(function (one) {
        Array.prototype.forEach.call(one.boxes, function (input) {
          input.parentNode.hidden = Boolean(group) && group.causes.indexOf(input.value) < 0;
        });
      });
    }
  };
};
