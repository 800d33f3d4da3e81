// Two questions to the search library itself. Run: node search.cjs index|rank TEMPLATES FOLDER [TSV]
// index: does the library build the index that the compiler wrote (FOLDER/documents.json, FOLDER/index.json)?
// rank: on which place does each query of TSV find its page (FOLDER is a site)?
"use strict";
const fs = require("fs");
const path = require("path");
const vm = require("vm");
const assert = require("assert");
const [, , question, templates, folder, tsv] = process.argv;
const MiniSearch = require(path.resolve(templates, "vendor", "minisearch.min.js"));
const page = vm.createContext({ Ruleout: { search: {} } });
vm.runInContext(fs.readFileSync(path.join(templates, "scripts", "search-words.js"), "utf8"), page);
const words = page.Ruleout.words;
const options = Object.assign({}, words.options, { fields: [...words.options.fields], storeFields: [...words.options.storeFields] });

/* What toJSON gives, with the terms in one order: the library lists them in the order they came. */
function plain(index) {
  const json = JSON.parse(JSON.stringify(index));
  json.index.sort((a, b) => (a[0] < b[0] ? -1 : 1));
  return json;
}

if (question === "index") {
  const documents = JSON.parse(fs.readFileSync(path.join(folder, "documents.json"), "utf8"));
  const ours = JSON.parse(fs.readFileSync(path.join(folder, "index.json"), "utf8"));
  const built = new MiniSearch(options);
  built.addAll(documents);
  assert.deepStrictEqual(plain(MiniSearch.loadJS(ours, options)), plain(built));
  console.log(documents.length + " documents, the same index");
} else {
  const asset = fs.readdirSync(path.join(folder, "assets")).find((name) => /^search\..*\.js$/.test(name));
  let data;
  page.Ruleout.search.got = (all) => { data = JSON.parse(JSON.stringify(all)); };
  vm.runInContext(fs.readFileSync(path.join(folder, "assets", asset), "utf8"), page);
  const index = MiniSearch.loadJS(data.index, options);
  data.titles = {};
  for (const at of Object.keys(data.index.documentIds)) { data.titles[data.index.documentIds[at]] = data.index.storedFields[at].title; }
  const codes = Object.keys(data.titles).filter((id) => id.startsWith("codes/")).map((id) => id.slice(6));
  const ranks = [];
  for (const line of fs.readFileSync(tsv, "utf8").split("\n")) {
    if (!line.trim() || line.startsWith("#")) { continue; }
    const [query, wanted] = line.split("\t");
    const pages = [...words.results(index, data, codes, query).pages].map((one) => one.id + ".html");
    ranks.push({ query, wanted, rank: pages.indexOf(wanted) + 1 });
  }
  const within = (most) => ranks.filter((one) => one.rank > 0 && one.rank <= most).length / ranks.length;
  for (const one of ranks.filter((one) => one.rank === 0 || one.rank > 3)) { console.log(`${one.rank || "not"}\t${one.query}\t${one.wanted}`); }
  console.log(JSON.stringify({ queries: ranks.length, three: within(3), ten: within(10) }));
}
