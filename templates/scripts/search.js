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
  var lists = { procedures: "All procedures", codes: "All fault codes", systems: "All systems", terms: "All terms" };
  var asked = false;
  var index = null;
  var data = null;
  var codes = [];

  function load(name) {
    var script = document.createElement("script");
    script.src = root + name;
    script.async = false;
    script.addEventListener("error", function () { says.textContent = "The index could not be loaded. Look through a list:"; addLists(); });
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
    data.titles = {};
    Object.keys(all.index.documentIds).forEach(function (at) {
      var id = all.index.documentIds[at];
      data.titles[id] = all.index.storedFields[at].title;
      if (id.indexOf("codes/") === 0) { codes.push(id.slice(6)); }
    });
    show();
  }

  function element(name, text, kind) {
    var made = document.createElement(name);
    made.textContent = text;
    made.className = kind;
    return made;
  }

  function add(address, parts, other) {
    var item = document.createElement("li");
    if (other) { item.className = "not-for-this"; }
    var link = document.createElement("a");
    link.href = Ruleout.vehicle.carry(root + address);
    parts.forEach(function (part) {
      link.appendChild(part);
      link.appendChild(document.createTextNode(" "));
    });
    item.appendChild(link);
    list.appendChild(item);
  }

  function addPage(page) {
    var other = page.on !== undefined && Ruleout.vehicle.id() && data.vehicles[page.on].indexOf(Ruleout.vehicle.title()) < 0;
    var about = page.on === undefined ? "every vehicle" : data.vehicles[page.on].join(", ");
    if (page.words.length) { about += ". Says: " + page.words.join(", "); }
    add(page.id + ".html", [
      element("span", kinds[page.id.split("/")[0]], "hits-kind"),
      element("span", page.title, "hits-title"),
      element("span", about, "hits-for")
    ], other);
  }

  function addLists() {
    Object.keys(lists).forEach(function (kind) {
      add(kind + "/index.html", [element("span", "List", "hits-kind"), element("span", lists[kind], "hits-title")]);
    });
  }

  function show() {
    var text = box.value.trim();
    panel.hidden = !text;
    list.textContent = "";
    says.textContent = "";
    if (!text) { return; }
    if (!index) { says.textContent = "Loading the index"; return; }
    var results = Ruleout.words.results(index, data, codes, text);
    says.textContent = results.says;
    results.pages.forEach(addPage);
    if (!results.pages.length && !results.early) { addLists(); }
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
    if (event.key === "ArrowDown") { event.preventDefault(); step(1); }
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
