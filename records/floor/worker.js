// The worker of the floor. SHELL and VERSION stand above, put there by the server: a new version is a new cache.
// A page comes from the server; where that does not answer, the shell stands in for it and draws it from the tablet.
// What a page is made of comes from the cache where the page is of the same version: a slow link is asked once a screen.
// BESIDE is what is large and not needed for the first screen (the camera's decoder): kept as soon as there is a link.
const CACHE = `floor-${VERSION}`;
const DECODER = `decoder-${BESIDE_VERSION}`;
const PATIENCE_MS = 4_000;
const PART_MS = 15_000; // all parts come at once where the version is new
const QUIET_MS = 10_000; // so long after a failure nothing is waited for
let failedAt = 0;
let isCurrent = false; // the page that was given out last is of this version
let keeping = null;

self.addEventListener("install", (event) => {
  event.waitUntil(keepShell().then(() => self.skipWaiting()));
});

async function keepShell() {
  const cache = await caches.open(CACHE);
  for (const address of SHELL) {
    const answer = await fetch(address, { cache: "no-cache", signal: AbortSignal.timeout(PART_MS) });
    if (!answer.ok || answer.redirected) throw new Error(`${address} could not be kept`);
    await cache.put(address, answer);
  }
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOld().then(() => self.clients.claim()));
});

async function dropOld() {
  for (const name of await caches.keys()) if (/^(floor|decoder)-/.test(name) && ![CACHE, DECODER].includes(name)) await caches.delete(name);
}

// All of it or nothing is found there: the last one is the largest, and it is asked for last.
function keepBeside() {
  keeping ??= (async () => {
    const cache = await caches.open(DECODER);
    for (const address of BESIDE) if (!(await cache.match(address))) await cache.add(new Request(address, { signal: AbortSignal.timeout(4 * PART_MS) }));
  })().catch(() => {}).finally(() => { keeping = null; });
  return keeping;
}

self.addEventListener("message", (event) => {
  if (!event.data?.link) return;
  failedAt = 0;
  event.waitUntil(keepBeside());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const path = new URL(request.url).pathname;
  if (request.method !== "GET") return;
  if (request.mode === "navigate" && path.startsWith("/floor/")) event.respondWith(page(request));
  else if (SHELL.includes(path)) event.respondWith(part(request, path));
  else if (BESIDE.includes(path)) event.respondWith(caches.match(path).then((kept) => kept ?? fetch(request)));
});

// All of it: a page of which the link brings half says nothing, and none of its keys works. What is not here in time is
// given up: a browser keeps few connections to a site, and each that a dead link holds would be missing afterwards.
async function fromServer(request, patience) {
  const quiet = Date.now() - failedAt < QUIET_MS;
  if (quiet) throw new Error("no link a moment ago");
  const giveUp = new AbortController();
  const ends = setTimeout(() => giveUp.abort(), patience);
  try {
    const { signal } = giveUp;
    // A navigation can't be given a signal; one of the same address can, and the browser follows where it leads.
    const asked = request.mode === "navigate" ? [request.url, { redirect: "manual", referrer: request.referrer, signal }] : [request, { signal }];
    const answer = await fetch(...asked);
    await answer.clone().arrayBuffer();
    if ([502, 503, 504].includes(answer.status)) throw new Error("nobody behind the door");
    failedAt = 0;
    return answer;
  } catch (failure) {
    failedAt = Date.now();
    throw failure;
  } finally {
    clearTimeout(ends); // what has come whole is read later: nothing may break it off then
  }
}

async function page(request) {
  try {
    const answer = await fromServer(request, PATIENCE_MS);
    isCurrent = answer.headers.get("Floor-Shell") === VERSION;
    return answer;
  } catch {
    isCurrent = true;
    // The camera has a page of its own, for its policy; any other is drawn by the shell.
    const own = await caches.match(new URL(request.url).pathname);
    return own ?? (await caches.match(SHELL[0])) ?? Response.error();
  }
}

async function part(request, path) {
  const kept = isCurrent ? await caches.match(path) : null;
  if (kept) return kept;
  try {
    return await fromServer(request, PART_MS);
  } catch {
    return (await caches.match(path)) ?? Response.error();
  }
}
