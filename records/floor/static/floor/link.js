// The link: sending what waits, in order, one tab at a time; and the snapshot that is taken along.
import { clockNow, madeAt } from "./clocks.js";
import { answered, asSent, device, entries, entryOf, recall, remember, withRoom } from "./outbox.js";
import { isUnsigned, signWaiting } from "./keys.js";
import { sendPhotos } from "./photos.js";
import { say } from "./say.js";
import { dropOld } from "./pin.js";

const ENTRIES = "/floor/entries/";
const PHOTOS = "/floor/photos/";
const SNAPSHOT = "/floor/snapshot/";
const BATCH = 40;
const PATIENCE_MS = 15_000;
export const ENOUGH_MS = 6_000; // for what somebody waits at
const SOON_MS = 2_500; // where there was no link a moment ago
export const EVERY_MS = 15_000;
const FRESH_MS = 60_000;
const heard = "BroadcastChannel" in globalThis ? new BroadcastChannel("framethread") : null;
const listeners = [];
heard?.addEventListener("message", () => listeners.forEach((listen) => listen()));

export const whenChanged = (listen) => listeners.push(listen);

export function tellOthers() {
  heard?.postMessage("changed");
  listeners.forEach((listen) => listen());
}

export async function state() {
  return (await recall("link")) ?? { is: "unknown" };
}

// No link for what somebody waits at: the next screen is drawn at once.
export const lost = () => noted("none").then(tellOthers);

async function noted(is) {
  await remember("link", { is, at: Date.now() });
  navigator.serviceWorker?.controller?.postMessage({ link: is !== "none" });
}

function token() {
  return document.cookie.match(/(?:^|; )(?:__Host-)?csrftoken=([^;]+)/)?.[1] ?? "";
}

// The server's clock less this tablet's, by the middle of asking and being answered.
async function setClock(serverTime, askedAt) {
  const offset_ms = Math.round(Date.parse(serverTime) - (askedAt + Date.now()) / 2);
  await remember("clock", { offset_ms, ...clockNow() });
}

// Send a short ask; its answer with whether it was taken. It throws where there is no link.
export async function post(address, told) {
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token() };
  const answer = await fetch(address, { method: "POST", headers, body: JSON.stringify(told), signal: AbortSignal.timeout(ENOUGH_MS) });
  if (answer.status >= 500) throw new Error(`answered ${answer.status}`);
  return { words: "", ...(await answer.json().catch(() => ({}))), ok: answer.ok };
}

// What the tablet tells of itself at each contact.
async function aboutHere() {
  const waiting = await entries("waiting");
  const station = location.pathname.match(/^\/floor\/at\/([^/]+)/)?.[1] ?? "";
  const told = { device: await device(), station: decodeURIComponent(station), unsent: waiting.length, guesses: (await recall("guessed")) ?? 0 };
  return waiting.length ? { ...told, oldest_at: waiting.map(madeAt).sort()[0] } : told;
}

