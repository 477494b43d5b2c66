// The worker of the floor. SHELL and VERSION stand above, put there by the server: a new version is a new cache.
// A page comes from the server; where that does not answer, the shell stands in for it and draws it from the tablet.
const CACHE = `floor-${VERSION}`;
const PATIENCE_MS = 4_000;
const QUIET_MS = 10_000; // so long after a failure nothing is waited for
let failedAt = 0;

self.addEventListener("install", (event) => {
  event.waitUntil(keepShell().then(() => self.skipWaiting()));
});

async function keepShell() {
  const cache = await caches.open(CACHE);
  for (const address of SHELL) {
    const answer = await fetch(address, { cache: "no-cache" });
    if (!answer.ok || answer.redirected) throw new Error(`${address} could not be kept`);
    await cache.put(address, answer);
  }
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOld().then(() => self.clients.claim()));
});

async function dropOld() {
  for (const name of await caches.keys()) if (name.startsWith("floor-") && name !== CACHE) await caches.delete(name);
}

self.addEventListener("message", (event) => {
  if (event.data?.link) failedAt = 0;
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const path = new URL(request.url).pathname;
  if (request.method !== "GET") return;
  if (request.mode === "navigate" && path.startsWith("/floor/")) event.respondWith(page(request));
  else if (SHELL.includes(path)) event.respondWith(part(request, path));
});

async function fromServer(request) {
  const quiet = Date.now() - failedAt < QUIET_MS;
  if (quiet) throw new Error("no link a moment ago");
  try {
    const ends = new Promise((_, fail) => setTimeout(() => fail(new Error("too slow")), PATIENCE_MS));
    const answer = await Promise.race([fetch(request), ends]);
    if ([502, 503, 504].includes(answer.status)) throw new Error("nobody behind the door");
    failedAt = 0;
    return answer;
  } catch (failure) {
    failedAt = Date.now();
    throw failure;
  }
}

async function page(request) {
  try {
    return await fromServer(request);
  } catch {
    // The camera has a page of its own, for its policy; any other is drawn by the shell.
    const own = await caches.match(new URL(request.url).pathname);
    return own ?? (await caches.match(SHELL[0])) ?? Response.error();
  }
}

async function part(request, path) {
  try {
    return await fromServer(request);
  } catch {
    return (await caches.match(path)) ?? Response.error();
  }
}
