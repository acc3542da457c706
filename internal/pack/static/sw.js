// Keeps a lesson for times without a network. Its first lines name the lesson's files and
// their version, which changes with any of them; then all are fetched anew. Sound is kept
// once it was played, what is to be printed once it was opened.
"use strict";
const shelf = "lesson " + self.registration.scope + " ", name = shelf + version;
self.addEventListener("install", (e) => {
  e.waitUntil(caches.open(name).then((c) => c.addAll(files.map((f) => new Request(f, { cache: "no-cache" })))).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (e) => {
  e.waitUntil((async () => {
    for (const k of await caches.keys()) if (k.startsWith(shelf) && k !== name) await caches.delete(k);
    await self.clients.claim();
  })());
});
// part cuts out of a whole answer what was asked for: a player asks for sound by ranges.
async function part(whole, range) {
  const m = /^bytes=(\d+)-(\d*)$/.exec(range || "");
  if (!m) return whole;
  const all = await whole.blob(), from = +m[1], to = m[2] ? Math.min(+m[2], all.size - 1) : all.size - 1;
  if (from > to) return new Response(null, { status: 416, headers: { "Content-Range": "bytes */" + all.size } });
  return new Response(all.slice(from, to + 1), { status: 206, headers: { "Content-Type": whole.headers.get("Content-Type") || "audio/mpeg",
    "Content-Range": "bytes " + from + "-" + to + "/" + all.size, "Content-Length": String(to - from + 1), "Accept-Ranges": "bytes" } });
}
const fetching = new Map();
// keep fetches a file whole and keeps it; two who ask at once share one fetch.
function keep(cache, url) {
  if (!fetching.has(url)) {
    fetching.set(url, fetch(url).then((r) => r.status === 200 ? cache.put(url, r) : undefined).catch(() => undefined).finally(() => fetching.delete(url)));
  }
  return fetching.get(url);
}
self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || !url.href.startsWith(self.registration.scope)) return;
  url.hash = "";
  if (url.pathname.endsWith("/")) url.pathname += "index.html";
  const at = url.href;
  e.respondWith((async () => {
    const cache = await caches.open(name), range = e.request.headers.get("Range");
    const there = await cache.match(at);
    // A page that a server had moved (index.html to its folder) may not answer as it is.
    if (there) return part(there.redirected ? new Response(there.body, { headers: there.headers }) : there, range);
    if (range) { e.waitUntil(keep(cache, at)); return fetch(e.request); }
    const r = await fetch(e.request);
    if (r.status === 200) e.waitUntil(cache.put(at, r.clone()));
    return r;
  })());
});
