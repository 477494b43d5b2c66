// The worker of the floor. SHELL and VERSION stand above, put there by the server: a new version is a new cache.
// A page comes from the server; where that does not answer, the shell stands in for it and draws it from the tablet.
// What a page is made of comes from the cache of the page's own version and never waits for a link. Which pages are of
// another version than this worker is written down before such a page is given out: a worker may lose its memory at any time.
// BESIDE is what is large and not needed for the first screen (the camera's decoder): kept as soon as there is a link.
const CACHE = `floor-${VERSION}`;
const DECODER = `decoder-${BESIDE_VERSION}`;
const OTHERS = "pages of another version";
const LAST = "/floor/worker-before"; // in OTHERS: the version of the worker that was in charge last
const PATIENCE_MS = 4_000;
const PART_MS = 15_000; // all parts come at once where the version is new
const FORM_MS = 15_000;
const FILE_MS = 60_000;
const AT_ONCE = 4; // of the six connections that browsers commonly keep to a site
const CACHE_MS = 3_000; // a cache that does not answer is none
const QUIET_MS = 10_000; // so long after a failure nothing is waited for
let failedAt = 0;
let keeping = null;
let others = null; // by page: its version, where it is not this one
const parts = new Map(); // what was read from the cache once: the next page waits for no disk

self.addEventListener("install", (event) => {
  event.waitUntil(keepShell().then(() => self.skipWaiting()));
});

// A few at a time: one by one the way there and back counts for each, and a page that is used meanwhile needs connections too.
async function keepShell() {
  const cache = await caches.open(CACHE);
  const left = [...SHELL];
  const keepNext = async () => {
    for (let address = left.shift(); address; address = left.shift()) await keepOne(cache, address);
  };
  await Promise.all(Array.from({ length: AT_ONCE }, keepNext));
}

async function keepOne(cache, address) {
  const answer = await fetch(address, { cache: "no-cache", signal: AbortSignal.timeout(PART_MS) });
  if (!answer.ok || answer.redirected) throw new Error(`${address} could not be kept`);
  await allOf(answer);
  await cache.put(address, answer);
}

// All of an answer is here. One whose head was cut off on the way is given out by a browser as one without content.
async function allOf(answer) {
  const { byteLength } = await answer.clone().arrayBuffer();
  if (!byteLength && answer.type !== "opaqueredirect") throw new Error("nothing came");
}

self.addEventListener("activate", (event) => {
  event.waitUntil(takeOver().then(() => self.clients.claim()));
});

// Pages that are open stay of the version that they came with, and so long its parts are kept.
async function takeOver() {
  const notes = await caches.open(OTHERS);
  const before = await (await notes.match(LAST))?.text();
  const open = (await self.clients.matchAll({ type: "window", includeUncontrolled: true })).map((page) => page.id);
  const known = await othersNow();
  const stay = new Map(open.map((id) => [id, known.get(id) ?? before ?? VERSION]).filter(([, version]) => version !== VERSION));
  for (const note of await notes.keys()) await notes.delete(note);
  for (const [id, version] of stay) await notes.put(noteOf(id), new Response(version));
  await notes.put(LAST, new Response(VERSION));
  others = Promise.resolve(stay);
  const kept = [CACHE, DECODER, ...[...stay.values()].map((version) => `floor-${version}`)];
  for (const name of await caches.keys()) if (/^(floor|decoder)-/.test(name) && !kept.includes(name)) await caches.delete(name);
}

const noteOf = (id) => `/floor/page/${id}`;

async function readOthers() {
  const notes = await caches.open(OTHERS);
  const found = (await notes.keys()).filter(({ url }) => url.includes(noteOf("")));
  return new Map(await Promise.all(found.map(async (note) => [note.url.split("/").pop(), await (await notes.match(note)).text()])));
}

const othersNow = () => (others ??= readOthers().catch(() => new Map()));

