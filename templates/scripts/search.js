/* The search box: the index loads when the box is first used. Results are plain links in a list. */
"use strict";
Ruleout.search = (function () {
  var box = document.getElementById("search_");
  var panel = document.getElementById("hits_");
  var list = document.getElementById("hits_list_");
  var says = document.getElementById("hits_says_");
  var root = document.body.getAttribute("data-root");
  var kinds = {
    procedures: "Procedure", codes: "Fault code", specs: "Spec", systems: "System", checks: "Check", repairs: "Repair",
    equipment: "Equipment", vehicles: "Vehicle", setups: "Preparation", hazards: "Hazard", terms: "Term", rules: "Rule"
  };
  var asked = false;
  var index = null;
  var data = null;
  var codes = [];

  function load(name) {
    var script = document.createElement("script");
    script.src = root + name;
    script.async = false;
    document.head.appendChild(script);
  }

  function need() {
    if (asked) { return; }
    asked = true;
    load(document.body.getAttribute("data-library"));
    load(document.body.getAttribute("data-index"));
  }

  /* Called by the index's own script. */
  function got(all) {
    data = all;
    index = MiniSearch.loadJS(all.index, Ruleout.words.options);
    codes = Object.keys(all.index.documentIds).map(function (at) { return all.index.documentIds[at]; })
      .filter(function (id) { return id.indexOf("codes/") === 0; }).map(function (id) { return id.slice(6); });
    show();
  }

  function element(name, text, kind) {
    var made = document.createElement(name);
    if (text) { made.textContent = text; }
    if (kind) { made.className = kind; }
    return made;
  }

  function add(id, title, on) {
    var item = element("li");
    var link = element("a");
    link.href = Ruleout.vehicle.carry(root + id + ".html");
    link.appendChild(element("span", kinds[id.split("/")[0]], "hits-kind"));
    link.appendChild(document.createTextNode(" "));
    link.appendChild(element("span", title, "hits-title"));
    link.appendChild(document.createTextNode(" "));
    link.appendChild(element("span", on === undefined ? "every vehicle" : data.vehicles[on].join(", "), "hits-for"));
    item.appendChild(link);
    list.appendChild(item);
  }

  function stored(id) {
    var at = Object.keys(data.index.documentIds).find(function (one) { return data.index.documentIds[one] === id; });
    return data.index.storedFields[at];
  }

  function addCode(code) {
    add("codes/" + code, stored("codes/" + code).title);
  }

  function absentCode(code) {
    var near = Ruleout.words.nearest(code, codes);
    if (!near.nearest) { return code + " is not in this base, nor is any code like it."; }
    addCode(near.nearest);
    near.family.forEach(function (one) { if (one !== near.nearest) { addCode(one); } });
    return code + " is not in this base. The nearest code and its family:";
  }

  function show() {
    var text = box.value.trim();
    panel.hidden = !text;
    list.textContent = "";
    says.textContent = "";
    if (!text) { return; }
    if (!index) { says.textContent = "Loading the index"; return; }
    var code = Ruleout.words.code(text);
    if (code && codes.indexOf(code) < 0) { says.textContent = absentCode(code); }
    if (!list.children.length) {
      var found = Ruleout.words.find(index, text, data.synonyms).slice(0, 20);
      found.forEach(function (one) { add(one.id, one.title, one.on); });
      var count = found.length === 1 ? "1 page" : found.length + " pages";
      if (!says.textContent) { says.textContent = found.length ? count : "Nothing found. Try another word, or look through a list:"; }
    }
    if (!list.children.length) { ["procedures", "codes", "systems", "terms"].forEach(function (kind) { everything(kind); }); }
  }

  function everything(kind) {
    var item = element("li");
    var link = element("a");
    link.href = Ruleout.vehicle.carry(root + kind + "/index.html");
    link.appendChild(element("span", "List", "hits-kind"));
    link.appendChild(document.createTextNode(" "));
    link.appendChild(element("span", { procedures: "All procedures", codes: "All fault codes", systems: "All systems", terms: "All terms" }[kind], "hits-title"));
    item.appendChild(link);
    list.appendChild(item);
  }

  function close() {
    panel.hidden = true;
  }

  function step(by) {
    var links = Array.prototype.slice.call(list.querySelectorAll("a"));
    if (!links.length) { return; }
    var at = links.indexOf(document.activeElement) + by;
    if (at < 0) { box.focus(); } else { links[Math.min(at, links.length - 1)].focus(); }
  }

  box.addEventListener("focus", function () { need(); if (box.value.trim()) { show(); } });
  box.addEventListener("input", function () { need(); show(); });
  box.form.addEventListener("submit", function (event) {
    event.preventDefault();
    var first = list.querySelector("a");
    if (first) { first.click(); }
  });
  box.form.addEventListener("keydown", function (event) {
    if (event.key === "ArrowDown") { event.preventDefault(); step(document.activeElement === box ? 1 : 1); }
    if (event.key === "ArrowUp") { event.preventDefault(); step(-1); }
    if (event.key === "Escape") { box.focus(); close(); }
  });
  document.addEventListener("keydown", function (event) {
    var typing = /^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement.tagName) || document.activeElement.isContentEditable;
    if (event.key === "/" && !typing && !event.ctrlKey && !event.metaKey && !event.altKey) {
      event.preventDefault();
      box.focus();
      box.select();
    }
  });
  document.addEventListener("click", function (event) {
    if (!box.form.contains(event.target)) { close(); }
  });
  Ruleout.vehicle.onChange(function () { if (!panel.hidden) { show(); } });
  if (document.activeElement === box || box.value.trim()) { need(); }

  return { got: got };
}());
