/* Keeping the site on the device: says how that stands, and moves to a newer version between pages, never within a job. */
"use strict";
(function () {
  var line = document.getElementById("offline_");
  var newer = document.getElementById("newer_");
  var root = document.body.getAttribute("data-root");
  var home = new URL(root || "./", location.href);
  var waiting = null;
  var told = false;

  function say(text) {
    line.textContent = text;
    line.hidden = false;
  }

  function working() { return /^#job=/.test(location.hash); }

  /* Hands over to the waiting version, then moves. */
  function change(move) {
    var moved = false;
    function once() {
      if (!moved) { moved = true; move(); }
    }
    navigator.serviceWorker.addEventListener("controllerchange", once);
    setTimeout(once, 3000);
    waiting.postMessage("go");
  }

  function ready(worker) {
    waiting = worker;
    newer.querySelector("span").textContent = "A newer version of these pages is on the device. " +
      (working() ? "This job goes on with the one it began with." : "The next page will be of that version.");
    newer.hidden = false;
    whole();
  }

  function whole() { say("These pages are kept on this device and work without network."); }

  function follow(worker, first) {
    worker.addEventListener("statechange", function () {
      if (worker.state === "installed" && !first) { ready(worker); }
      if (worker.state === "activated") { whole(); }
    });
  }

  function watch(registration) {
    if (registration.active && !told) { whole(); }
    if (registration.waiting && registration.active) { ready(registration.waiting); }
    if (registration.installing) { follow(registration.installing, !registration.active); }
    registration.addEventListener("updatefound", function () { follow(registration.installing, !registration.active); });
  }

  /* What the worker says while it fetches. */
  function hear(message) {
    told = true;
    if (message.failed) { say("Not every file could be fetched to keep on this device: the next page tries again."); }
    if (message.all) { say("Keeping these pages on this device: " + message.kept + " of " + message.all + " files."); }
  }

  /* From disk nothing has to be kept; a preview must not be. */
  var script = document.body.getAttribute("data-worker");
  if (!script || !/^https?:$/.test(location.protocol)) { return; }
  if (!window.isSecureContext || !navigator.serviceWorker) {
    say("These pages come over plain http, so a browser can't keep them for use without network. Over https it can.");
    return;
  }
  var manifest = document.createElement("link");
  manifest.rel = "manifest";
  manifest.href = root + "manifest.webmanifest";
  document.head.appendChild(manifest);
  navigator.serviceWorker.addEventListener("message", function (event) { hear(event.data || {}); });
  newer.querySelector("button").addEventListener("click", function () { change(function () { location.reload(); }); });
  document.addEventListener("click", function (event) {
    var link = event.target.closest("a[href]");
    if (!waiting || working() || !link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) { return; }
    if (link.target || link.hasAttribute("download") || link.href.indexOf(home.href) !== 0) { return; }
    var to = new URL(link.href);
    if (to.pathname === location.pathname || /^#job=/.test(to.hash)) { return; }
    event.preventDefault();
    change(function () { location.href = to.href; });
  });
  window.addEventListener("load", function () {
    navigator.serviceWorker.register(root + script, { scope: home.href, updateViaCache: "none" }).then(watch, function () {
      say("These pages can't be kept on this device: they need the network.");
    });
  });
}());
