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

  var little = ["a", "an", "and", "at", "by", "for", "in", "is", "it", "my", "of", "on", "or", "the", "to", "too", "with"];

  /* Which kinds of page a technician more likely means. */
  function boostDocument(id) {
    return { procedures: 2, terms: 1.1, vehicles: 1.8, rules: 0.3, setups: 0.5, hazards: 0.5 }[id.split("/")[0]] || 1;
  }

  function prefix(term, at, all) {
    return term.length > 1 || at === all.length - 1;
  }

  /* Letters that may be wrong. A fault code is no word: P0562 never means P0563. */
  function fuzzy(term) {
    if (/[0-9]/.test(term)) { return false; }
    return term.length > 7 ? 2 : term.length > 3 ? 1 : false;
  }

  /* Whatever looks like a whole fault code, in capitals; "" where the text is none. */
  function code(text) {
    var plain = text.replace(/[\s.-]/g, "").toUpperCase();
    return /^[PBCU][0-9A-F]{4}$/.test(plain) ? plain : "";
  }

  /* One way to ask: the text, how all or any of its words must stand, and how much it counts. */
  function ask(text, combine, weight) {
    return {
      queries: [text], combineWith: combine, prefix: prefix, fuzzy: fuzzy,
      boost: { title: 3 * weight, also: 2.5 * weight, more: weight },
      weights: { prefix: 0.6, fuzzy: 0.35 }
    };
  }

  /* The text once for each phrase that means the same as a phrase in it. */
  function variants(text, synonyms) {
    var words = " " + cut(text).join(" ") + " ";
    var out = [];
    synonyms.forEach(function (group) {
      group.words.forEach(function (phrase) {
        var within = " " + cut(phrase).join(" ") + " ";
        if (within.length > 4 && words.indexOf(within) >= 0) {
          group.words.forEach(function (other) {
            if (other !== phrase) { out.push(words.replace(within, " " + other + " ").trim()); }
          });
        }
      });
    });
    return out.slice(0, 12);
  }

  /* Results, best first: pages that hold every word of the text or of what means the same; else those that hold any. */
  function find(index, text, synonyms) {
    var words = cut(text);
    var telling = words.filter(function (word) { return little.indexOf(word) < 0; });
    var asked = (telling.length ? telling : words).join(" ");
    if (!asked) { return []; }
    var same = variants(text, synonyms);
    function search(combine, more) {
      var queries = [ask(asked, combine, 1)].concat(same.concat(more).map(function (one) { return ask(one, "AND", 0.6); }));
      return index.search({ combineWith: "OR", queries: queries }, { boostDocument: boostDocument });
    }
    var found = search("AND", []);
    /* A term found by a misspelling brings along what else it is called. */
    var terms = found.slice(0, 3).map(function (one) { return one.id; });
    var more = [];
    synonyms.forEach(function (group) {
      if (terms.indexOf(group.id) >= 0) { more = more.concat(group.words); }
    });
    if (more.length) { found = search("AND", more.slice(0, 12)); }
    return found.length ? found : search("OR", []);
  }

  /* For a code that the base does not have: the nearest one by number, then its family. */
  function nearest(wanted, codes) {
    var number = parseInt(wanted.slice(1), 16);
    function away(one) { return Math.abs(parseInt(one.slice(1), 16) - number); }
    var letter = codes.filter(function (one) { return one.charAt(0) === wanted.charAt(0) && code(one); });
    letter.sort(function (a, b) { return away(a) - away(b) || (a < b ? -1 : 1); });
    var family = letter.filter(function (one) { return one.slice(0, 4) === wanted.slice(0, 4); });
    if (!family.length) { family = letter.filter(function (one) { return one.slice(0, 3) === wanted.slice(0, 3); }); }
    return letter.slice(0, 1).concat(family.filter(function (one) { return one !== letter[0]; })).slice(0, 12);
  }

  /* Codes that hold the digits typed: "455" is P0455 to whoever reads it from a small display. */
  function partial(text, codes) {
    var plain = text.trim().toUpperCase();
    if (!/^[0-9A-F]{3,4}$/.test(plain) || !/[0-9]/.test(plain)) { return []; }
    return codes.filter(function (one) { return one.slice(1).indexOf(plain) >= 0; }).slice(0, 8);
  }

  /* What to say, and which pages to offer: [{id, title, on, words}]. */
  function results(index, data, codes, text) {
    var wanted = code(text);
    if (wanted && codes.indexOf(wanted) < 0) {
      var near = nearest(wanted, codes);
      if (near.length) {
        return {
          says: wanted + " is not in this base. The nearest code and its family:",
          pages: near.map(function (one) { return { id: "codes/" + one, title: data.titles["codes/" + one], words: [] }; })
        };
      }
      return { says: wanted + " is not in this base, nor is any code like it. Look through a list:", pages: [] };
    }
    var pages = partial(text, codes).map(function (one) {
      return { id: "codes/" + one, title: data.titles["codes/" + one], words: [] };
    });
    var known = pages.map(function (one) { return one.id; });
    find(index, text, data.synonyms).slice(0, 20).forEach(function (one) {
      if (known.indexOf(one.id) >= 0) { return; }
      var title = cut(one.title);
      var words = one.terms.filter(function (term) { return title.indexOf(term) < 0; });
      pages.push({ id: one.id, title: one.title, on: one.on, words: words.slice(0, 4) });
    });
    var says = pages.length === 1 ? "1 page" : pages.length + " pages";
    return { says: pages.length ? says : "Nothing found. Try another word, or look through a list:", pages: pages };
  }

  return { cut: cut, options: options, code: code, variants: variants, find: find, nearest: nearest, results: results };
}());
