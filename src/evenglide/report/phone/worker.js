// Keeps the page itself, so that it opens without the laptop. Records are never in here.

const SHELL = "evenglide shell";

addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then((cache) => cache.addAll(FILES)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => event.waitUntil(clients.claim()));

addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).pathname.endsWith("/plan")) return;
  event.respondWith(fetch(request).then(async (answer) => {
    if (answer.ok) (await caches.open(SHELL)).put(request, answer.clone());
    return answer;
  }).catch(async () => (await caches.match(request, { ignoreSearch: true })) ?? Response.error()));
});
