/* Exact numbers and amounts. No page, no clock: a reading as text goes in, an exact number or what is wrong comes out. */
"use strict";
Ruleout.numbers = (function () {
  function gcd(a, b) {
    while (b) { var rest = a % b; a = b; b = rest; }
    return a < 0n ? -a : a;
  }

  function ratio(top, bottom) {
    var common = gcd(top, bottom) || 1n;
    if (bottom < 0n) { common = -common; }
    return { top: top / common, bottom: bottom / common };
  }

  /* "3/2" or "3". */
  function exact(text) {
    var parts = text.split("/");
    return { top: BigInt(parts[0]), bottom: BigInt(parts[1] || "1") };
  }

  function add(a, b) { return ratio(a.top * b.bottom + b.top * a.bottom, a.bottom * b.bottom); }
  function minus(a, b) { return add(a, { top: -b.top, bottom: b.bottom }); }
  function times(a, b) { return ratio(a.top * b.top, a.bottom * b.bottom); }
  function over(a, b) { return ratio(a.top * b.bottom, a.bottom * b.top); }

  /* Below zero, zero or above zero, as a is below, at or above b. */
  function compare(a, b) {
    var left = a.top * b.bottom;
    var right = b.top * a.bottom;
    return left < right ? -1 : left > right ? 1 : 0;
  }

  /* The spelling that all spellings of a unit share. */
  function spelling(text) {
    return text.replace(/\u2126/g, "Ω").replace(/\u03bc/g, "µ").replace(/[.*\u22c5\u2219]/g, "·").replace(/²/g, "2")
      .replace(/³/g, "3").replace(/[º˚]/g, "°").replace(/℃/g, "°C").replace(/℉/g, "°F").replace(/\u212a/g, "K")
      .trim().replace(/\s+/g, " ").replace(/ ?([·/]) ?/g, "$1").replace(/ohm$/, "Ω");
  }

  function unit(quantity, symbol) {
    var sought = spelling(symbol);
    return quantity.units.find(function (one) { return spelling(one.symbol) === sought; });
  }

  /* A typed number as the language writes it: a decimal point, a plain minus. Nothing where it is no number. */
  function tidy(text) {
    var parts = /^([-+\u2212]?)\s*(\d*)(?:[.,](\d*))?$/.exec(text.trim());
    if (!parts || !(parts[2] || parts[3]) || (parts[2] + (parts[3] || "")).length > 40) { return null; }
    var sign = parts[1] === "-" || parts[1] === "\u2212" ? "-" : "";
    return sign + (parts[2] || "0") + (parts[3] ? "." + parts[3] : "");
  }

  function decimal(text) {
    var parts = text.split(".");
    return ratio(BigInt(parts.join("")), 10n ** BigInt((parts[1] || "").length));
  }

  /* "12.4 V" as an exact number of the base unit, or { wrong }. */
  function amount(text, quantity) {
    var parts = /^\s*([-+\u2212]?\s*[\d.,]+)\s*(.*?)\s*$/.exec(text);
    var number = parts && tidy(parts[1]);
    if (!number) { return { wrong: "“" + text.trim() + "” is not a number." }; }
    var found = unit(quantity, parts[2]);
    if (!found) {
      var known = quantity.units.slice(0, 4).map(function (one) { return one.symbol; }).filter(Boolean).join(", ");
      return { wrong: known ? "Expected a unit such as " + known + ", found “" + parts[2] + "”." : "Expected a number alone, found “" + parts[2] + "”." };
    }
    return { value: add(times(decimal(number), exact(found.factor)), exact(found.add)) };
  }

  return {
    exact: exact, add: add, minus: minus, times: times, over: over, compare: compare,
    tidy: tidy, unit: unit, amount: amount, zero: { top: 0n, bottom: 1n }
  };
}());
