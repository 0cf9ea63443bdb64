// The service worker. It keeps the site's own files and one page that is the same for everybody; no
// page or answer with anybody's records in it ever goes into this cache.
const NAME = "site-{{ version }}";
const PAGE = "{{ page }}";
const ADDRESSES = {{ addresses|safe }};
const KEPT = new Set(ADDRESSES.map((address) => new URL(address, location.href).href));
const READER = /\/web\/(js\/scan\/worker|vendor\/zxing-wasm\/)/;
// With one bar of signal a page may take for ever; these are on the device too.
const ON_THE_DEVICE = /^\/(bench|flowers|plants|crosses|sowings\/counts|offline)?(\/|$)/;
const PATIENCE_MS = 8000;

self.addEventListener("install", (event) => {
  // Asked for without cookies, so that it cannot be anybody's.
  const page = new Request(PAGE, { credentials: "omit", cache: "reload" });
  event.waitUntil(
    caches
      .open(NAME)
      .then((cache) => Promise.all([cache.addAll(ADDRESSES), cache.add(page)]))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  const drop = (names) =>
    Promise.all(names.filter((name) => name !== NAME).map((name) => caches.delete(name)));
  event.waitUntil(caches.keys().then(drop).then(() => self.clients.claim()));
});

async function keptFile(request) {
  const cache = await caches.open(NAME);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await cache.put(request, answer.clone());
  return answer;
}

async function keptPage() {
  const cache = await caches.open(NAME);
  return (await cache.match(PAGE)) ?? Response.error();
}

function inTime(request) {
  if (!ON_THE_DEVICE.test(new URL(request.url).pathname)) return fetch(request);
  const late = new Promise((_, reject) => setTimeout(() => reject(new Error("late")), PATIENCE_MS));
  return Promise.race([fetch(request), late]);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (new URL(request.url).origin !== location.origin) return;
  // A form sent without a signal ends on our own page, which keeps what was typed.
  if (request.method === "POST" && request.mode === "navigate") event.respondWith(fetch(request).catch(keptPage));
  if (request.method !== "GET") return;
  if (request.mode === "navigate") event.respondWith(inTime(request).catch(keptPage));
  else if (KEPT.has(request.url) || READER.test(request.url)) event.respondWith(keptFile(request));
});
