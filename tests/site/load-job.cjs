// Loads the page's scripts that need no page, and the job data of a compiled site.
"use strict";
const fs = require("node:fs");
const path = require("node:path");
const vm = require("node:vm");

const scripts = path.join(__dirname, "../../templates/scripts");

exports.engine = function () {
  const context = vm.createContext({ Ruleout: {} });
  for (const name of ["job-numbers", "job-engine", "job-time", "job-account"]) {
    vm.runInContext(fs.readFileSync(path.join(scripts, name + ".js"), "utf8"), context, { filename: name });
  }
  return context.Ruleout;
};

exports.jobs = function (site) {
  const folder = path.join(site, "jobs");
  const jobs = {};
  for (const name of fs.readdirSync(folder).sort()) {
    const context = vm.createContext({ Ruleout: { job: { got: (data) => { jobs[data.id] = data; } } } });
    vm.runInContext(fs.readFileSync(path.join(folder, name), "utf8"), context);
  }
  return jobs;
};