async function sent(batch, again = true) {
  const askedAt = Date.now();
  const answer = await fetch(ENTRIES, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
    body: JSON.stringify({ entries: batch.map(asSent), tablet: await aboutHere() }),
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  if (answer.status === 403 && again) {
    await fetch(SNAPSHOT, { signal: AbortSignal.timeout(PATIENCE_MS) }); // a new session has a new token
    return sent(batch, false);
  }
  if (answer.status === 401) return { signedOut: true, code: (await answer.json()).code };
  if ([400, 413, 500].includes(answer.status)) return oneByOne(batch);
  if (!answer.ok) throw new Error(`answered ${answer.status}`);
  const told = await answer.json();
  await setClock(told.server_time, askedAt);
  return told;
}

// Whether the server has kept a photo; where it could not, the entry waits and says so.
export async function photoKept(bytes, again = true) {
  const answer = await fetch(PHOTOS, {
    method: "POST",
    headers: { "Content-Type": "image/jpeg", "X-CSRFToken": token() },
    body: bytes,
    signal: AbortSignal.timeout(4 * PATIENCE_MS),
  });
  if (answer.status === 403 && again) {
    await fetch(SNAPSHOT, { signal: AbortSignal.timeout(PATIENCE_MS) });
    return photoKept(bytes, false);
  }
  return answer.ok;
}

// The server stumbled over a batch: each goes alone, so that one that it can't bear keeps back only what depends on it.
async function oneByOne(batch) {
  if (batch.length === 1) {
    const words = say("The server could not work on this. It is sent again by itself; tell your lead.");
    return { answers: [{ key: batch[0].key, outcome: "later", code: "server-fault", words }] };
  }
  const answers = [];
  const later = new Set();
  for (const entry of batch) {
    const waits = entry.depends_on.some((key) => later.has(key));
    const told = waits ? { answers: [notYet(entry)] } : await sent([entry]);
    if (told.signedOut) return told;
    for (const { key, outcome } of told.answers) if (outcome === "later") later.add(key);
    answers.push(...told.answers);
  }
  return { answers };
}

const notYet = ({ key }) => ({ key, outcome: "later", code: "waits", words: say("What comes before it is not on file yet. It is sent again by itself.") });

// What may go now, in order: nothing goes before what it depends on, what waits for its person waits, and what was put
// off in this run gives way: forty at the head whose photos are lost would keep all others here.
export function ready(waiting, session, putOff = new Set()) {
  const held = new Set();
  const go = [];
  for (const entry of waiting) {
    const othersToo = entry.code === "other-person" && entry.by !== session;
    if (putOff.has(entry.key) || othersToo || isUnsigned(entry) || entry.depends_on.some((key) => held.has(key))) held.add(entry.key);
    else if (go.length < BATCH) go.push(entry);
  }
  return go;
}

async function sendInOrder() {
  const session = await recall("session");
  await signWaiting();
  const putOff = new Set();
  const tried = new Set();
  for (let begun = false; ; begun = true) {
    const batch = ready(await entries("waiting"), session, putOff);
    if (begun && !batch.length) return null;
    await sendPhotos(batch, photoKept);
    const told = await sent(batch); // an empty one asks whether there is a link
    if (told.signedOut) return noted(told.code === "locked-out" ? "locked" : "signed-out");
    await noted("linked");
    await answered(told.answers);
    tellOthers();
    for (const { key, outcome } of told.answers) if (outcome === "later") putOff.add(key);
    // Sent once more is what a gate stopped and is told as done; a third time would be without end.
    for (const { key } of batch) if (tried.has(key)) putOff.add(key);
    for (const { key } of batch) tried.add(key);
    if (!batch.length) return null;
  }
}

let running = null;
let following = null;

// Send what waits. Of two tabs one sends, the other waits for it. Whoever asks while one run is under way gets the one
// that follows: the run under way may have looked before the newest entry was kept.
export function send() {
  if (!running) return begin();
  following ??= running.then(() => {
    following = null;
    return begin();
  });
  return following;
}

function begin() {
  running = (navigator.locks ? navigator.locks.request("framethread-outbox", sendInOrder) : sendInOrder())
    .catch(() => noted("none"))
    .finally(() => {
      running = null;
      tellOthers();
    });
  return running;
}

// Send what is kept; what became of each, once it is known or patience has ended. It stays kept whatever goes wrong here:
// to say that it is not would have it logged a second time.
export async function sendAll(kept) {
  try {
    await withRoom(signWaiting);
    tellOthers();
    const patience = (await state()).is === "none" ? SOON_MS : ENOUGH_MS;
    const isSent = await Promise.race([send().then(() => true), new Promise((resolve) => setTimeout(resolve, patience, false))]);
    if (!isSent) await lost();
    return await Promise.all(kept.map((one) => entryOf(one.key)));
  } catch {
    return kept;
  }
}

// The rules and things of this moment, no oftener than once a minute.
export async function takeAlong(force = false) {
  const [before, from] = [await recall("snapshot"), await device()];
  if (!force && before?.of === from && Date.now() - before.fetched_at < FRESH_MS) return before;
  const answer = await fetch(`${SNAPSHOT}?device=${encodeURIComponent(from)}`, {
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  if (!answer.ok || answer.redirected) return before;
  const snapshot = { ...(await answer.json()), of: from, fetched_at: Date.now() };
  await remember("snapshot", snapshot);
  const sittings = (await recall("sittings")) ?? {};
  sittings[snapshot.you.badge] = snapshot.sitting;
  await remember("sittings", sittings);
  await remember("sat", { ...(await recall("sat")), [snapshot.you.badge]: Date.parse(snapshot.you.sat) });
  await remember("session", snapshot.you.badge);
  await dropOld(snapshot.people);
  return snapshot;
}
