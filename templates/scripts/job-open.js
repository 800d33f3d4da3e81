/* The front page's list of jobs that are open on this device, and a way to go on with one from a file. */
"use strict";
(function () {
  var region = document.getElementById("jobs_");
  if (!region) { return; }
  var jobs = Ruleout.jobs.open();
  var root = document.body.getAttribute("data-root");
  var list = document.createElement("ul");
  list.className = "links";
  Object.keys(jobs).sort().forEach(function (id) {
    var row = jobs[id];
    if (!row || typeof row.address !== "string" || !/^[a-z0-9][a-z0-9-]*\.html[?#]/.test(row.address)) { return; }
    var item = document.createElement("li");
    var link = document.createElement("a");
    link.href = root + "procedures/" + row.address;
    link.setAttribute("data-keep", "");
    link.textContent = row.title + (row.vehicle ? ", " + row.vehicle : "") + ", since " + row.since;
    item.appendChild(link);
    var more = document.createElement("span");
    more.className = "more";
    more.textContent = " " + row.at;
    item.appendChild(more);
    list.appendChild(item);
  });
  if (!list.childNodes.length) {
    list = document.createElement("p");
    list.className = "note";
    list.textContent = "None on this device.";
  }
  region.appendChild(list);
  var label = document.createElement("label");
  label.className = "file";
  label.textContent = "Open a job file ";
  var input = document.createElement("input");
  input.type = "file";
  input.accept = ".json,application/json";
  label.appendChild(input);
  region.appendChild(label);
  var says = document.createElement("p");
  says.setAttribute("role", "status");
  says.className = "note";
  region.appendChild(says);
  /* Only where the procedure is still there: its script tells, from disk too. */
  function goTo(job) {
    var probe = document.createElement("script");
    Ruleout.job = { got: function () {} };
    probe.addEventListener("load", function () { location.href = root + "procedures/" + Ruleout.jobs.address(job); });
    probe.addEventListener("error", function () {
      says.textContent = "This base has no procedure “" + job.procedure + "”: it was renamed or taken out, or the file is from another base.";
    });
    probe.src = root + "jobs/" + job.procedure + ".js";
    document.head.appendChild(probe);
  }

  input.addEventListener("change", function () {
    var reader = new FileReader();
    reader.addEventListener("load", function () {
      var job = null;
      try { job = Ruleout.jobs.clean(JSON.parse(reader.result)); } catch (broken) { /* said below */ }
      says.textContent = job ? "" : "This is not a job file.";
      if (job) { goTo(job); }
    });
    if (input.files[0]) { reader.readAsText(input.files[0]); }
  });
  region.hidden = false;
}());
