// Keeps the page's shell on the phone, so that it opens and keeps pictures while the server is away.
const SHELL = "shell-1";
self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then(async (cache) => {
    const page = await fetch("/offline");
    const text = await page.clone().text();
    const named = [...text.matchAll(/(?:href|src)="(\/static\/[^"#]+)/g)].map((found) => found[1]);
    const files = [...new Set(named)];
    await cache.put("/offline", page);
    await cache.addAll([...files, "/static/outbox.js", "/static/work.js", "/static/words.js", "/static/box.js"]);
  }).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const asked = new URL(event.request.url);
  if (event.request.method !== "GET" || asked.origin !== location.origin) return;
  if (event.request.mode === "navigate") {
    event.respondWith(fetch(event.request).catch(() => caches.match("/offline")));
  } else if (asked.pathname.startsWith("/static/")) {
    event.respondWith(fetch(event.request).catch(() => caches.match(event.request, { ignoreSearch: true })));
  }
});
