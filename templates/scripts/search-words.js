/* The thinking behind the search box, without the page: cutting words, fault codes, synonyms, ranking. */
"use strict";
Ruleout.words = (function () {
  /* Lower case, runs of letters and digits: the compiler cuts the index the same way. */
  function cut(text) {
    return text.toLowerCase().split(/[^\p{Alphabetic}\p{N}]+/u).filter(Boolean);
  }

  var options = {
    fields: ["title", "also", "more"],
    storeFields: ["title", "on"],
    tokenize: cut,
    processTerm: function (term) { return term; }
  };

  var weights = {
    boost: { title: 3, also: 2, more: 1 },
    prefix: function (term, at, all) { return term.length > 1 || at === all.length - 1; },
    fuzzy: function (term) {
      if (/^[pbcu][0-9a-f]*$/.test(term) && /[0-9]/.test(term)) { return false; }
      return term.length > 7 ? 2 : term.length > 3 ? 1 : false;
    },
    weights: { prefix: 0.6, fuzzy: 0.35 },
    boostDocument: function (id) { return /^procedures\//.test(id) ? 1.6 : /^(rules|setups|hazards)\//.test(id) ? 0.5 : 1; }
  };

  /* Whatever looks like a whole fault code, in capitals; "" where the text is none. */
  function code(text) {
    var plain = text.replace(/[\s.-]/g, "").toUpperCase();
    return /^[PBCU][0-9A-F]{4}$/.test(plain) ? plain : "";
  }

  /* The text once as typed, and once for each phrase that means the same as a phrase in it. */
  function variants(text, groups) {
    var words = " " + cut(text).join(" ") + " ";
    var out = [text];
    groups.forEach(function (group) {
      group.forEach(function (phrase) {
        var within = " " + cut(phrase).join(" ") + " ";
        if (within.length > 3 && words.indexOf(within) >= 0) {
          group.forEach(function (other) {
            if (other !== phrase) { out.push(words.replace(within, " " + other + " ").trim()); }
          });
        }
      });
    });
    return out.slice(0, 12);
  }

  /* Results, best first: all words of a variant together, else any of them. */
  function find(index, text, groups) {
    var all = variants(text, groups).map(function (variant, at) {
      return { queries: [variant], combineWith: "AND", boostDocument: weights.boostDocument, fields: options.fields, rank: at };
    });
    var search = function (combine) {
      return index.search({
        combineWith: "OR",
        queries: all.map(function (one) {
          return { combineWith: combine, queries: [one.queries[0]], boost: weights.boost, prefix: weights.prefix, fuzzy: weights.fuzzy, weights: weights.weights };
        })
      }, { boostDocument: weights.boostDocument });
    };
    var together = search("AND");
    return together.length ? together : search("OR");
  }

  /* For a code that the base does not have: the nearest one by number, and the codes of its family. */
  function nearest(wanted, codes) {
    var number = parseInt(wanted.slice(1), 16);
    var away = function (one) { return Math.abs(parseInt(one.slice(1), 16) - number); };
    var letter = codes.filter(function (one) { return one.charAt(0) === wanted.charAt(0) && code(one); });
    letter.sort(function (a, b) { return away(a) - away(b) || (a < b ? -1 : 1); });
    var family = letter.filter(function (one) { return one.slice(0, 4) === wanted.slice(0, 4); });
    if (!family.length) { family = letter.filter(function (one) { return one.slice(0, 3) === wanted.slice(0, 3); }); }
    return { nearest: letter[0] || "", family: family.slice(0, 12) };
  }

  return { cut: cut, options: options, code: code, variants: variants, find: find, nearest: nearest };
}());
