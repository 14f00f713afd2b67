// Lets the bench page come up again while the server is down. Browsers run it only on https or on
// this machine itself. It keeps the page's own files, newest first; it never touches /api.

const VERSION = new URL(self.location.href).searchParams.get("v") ?? "0";
const SHELF = `bench-${VERSION}`;
const FILES = [
  "/static/bench/acts.js",
  "/static/bench/bench.css",
  "/static/bench/bench.js",
  "/static/bench/clock.js",
  "/static/bench/coat.js",
  "/static/bench/corrections.js",
  "/static/bench/dew.js",
  "/static/bench/draw.js",
  "/static/bench/say.js",
  "/static/bench/fold.js",
  "/static/bench/glance.js",
  "/static/bench/hands.js",
  "/static/bench/happened.js",
  "/static/bench/icon.svg",
  "/static/bench/ids.js",
  "/static/bench/keys.js",
  "/static/bench/link.js",
  "/static/bench/look.js",
  "/static/bench/moments.js",
  "/static/bench/opening.js",
  "/static/bench/plans.js",
  "/static/bench/questions.js",
  "/static/bench/queue.js",
  "/static/bench/screens.js",
  "/static/bench/speech.js",
  "/static/bench/units.js",
  "/static/bench/wake.js",
  "/static/bench/words.js",
  "/static/fonts/B612-Bold.otf",
  "/static/fonts/B612-Regular.otf",
];
const PATIENCE_MS = 4000;
const NOTHING_KEPT = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="color-scheme" content="dark"><title>Bench</title>
</head><body bgcolor="#000000" text="#ff0000"><link rel="stylesheet" href="/static/bench/bench.css"><main class="screen">
<p class="word">The server does not answer, and this run was not opened on this tablet before.</p>
<p>Start the server, or go back to the page that holds the run.</p></main></body></html>`;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELF).then((shelf) => shelf.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("bench-") && name !== SHELF);
  event.waitUntil(
    caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()),
  );
});

const isBench = (path) => /^\/bench\/[^/]+$/.test(path);

async function fresh(request) {
  const shelf = await caches.open(SHELF);
  const stop = new AbortController();
  const giveUp = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (answer.ok && !answer.redirected) await shelf.put(request, answer.clone());
    if (answer.status < 500) return answer;
    return (await shelf.match(request)) ?? answer;
  } catch (error) {
    const kept = await shelf.match(request, { ignoreVary: true });
    if (kept) return kept;
    if (request.mode === "navigate") return new Response(NOTHING_KEPT, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
    throw error;
  } finally {
    clearTimeout(giveUp);
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (isBench(url.pathname) || FILES.includes(url.pathname) || url.pathname === "/manifest.webmanifest") event.respondWith(fresh(request));
});
