/* The boxes in which a reading is typed or tapped. What stands in them goes out as text, as a case file writes it. */
"use strict";
Ruleout.reading = (function () {
  var make = Ruleout.make;
  var numbers = Ruleout.numbers;

  function box(label, value, changed) {
    var input = make("input", { type: "text", autocomplete: "off", autocapitalize: "off", inputmode: "decimal", value: value || null, on: { input: changed } });
    return { element: make("label", { class: "job-box" }, [make("span", { text: label }), input]), input: input };
  }

  function units(quantity, chosen, changed) {
    if (quantity.units.length < 2) { return null; }
    var select = make("select", { autocomplete: "off", on: { change: changed } }, quantity.units.map(function (unit) {
      return make("option", { text: unit.symbol, value: unit.symbol });
    }));
    select.value = chosen;
    return { element: make("label", { class: "job-box unit" }, [make("span", { text: "Unit" }), select]), input: select };
  }

  /* "12.4 V" as number and unit. */
  function split(text) {
    var parts = /^\s*([-\u2212]?[\d.,]+)\s*(.*?)\s*$/.exec(text || "");
    return parts ? { number: parts[1], unit: parts[2] } : { number: "", unit: "" };
  }

  /* The unit as it is written: "12 v" is meant to be volts, but "mv" may be two things. */
  function meant(typed, quantity) {
    if (numbers.unit(quantity, typed)) { return typed; }
    var alike = quantity.units.filter(function (one) { return one.symbol.toLowerCase() === typed.toLowerCase(); });
    return alike.length === 1 ? alike[0].symbol : typed;
  }

  /* A typed number with the unit beside it; a unit typed behind the number holds. */
  function written(typed, unit, quantity) {
    var parts = split(typed.replace(/^\+/, ""));
    var number = parts.number && numbers.tidy(parts.number);
    /* No number is told as it was typed. */
    if (!number) { return typed.trim(); }
    return (number + " " + (parts.unit ? meant(parts.unit, quantity) : unit)).trim();
  }

  function unitOf(select, quantity) {
    return select ? select.input.value : quantity.units.length ? quantity.units[0].symbol : "";
  }

  /* Radios, one a label. */
  function labels(step, before, changed) {
    var group = make("div", { role: "radiogroup", "aria-label": "Result", class: "job-radios" });
    step.results.forEach(function (result) {
      var radio = make("input", { type: "radio", name: "result_", value: result.text, checked: before === result.text, on: { change: changed } });
      group.appendChild(make("label", {}, [radio, make("span", { text: result.text })]));
    });
    return {
      element: group,
      text: function () {
        var chosen = group.querySelector("input:checked");
        return chosen ? chosen.value : "";
      }
    };
  }

  /* One number from several. */
  function parts(step, quantity, before, changed) {
    var known = before ? before.split(/,(?!\d)/).map(split) : [];
    var unit = units(quantity, known.length && known[0].unit || step.parts.unit, changed);
    var rows = make("div", { class: "job-row" }, [unit && unit.element]);
    var boxes = [];
    function add(label, value) {
      var one = box(label, value, changed);
      boxes.push(one.input);
      rows.insertBefore(one.element, unit && unit.element);
      return one.input;
    }
    var names = step.parts.names.length ? step.parts.names : ["Reading 1", "Reading 2"];
    names.forEach(function (name, at) { add(name, known[at] && known[at].number); });
    var element = make("div", {}, [rows]);
    if (!step.parts.names.length && step.parts.take !== "difference") {
      for (var at = 2; at < known.length; at += 1) { add("Reading " + (at + 1), known[at].number); }
      element.appendChild(make("button", { type: "button", text: "Add a reading", on: { click: function () {
        add("Reading " + (boxes.length + 1), "").focus();
        changed();
      } } }));
    }
    return {
      element: element,
      text: function () {
        var texts = boxes.map(function (input) { return input.value.trim(); });
        /* Rows that were added and left empty do not count. */
        while (texts.length > 2 && !texts[texts.length - 1]) { texts.pop(); }
        if (texts.some(function (text) { return !text; })) { return ""; }
        return texts.map(function (text) { return written(text, unitOf(unit, quantity), quantity); }).join(", ");
      },
      begun: function () { return boxes.some(function (input) { return input.value.trim(); }); }
    };
  }

  /* What meters show for an open circuit. */
  var OVER = /^(o\.?l\.?|∞|open( circuit)?)$/i;

  /* One amount. */
  function amount(step, quantity, before, changed) {
    var wasOpen = before === "open circuit";
    var known = wasOpen ? split("") : split(before);
    var one = box("Reading", known.number, changed);
    var unit = units(quantity, known.unit || step.unit, changed);
    var open = null;
    var row = make("div", { class: "job-row" }, [one.element, unit && unit.element]);
    if (quantity.open) {
      open = make("input", { type: "checkbox", checked: wasOpen, on: { change: function () { one.input.disabled = open.checked; changed(); } } });
      one.input.disabled = wasOpen;
      row.appendChild(make("label", { class: "job-check" }, [open, make("span", { text: "Open circuit" })]));
    }
    return {
      element: row,
      text: function () {
        if (open && (open.checked || OVER.test(one.input.value.trim()))) { return "open circuit"; }
        return one.input.value.trim() ? written(one.input.value, unitOf(unit, quantity), quantity) : "";
      }
    };
  }

  /* The boxes of a step; `before` is what was read there last, `changed` is told of every change. */
  return function (data, step, meeting, before, changed) {
    if (before === Ruleout.engine.NOT_TAKEN) { before = ""; }
    if (step.kind === "observe" || meeting.is === "blind") { return labels(step, before, changed); }
    if (step.parts) { return parts(step, data.quantities[step.parts.of], before, changed); }
    return amount(step, data.quantities[step.quantity], before, changed);
  };
}());
