// Keeps a copy of a round's page, without addresses, for when there is no network; wipes it when
// its time is over.
"use strict";
const COPIES = "round-copies";
const UNTIL = "X-Wiped-At";

const store = async (url, as, until) => {
  const answer = await fetch(url, { credentials: "same-origin" });
  if (!answer.ok) return;
  const headers = new Headers(answer.headers);
  headers.set(UNTIL, until);
  const copy = new Response(await answer.blob(), { status: 200, headers });
  await (await caches.open(COPIES)).put(as, copy);
};

const wipe = async () => {
  const kept = await caches.open(COPIES);
  for (const request of await kept.keys()) {
    const found = await kept.match(request);
    if (!(new Date(found.headers.get(UNTIL)) > new Date())) await kept.delete(request);
  }
};

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim().then(wipe)));
self.addEventListener("message", (event) => {
  const { address, wipedAt, urls } = event.data;
  const page = new URL(address, self.location).href;
  const all = [store(`${page}?copy=1`, page, wipedAt), ...urls.map((url) => store(url, url, wipedAt))];
  event.waitUntil(Promise.allSettled(all).then(wipe));
});
self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  event.respondWith((async () => {
    try {
      return await fetch(event.request);
    } catch (error) {
      await wipe();
      const found = await (await caches.open(COPIES)).match(event.request.url.split(/[?#]/)[0]);
      if (found) return found;
      throw error;
    }
  })());
});
