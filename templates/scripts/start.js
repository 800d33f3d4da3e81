/* Runs before the page is drawn: the one global, and the chosen vehicle, so that nothing jumps. */
"use strict";
var Ruleout = {
  /* What the device remembers; nothing where it may not (from disk, some browsers give each page its own storage). */
  remember: function (key, value) {
    try {
      if (value === undefined) { return localStorage.getItem("ruleout." + key) || ""; }
      localStorage.setItem("ruleout." + key, value);
    } catch (refused) { /* the address carries it then */ }
    return value || "";
  },
  /* A value of the page's address. */
  asked: function (key) {
    return new URLSearchParams(location.search).get(key);
  }
};
document.documentElement.classList.add("js");
