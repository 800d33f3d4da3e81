/* Keeps the whole site on the device. The only script that may fetch.
   LIST names every file with the start of its SHA-256; its own name changes with any of them, and so does this file. */
"use strict";
var LIST = "{{list}}";
var HOME = new URL("./", self.location.href);
var OURS = "site " + HOME.pathname + " ";
var NAME = OURS + LIST;

function at(address) { return new URL(address, HOME).href; }

function hex(bytes) {
  return Array.prototype.map.call(new Uint8Array(bytes), function (byte) { return (byte < 16 ? "0" : "") + byte.toString(16); }).join("");
}

function tell(message) {
  return self.clients.matchAll({ type: "window", includeUncontrolled: true }).then(function (pages) {
    pages.filter(function (page) { return page.url.indexOf(HOME.href) === 0; }).forEach(function (page) { page.postMessage(message); });
  });
}

/* The names of the site's caches, this version's first. */
async function ours() {
  var names = (await caches.keys()).filter(function (name) { return name.indexOf(OURS) === 0 && name !== NAME; });
  return [NAME].concat(names.reverse());
}

/* A file from the network, whole and of this version: a site that is replaced meanwhile must not be mixed. */
async function fetched(address, digest) {
  var answer = await fetch(at(address), { cache: "no-cache", credentials: "same-origin" });
  if (!answer.ok) { throw new Error(address + " is not there"); }
  var bytes = await answer.arrayBuffer();
  if (digest && hex(await crypto.subtle.digest("SHA-256", bytes)).indexOf(digest) !== 0) { throw new Error(address + " is of another version"); }
  /* A new answer: one that was redirected must not answer a move to a page. */
  return new Response(bytes, { headers: { "content-type": answer.headers.get("content-type") || "application/octet-stream" } });
}

/* What other versions hold: address and digest to the cache that has it. */
async function known() {
  var out = new Map();
  for (var name of (await ours()).slice(1)) {
    var cache = await caches.open(name);
    var list = await cache.match(at(name.slice(OURS.length)));
    if (!list) { continue; }
    var files = await list.json();
    Object.keys(files).forEach(function (address) { out.set(address + " " + files[address], cache); });
  }
  return out;
}

/* Every file into this version's cache; what is there already, and what did not change, is not fetched again. */
async function keep() {
  var list = await fetched(LIST, "");
  var files = await list.clone().json();
  var cache = await caches.open(NAME);
  var have = new Set((await cache.keys()).map(function (request) { return request.url; }));
  var same = await known();
  var all = Object.keys(files);
  var waiting = all.filter(function (address) { return !have.has(at(address)); });
  var kept = all.length - waiting.length;
  async function take(address) {
    var old = same.get(address + " " + files[address]);
    var file = old && await old.match(at(address));
    await cache.put(at(address), file || await fetched(address, files[address]));
    kept += 1;
    if (kept % 100 === 0) { await tell({ kept: kept, all: all.length }); }
  }
  /* Six at a time; the first that fails ends it, and what is there stays for the next try. */
  var fault = null;
  async function work() {
    while (waiting.length && !fault) {
      try { await take(waiting.shift()); } catch (refused) { fault = refused; }
    }
  }
  await Promise.all([work(), work(), work(), work(), work(), work()]);
  if (fault) { throw fault; }
  /* Last of all: a cache that holds its list is whole. */
  await cache.put(at(LIST), list);
}

/* Other versions go once no second page can still be reading from them. */
async function tidy() {
  var pages = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  if (pages.filter(function (page) { return page.url.indexOf(HOME.href) === 0; }).length > 1) { return; }
  await Promise.all((await ours()).slice(1).map(function (name) { return caches.delete(name); }));
}

async function answer(request) {
  var url = new URL(request.url);
  var path = url.origin + url.pathname + (url.pathname.endsWith("/") ? "index.html" : "");
  for (var name of await ours()) {
    var file = await caches.match(path, { cacheName: name });
    if (file) { return file; }
  }
  return fetch(request).catch(function () {
    return new Response("This page is not kept on the device, and there is no network.", { status: 404, headers: { "content-type": "text/plain; charset=utf-8" } });
  });
}

self.addEventListener("install", function (event) {
  event.waitUntil(keep().catch(function (refused) { return tell({ failed: true }).then(function () { throw refused; }); }));
});
self.addEventListener("activate", function (event) { event.waitUntil(Promise.all([tidy(), self.clients.claim()])); });
self.addEventListener("message", function (event) { if (event.data === "go") { self.skipWaiting(); } });
self.addEventListener("fetch", function (event) {
  if (event.request.method !== "GET" || event.request.url.indexOf(HOME.href) !== 0) { return; }
  event.respondWith(answer(event.request));
  if (event.request.mode === "navigate") { event.waitUntil(tidy()); }
});
