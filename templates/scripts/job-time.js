/* The time spent on a job. No page: times are milliseconds, { spent, from, last }: what has been counted, since when it runs
   (0: it stands still), and when the job was last seen. */
"use strict";
Ruleout.time = (function () {
  var LEFT_ALONE = 60 * 60000;

  function total(time, now) { return time.spent + (time.from ? Math.max(0, now - time.from) : 0); }

  function pause(time, now) { return { spent: total(time, now), from: 0, last: now }; }

  function run(time, now) { return time.from ? time : { spent: time.spent, from: now, last: now }; }

  function seen(time, now) { return time.from ? { spent: time.spent, from: time.from, last: now } : time; }

  /* Whether the job was left alone for so long that nobody can have been at it. */
  function away(time, now) { return time.from > 0 && now - time.last > LEFT_ALONE; }

  /* Back at the job: the time since it was last seen does not count if it is long. */
  function back(time, now) { return away(time, now) ? run(pause(time, time.last), now) : seen(time, now); }

  /* Whole minutes; no job takes less than one. */
  function minutes(time, now) { return Math.max(Math.round(total(time, now) / 60000), total(time, now) > 0 ? 1 : 0); }

  /* The minutes that somebody says it took so far. */
  function correct(time, said, now) { return { spent: said * 60000, from: time.from && now, last: now }; }

  /* What may stand in a file or an address, made sound. */
  function clean(time, now) {
    function number(value) { return Number.isFinite(value) && value >= 0 ? value : 0; }
    if (!time || typeof time !== "object") { return { spent: 0, from: 0, last: 0 }; }
    var from = Math.min(number(time.from), now);
    return { spent: number(time.spent), from: from, last: Math.min(Math.max(number(time.last), from), now) };
  }

  return { pause: pause, run: run, seen: seen, away: away, back: back, minutes: minutes, correct: correct, clean: clean };
}());
