/* Choosing the vehicle: what is not for it steps back; the address and every link of the site carry it. */
"use strict";
Ruleout.vehicle = (function () {
  var select = document.getElementById("vehicle_");
  var listeners = [];

  function known(id) {
    return Array.prototype.some.call(select.options, function (option) { return option.value === id; });
  }

  function title() {
    return select.options[select.selectedIndex].textContent;
  }

  /* Whether a list of vehicle ids holds the chosen one; every list does while none is chosen. */
  function isFor(list) {
    return !select.value || list.split(" ").indexOf(select.value) >= 0;
  }

  function local(link) {
    var to = link.getAttribute("href");
    return to && !/^[a-z][a-z0-9+.-]*:/i.test(to) && to.charAt(0) !== "#";
  }

  /* An address of this site with the vehicle in it. */
  function carry(to) {
    var parts = /^([^?#]*)(\?[^#]*)?(#.*)?$/.exec(to);
    var query = new URLSearchParams(parts[2] || "");
    if (select.value) { query.set("vehicle", select.value); } else { query.delete("vehicle"); }
    var text = query.toString();
    return parts[1] + (text ? "?" + text : "") + (parts[3] || "");
  }

  function links(within) {
    Array.prototype.forEach.call(within.querySelectorAll("a[href]"), function (link) {
      if (local(link) && !link.hasAttribute("data-keep")) { link.setAttribute("href", carry(link.getAttribute("href"))); }
    });
  }

  function show() {
    Array.prototype.forEach.call(document.querySelectorAll("[data-for]"), function (part) {
      var out = !isFor(part.getAttribute("data-for"));
      /* A whole step or page part steps back but can still be read; a row or a value of another vehicle goes. */
      if (part.matches("article, li, .node")) {
        part.classList.toggle("not-for-this", out);
      } else {
        part.hidden = out;
      }
    });
    document.documentElement.classList.toggle("one-vehicle", Boolean(select.value));
    var on = document.body.getAttribute("data-on");
    var note = document.getElementById("not_for_");
    note.hidden = !on || isFor(on);
    note.textContent = note.hidden ? "" : "This page is not for the " + title() + ".";
    var sheet = document.getElementById("sheet_vehicle_");
    if (sheet) { sheet.textContent = select.value ? title() : ""; }
    links(document);
    try {
      history.replaceState(history.state, "", carry(location.pathname.split("/").pop() + location.search + location.hash));
    } catch (refused) { /* the links still carry it */ }
    listeners.forEach(function (listener) { listener(select.value); });
  }

  var asked = Ruleout.asked("vehicle");
  var first = asked === null ? Ruleout.remember("vehicle") : asked;
  select.value = known(first) ? first : "";
  if (asked !== null && known(asked)) { Ruleout.remember("vehicle", asked); }
  select.addEventListener("change", function () {
    Ruleout.remember("vehicle", select.value);
    show();
  });
  show();

  return {
    id: function () { return select.value; },
    title: title,
    isFor: isFor,
    carry: carry,
    links: links,
    onChange: function (listener) { listeners.push(listener); }
  };
}());
