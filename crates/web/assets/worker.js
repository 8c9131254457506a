// Keeps the last state of the pages that were open, so that they open again while the laptop is out of reach.
"use strict";

const KEPT = "wattwright-pages";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const path = new URL(request.url).pathname;
  const keep = path === "/" || path.startsWith("/look/") || path.startsWith("/site/") || path === "/help";
  if (request.method !== "GET" || !keep || /\/(export|file)$/.test(path)) return;
  event.respondWith((async () => {
    const pages = await caches.open(KEPT);
    try {
      const answer = await fetch(request);
      if (answer.ok) await pages.put(request, answer.clone());
      else if (answer.status === 401) await caches.delete(KEPT); // shut out: nothing is left to be opened again
      return answer;
    } catch (error) {
      const kept = await pages.match(request);
      if (kept) return kept;
      throw error;
    }
  })());
});
