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

  /* Which kinds of page a technician more likely means, by the first letters of their folder: asked a hundred thousand times a key. */
  var boosts = { pr: 2, te: 1.1, ve: 1.8, ru: 0.3, se: 0.5, ha: 0.5 };
  function boostDocument(id) {
    return boosts[id.slice(0, 2)] || 1;
  }

  /* Letters that may be wrong. A fault code is no word: P0562 never means P0563. */
  function fuzzy(term) {
    if (/[0-9]/.test(term)) { return false; }
    return term.length > 7 ? 2 : term.length > 3 ? 1 : false;
  }

  /* The word with two neighbours the right way round again, once for each pair: two slips to the count of letters, one to the finger.
     Longer words may be two letters off anyhow. */
  function swapped(word) {
    var out = [];
    if (word.length > 7 || !fuzzy(word)) { return out; }
    for (var at = 0; at + 1 < word.length; at += 1) {
      if (word[at] !== word[at + 1]) { out.push(word.slice(0, at) + word[at + 1] + word[at] + word.slice(at + 2)); }
    }
    return out;
  }

  function slip() { return 0.35; }

  /* Whatever looks like a whole fault code, in capitals; "" where the text is none. */
  function code(text) {
    var plain = text.replace(/[\s.-]/g, "").toUpperCase();
    return /^[PBCU][0-9A-F]{4}$/.test(plain) ? plain : "";
  }

  /* Pages that hold every one of the words: id to { id, title, on, raw, terms, asked }. What was found for the words before the last one
     is kept: with each key typed only the last word is looked up, and only on the pages that hold the others. */
  var kept = new Map();
  function every(index, words) {
    var key = words.join(" ");
    if (kept.has(key)) { return kept.get(key); }
    var last = words[words.length - 1];
    var before = words.length > 1 ? every(index, words.slice(0, -1)) : null;
    var found = new Map();
    var swaps = swapped(last);
    var how = {
      prefix: last.length > 1, fuzzy: fuzzy, boost: { title: 3, also: 2.5, more: 1 }, weights: { prefix: 0.6, fuzzy: 0.35 },
      boostDocument: before ? function (id) { return before.has(id) ? boostDocument(id) : 0; } : boostDocument
    };
    var pages = index.search({ combineWith: "OR", queries: [last, { queries: swaps, prefix: false, fuzzy: false, boostTerm: slip }] }, how);
    if (!pages.length && swaps.length) { pages = index.search({ combineWith: "OR", queries: swaps, fuzzy: false, boostTerm: slip }, how); }
    pages.forEach(function (one) {
      var rest = before && before.get(one.id);
      found.set(one.id, {
        id: one.id, title: one.title, on: one.on, raw: one.score + (rest ? rest.raw : 0),
        terms: rest ? rest.terms.concat(one.terms) : one.terms, asked: rest ? rest.asked.concat([last]) : [last]
      });
    });
    if (kept.size > 100) { kept.clear(); }
    kept.set(key, found);
    return found;
  }

  /* The words with two neighbours written as one, "multi meter" as "multimeter": { words, two }. */
  function together(words) {
    return words.slice(0, 5).slice(0, -1).map(function (word, at) {
      return { words: words.slice(0, at).concat([word + words[at + 1]], words.slice(at + 2)), two: [word, words[at + 1]] };
    });
  }

  /* A word that is two words of the base written as one, "taillift", as these two; the word itself where it is none. */
  function apart(index, word) {
    for (var at = 3; at + 3 <= word.length; at += 1) {
      var two = [word.slice(0, at), word.slice(at)];
      if (index.search(two.join(" "), { combineWith: "AND", prefix: false, fuzzy: false }).length) { return two; }
    }
    return [word];
  }

  /* Adds what was found, each page once; `weight` is how much it counts, `answers` what it answers besides. */
  function join(all, found, weight, answers) {
    found.forEach(function (one, id) {
      var there = all.get(id) || { id: id, title: one.title, on: one.on, raw: 0, terms: [], asked: [] };
      there.raw += one.raw * weight;
      there.terms = there.terms.concat(one.terms);
      there.asked = there.asked.concat(one.asked, answers || []);
      all.set(id, there);
    });
  }

  /* Best first: a page that answers more of what was asked counts more. */
  function ranked(all) {
    var list = Array.from(all.values());
    list.forEach(function (one) { one.score = one.raw * new Set(one.asked).size; });
    return list.sort(function (a, b) { return b.score - a.score; });
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
    var asked = telling.length ? telling : words;
    if (!asked.length) { return []; }
    var same = variants(text, synonyms);
    function search(parts, more) {
      var all = new Map();
      parts.forEach(function (part) {
        join(all, every(index, part), 1);
        together(part).forEach(function (one) { join(all, every(index, one.words), 1, one.two); });
      });
      same.concat(more).map(cut).filter(function (one) { return one.length; }).forEach(function (one) { join(all, every(index, one), 0.6); });
      return ranked(all);
    }
    var found = search([asked], []);
    /* A term found by a misspelling brings along what else it is called. */
    var terms = found.slice(0, 3).map(function (one) { return one.id; });
    var more = [];
    synonyms.forEach(function (group) {
      if (terms.indexOf(group.id) >= 0) { more = more.concat(group.words); }
    });
    if (more.length) { found = search([asked], more.slice(0, 12)); }
    if (found.length) { return found; }
    var split = asked.reduce(function (list, word) { return list.concat(apart(index, word)); }, []);
    if (split.length > asked.length) { found = search([split], []); }
    return found.length ? found : search(asked.map(function (one) { return [one]; }), []);
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

  /* Codes in the text that the base neither has nor speaks of: a part number may look like a code. */
  function absent(index, codes, text) {
    var whole = code(text);
    return (whole ? [whole] : cut(text).map(code)).filter(function (one, at, all) {
      return one && all.indexOf(one) === at && codes.indexOf(one) < 0 && !index.search(one.toLowerCase(), { prefix: false, fuzzy: false }).length;
    });
  }

  function codePage(data, one) { return { id: "codes/" + one, title: data.titles["codes/" + one], words: [] }; }

  /* The codes to offer for one that is not there, and the words that say so. */
  function instead(says, wanted, data, codes) {
    var near = nearest(wanted, codes);
    if (!near.length) { return { says: says + ", nor is any code like it. Look through a list:", pages: [] }; }
    return { says: says + ". The nearest code" + (near.length > 1 ? " and its family:" : ":"), pages: near.map(function (one) { return codePage(data, one); }) };
  }

  /* What to say, and which pages to offer: [{id, title, on, words}]. */
  function results(index, data, codes, text) {
    var whole = code(text);
    var missing = absent(index, codes, text);
    if (missing.length && whole) { return instead(whole + " is not in this base", whole, data, codes); }
    if (whole) { text = whole; }
    var pages = partial(text, codes).map(function (one) { return codePage(data, one); });
    if (cut(text).join("").length < 2) { return { says: "One more letter", pages: pages, early: true }; }
    /* A missing code among other words: the nearest ones first, then what the other words find. */
    var other = missing.length ? instead(missing.join(", ") + (missing.length > 1 ? " are" : " is") + " not in this base", missing[0], data, codes) : null;
    if (other) {
      pages = other.pages.slice(0, 3);
      text = cut(text).filter(function (word) { return missing.indexOf(code(word)) < 0; }).join(" ");
    }
    var known = pages.map(function (one) { return one.id; });
    find(index, text, data.synonyms).slice(0, 20).forEach(function (one) {
      if (known.indexOf(one.id) >= 0) { return; }
      var title = cut(one.title);
      var words = one.terms.filter(function (term, at) { return term.length > 1 && title.indexOf(term) < 0 && one.terms.indexOf(term) === at; });
      pages.push({ id: one.id, title: one.title, on: one.on, words: words.slice(0, 4) });
    });
    if (other) { return { says: other.says, pages: pages }; }
    var begun = text.trim().toUpperCase();
    if (!pages.length && /^[PBCU][0-9A-F]{1,3}$/.test(begun)) {
      return instead("No code that begins with " + begun + " is in this base", (begun + "000").slice(0, 5), data, codes);
    }
    var says = pages.length === 1 ? "1 page" : pages.length + " pages";
    return { says: pages.length ? says : "Nothing found. Try another word, or look through a list:", pages: pages };
  }

  return { cut: cut, options: options, code: code, variants: variants, find: find, nearest: nearest, results: results };
}());
