/* Added by the preview only: says how the base stands, and shows a page again once what it shows has changed. */
"use strict";
(function () {
  var me = document.currentScript;
  var page = document.body.getAttribute("data-page");
  var root = document.body.getAttribute("data-root");
  var shown = me.getAttribute("data-digest");
  var seen = me.getAttribute("data-generation");
  var lost = false;
  var KEPT = "ruleout.preview";

  var bar = document.createElement("aside");
  bar.className = "preview-bar";
  bar.setAttribute("aria-label", "Preview");
  bar.setAttribute("role", "status");
  document.body.appendChild(bar);

  function count(n, word) { return n + " " + word + (n === 1 ? "" : "s"); }

  function say(now) {
    bar.textContent = "";
    if (now.trouble) { bar.textContent = now.trouble; return; }
    var link = document.createElement("a");
    link.href = root + "index.html" + (now.errors + now.warnings ? "#findings_" : "");
    link.textContent = now.errors + now.warnings ? count(now.errors, "error") + ", " + count(now.warnings, "warning") : "No errors, no warnings";
    bar.appendChild(link);
  }

  /* --- what the reader was at: kept over the reload --- */

  function fields() { return Array.prototype.slice.call(document.querySelectorAll("#job_ input, #job_ select, #job_ textarea")); }

  function heading() {
    var first = document.querySelector("#job_ h2, #job_ h3");
    return first ? first.textContent : "";
  }

  function keep() {
    var all = fields();
    var focus = all.indexOf(document.activeElement);
    var kept = {
      at: location.pathname, y: window.scrollY, heading: heading(), focus: focus,
      fields: all.map(function (one) { return { value: one.value, checked: Boolean(one.checked) }; }),
      folds: Array.prototype.map.call(document.querySelectorAll("details"), function (one) { return one.open; })
    };
    try { sessionStorage.setItem(KEPT, JSON.stringify(kept)); } catch (refused) { /* the top of the page, then */ }
  }

  function bring() {
    var kept = null;
    try {
      kept = JSON.parse(sessionStorage.getItem(KEPT));
      sessionStorage.removeItem(KEPT);
    } catch (refused) { /* nothing kept */ }
    if (!kept || kept.at !== location.pathname) { return; }
    var folds = document.querySelectorAll("details");
    if (folds.length === kept.folds.length) {
      Array.prototype.forEach.call(folds, function (one, at) { one.open = kept.folds[at]; });
    }
    var all = fields();
    if (all.length === kept.fields.length && heading() === kept.heading) {
      all.forEach(function (one, at) {
        var was = kept.fields[at];
        if (one.value === was.value && Boolean(one.checked) === was.checked) { return; }
        if (one.type === "checkbox" || one.type === "radio") { one.checked = was.checked; } else { one.value = was.value; }
        one.dispatchEvent(new Event("input", { bubbles: true }));
        one.dispatchEvent(new Event("change", { bubbles: true }));
      });
      if (all[kept.focus]) { all[kept.focus].focus({ preventScroll: true }); }
    }
    window.scrollTo({ top: kept.y, behavior: "instant" });
  }

  function reload() {
    keep();
    location.reload();
  }

  /* --- waiting for the next save --- */

  function look() {
    return fetch("/_preview/digest?page=" + encodeURIComponent(page)).then(function (answer) { return answer.text(); }).then(function (text) {
      if (text !== shown) { reload(); }
    });
  }

  function wait() {
    if (document.hidden) { document.addEventListener("visibilitychange", wait, { once: true }); return; }
    fetch("/_preview/wait?after=" + seen).then(function (answer) { return answer.json(); }).then(function (now) {
      say(now);
      var changed = lost || String(now.generation) !== seen;
      seen = String(now.generation);
      lost = false;
      return changed ? look() : null;
    }).then(wait, function () {
      lost = true;
      bar.textContent = "The preview has stopped: start it again to go on.";
      window.setTimeout(wait, 1000);
    });
  }

  function begin() {
    bring();
    fetch("/_preview/wait").then(function (answer) { return answer.json(); }).then(say, function () { /* said while waiting */ });
    wait();
  }
  if (document.readyState === "complete") { begin(); } else { window.addEventListener("load", begin); }
}());
