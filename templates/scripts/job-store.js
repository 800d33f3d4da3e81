/* Jobs as text: in an address, in a file, and on this device. */
"use strict";
Ruleout.jobs = (function () {
  /* Base 64 of UTF-8, safe in an address. */
  function pack(job) {
    var bytes = new TextEncoder().encode(JSON.stringify(job));
    var text = "";
    bytes.forEach(function (byte) { text += String.fromCharCode(byte); });
    return btoa(text).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  }

  function texts(list) {
    return Array.isArray(list) ? list.filter(function (one) { return typeof one === "string"; }) : [];
  }

  function entries(list) {
    return (Array.isArray(list) ? list : []).filter(function (one) { return one && typeof one.step === "string"; }).map(function (one) {
      var entry = { step: one.step };
      ["reading", "note", "why"].forEach(function (key) {
        if (typeof one[key] === "string" && one[key]) { entry[key] = one[key]; }
      });
      if (one.record && typeof one.record === "object") {
        entry.record = {};
        Object.keys(one.record).forEach(function (field) { entry.record[field] = String(one.record[field]); });
      }
      return entry;
    });
  }

  /* Anything may stand in a file or an address: only what a job is made of is kept. Nothing where it is no job. */
  function clean(job) {
    if (!job || typeof job !== "object" || typeof job.procedure !== "string" || !/^[a-z0-9][a-z0-9-]*$/.test(job.procedure)) { return null; }
    return {
      procedure: job.procedure,
      id: typeof job.id === "string" && /^[a-z0-9-]+$/.test(job.id) ? job.id : name(job.procedure, new Date()),
      vehicle: typeof job.vehicle === "string" ? job.vehicle : "",
      entries: entries(job.entries),
      earlier: (Array.isArray(job.earlier) ? job.earlier : []).map(function (round) {
        return { entries: entries(round && round.entries), causes: texts(round && round.causes) };
      }),
      out: texts(job.out),
      renewed: texts(job.renewed),
      lacking: texts(job.lacking),
      draft: entries([job.draft])[0] || null,
      note: typeof job.note === "string" ? job.note : "",
      time: Ruleout.time.clean(job.time, Date.now()),
      finished: job.finished === true,
      picked: typeof job.picked === "string" ? job.picked : "",
      wait: job.wait && typeof job.wait.step === "string" && Number.isFinite(job.wait.until) ? job.wait : null
    };
  }

  function unpack(text) {
    try {
      var raw = atob(text.replace(/-/g, "+").replace(/_/g, "/"));
      var bytes = Uint8Array.from(raw, function (letter) { return letter.charCodeAt(0); });
      return clean(JSON.parse(new TextDecoder().decode(bytes)));
    } catch (broken) { return null; }
  }

  function two(number) { return (number < 10 ? "0" : "") + number; }

  /* PROCEDURE-YYYYMMDD-HHMM */
  function name(procedure, when) {
    return procedure + "-" + when.getFullYear() + two(when.getMonth() + 1) + two(when.getDate()) + "-" + two(when.getHours()) + two(when.getMinutes());
  }

  function fresh(procedure, vehicle, out, lacking, renewed) {
    var all = open();
    var id = name(procedure, new Date());
    var own = id;
    for (var more = 2; all[own]; more += 1) { own = id + "-" + more; }
    return clean({ procedure: procedure, id: own, vehicle: vehicle, out: out, lacking: lacking, renewed: renewed });
  }

  /* Open jobs of this device by id: { address, title, vehicle, at }. */
  function open() {
    try { return JSON.parse(Ruleout.remember("jobs") || "{}") || {}; } catch (broken) { return {}; }
  }

  function keep(id, row) {
    var all = open();
    if (row) { all[id] = row; } else { delete all[id]; }
    Ruleout.remember("jobs", JSON.stringify(all));
  }

  function address(job) {
    return job.procedure + ".html" + (job.vehicle ? "?vehicle=" + encodeURIComponent(job.vehicle) : "") + "#job=" + pack(job);
  }

  function save(filename, text, type) {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: type }));
    link.download = filename;
    document.body.appendChild(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  }

  return { pack: pack, unpack: unpack, clean: clean, fresh: fresh, open: open, keep: keep, address: address, save: save };
}());
