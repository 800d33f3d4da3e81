/* Elements of a job's part of the page. */
"use strict";
/* An element with attributes and children; a text is a text, never HTML. */
Ruleout.make = function (name, attributes, children) {
  var made = document.createElement(name);
  Object.keys(attributes || {}).forEach(function (key) {
    var value = attributes[key];
    if (key === "text") { made.textContent = value; } else if (key === "on") {
      Object.keys(value).forEach(function (event) { made.addEventListener(event, value[event]); });
    } else if (value === true) { made.setAttribute(key, ""); } else if (value !== false && value !== null && value !== undefined) {
      made.setAttribute(key, value);
    }
  });
  (children || []).forEach(function (child) {
    if (child) { made.appendChild(typeof child === "string" ? document.createTextNode(child) : child); }
  });
  return made;
};

/* Cautions, drawn as the page draws its own: the sign is copied from one that stands there. */
Ruleout.cautions = function (list) {
  var make = Ruleout.make;
  return make("ul", { class: "cautions" }, list.map(function (one) {
    var sign = one.signal !== "notice" && document.querySelector(".signal > .alert");
    return make("li", { class: "caution " + one.signal }, [
      make("strong", { class: "signal" }, [sign ? sign.cloneNode(true) : null, one.signal.toUpperCase()]), " ",
      make("span", { class: "caution-text", text: one.text })
    ]);
  }));
};

/* A line of text to fill in, under its label. */
Ruleout.line = function (label, value, more) {
  var input = Ruleout.make("input", Object.assign({ type: "text", autocomplete: "off", value: value || null }, more));
  return Ruleout.make("label", { class: "job-box wide" }, [Ruleout.make("span", { text: label }), input]);
};