// A page of another version is written down before it is given out. Pages that say none have no parts.
async function noteVersion(answer, id) {
  const version = answer.headers.get("Floor-Shell") ?? VERSION;
  if (version === VERSION) return;
  (await othersNow()).set(id, version);
  await (await caches.open(OTHERS)).put(noteOf(id), new Response(version));
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
  if (event.data?.link === undefined) return;
  failedAt = event.data.link ? 0 : Date.now();
  if (event.data.link) event.waitUntil(keepBeside());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const path = new URL(request.url).pathname;
  const isPage = request.mode === "navigate" && path.startsWith("/floor/");
  if (isPage && request.method === "POST") event.respondWith(posted(request, event));
  else if (request.method !== "GET") return;
  else if (isPage) event.respondWith(page(request, path, event.resultingClientId));
  else if (SHELL.includes(path)) event.respondWith(part(request, path, event.clientId));
  else if (BESIDE.includes(path)) event.respondWith(caches.match(path).then((kept) => kept ?? fetch(request, { signal: AbortSignal.timeout(FILE_MS) })));
});

// All of it: a page of which the link brings half says nothing, and none of its keys works. What is not here in time is
// given up: a browser keeps few connections to a site, and each that a dead link holds would be missing afterwards.
async function fromServer(request, patience) {
  const giveUp = new AbortController();
  const ends = setTimeout(() => giveUp.abort(), patience);
  try {
    // The browser follows where a navigation leads, and asks here for that page too.
    const answer = await fetch(...asking(request, giveUp.signal));
    await allOf(answer);
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

// A page that is asked for can't be given a signal; one of the same address can.
function asking(request, signal) {
  if (request.mode !== "navigate") return [request, { signal }];
  const asked = { redirect: "manual", referrer: request.referrer, signal };
  return request.method === "GET" ? [request.url, asked] : [request, asked];
}

function unlessQuiet() {
  if (Date.now() - failedAt < QUIET_MS) throw new Error("no link a moment ago");
}

async function page(request, path, id) {
  try {
    unlessQuiet();
    const answer = await fromServer(request, PATIENCE_MS);
    await noteVersion(answer, id);
    return answer;
  } catch {
    // The camera has a page of its own, for its policy; any other is drawn by the shell.
    const own = await caches.match(path, { cacheName: CACHE });
    return own ?? (await caches.match(SHELL[0], { cacheName: CACHE })) ?? Response.error();
  }
}

// A form that goes by itself. Where no answer comes, the page that it was written on stays as it is and says so: an answer
// without content leads nowhere.
async function posted(request, { clientId, resultingClientId }) {
  try {
    const isLarge = request.headers.get("Content-Type")?.startsWith("multipart/");
    const answer = await fromServer(request, isLarge ? FILE_MS : FORM_MS);
    await noteVersion(answer, resultingClientId);
    return answer;
  } catch {
    (await self.clients.get(clientId))?.postMessage({ unanswered: request.url });
    return new Response(null, { status: 204 });
  }
}

// A page is never made of another version's parts: one whose own do not come asks for itself once more (again.js), and is
// drawn by the tablet then.
async function part(request, path, id) {
  try {
    const version = (await othersNow()).get(id) ?? VERSION;
    const kept = await Promise.race([keptPart(path, version), new Promise((resolve) => setTimeout(resolve, CACHE_MS, null))]);
    if (kept) return kept;
    unlessQuiet();
    return await fromServer(request, PART_MS);
  } catch {
    return Response.error();
  }
}

async function keptPart(path, version) {
  const name = `${version} ${path}`;
  if (!parts.has(name)) {
    const kept = await caches.match(path, { cacheName: `floor-${version}` });
    if (!kept) return null;
    parts.set(name, { body: await kept.arrayBuffer(), headers: kept.headers });
  }
  const { body, headers } = parts.get(name);
  return new Response(body, { headers });
}
