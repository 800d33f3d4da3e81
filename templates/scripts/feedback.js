/* "Something wrong on this page?" names the step that is in view. */
"use strict";
(function () {
  var link = document.getElementById("wrong_");
  var plain = link.getAttribute("href");
  function name() {
    /* Ids of the language and of the page; whatever else stands there was put there by somebody else. */
    if (/^#[a-z0-9_-]{1,101}$/.test(location.hash)) { tell(location.hash.slice(1)); }
  }
  function tell(step) {
    if (/^mailto:/.test(plain)) {
      link.setAttribute("href", plain.replace("Step%3A%20", "Step%3A%20" + encodeURIComponent(step)));
    }
  }
  name();
  window.addEventListener("hashchange", name);
  Ruleout.feedback = tell;
}());
