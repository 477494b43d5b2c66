// The outbox: what was logged, kept on this tablet until the server has answered. Every entry goes this way, link or not.
import { isUnsure } from "./clocks.js";

const NAME = "framethread";
const KEPT_DAYS = 14; // answered entries stay readable so long
let opened = null;

// Fields under which an entry names things: what touches the same thing goes up in the order in which it was made.
const NAMING = new Set(["unit", "item", "lot", "pot", "front", "rear", "tank", "into", "preforms", "units", "tools"]);
// What was read names nothing: the unit of a reading is millimetres or millibars.
const READ = new Set(["readings", "lines"]);

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function database() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      const entries = request.result.createObjectStore("entries", { keyPath: "sequence", autoIncrement: true });
      entries.createIndex("key", "key", { unique: true });
      entries.createIndex("state", "state");
      request.result.createObjectStore("kept", { keyPath: "name" });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  opened.catch(() => { opened = null; });
  return opened;
}

// One transaction that is on the disk when it is told as done: an entry outlives a crash of the page or the tablet.
async function transact(stores, mode, work) {
  const db = await database();
  const transaction = db.transaction(stores, mode, { durability: "strict" });
  const ended = new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
  });
  try {
    const result = await work(transaction);
    await ended;
    return result;
  } catch (failure) {
    ended.catch(() => {});
    throw failure;
  }
}

export async function recall(name) {
  const row = await transact(["kept"], "readonly", (t) => asked(t.objectStore("kept").get(name)));
  return row?.value;
}

export async function remember(name, value) {
  await transact(["kept"], "readwrite", (t) => asked(t.objectStore("kept").put({ name, value })));
}

export async function forget(name) {
  await transact(["kept"], "readwrite", (t) => asked(t.objectStore("kept").delete(name)));
}

export async function keptNames(beginning) {
  const range = IDBKeyRange.bound(beginning, `${beginning}\uffff`);
  return transact(["kept"], "readonly", (t) => asked(t.objectStore("kept").getAllKeys(range)));
}

// The name under which this tablet sends; made once.
export async function device() {
  let name = await recall("device");
  if (!name) {
    name = `tablet-${crypto.randomUUID().slice(0, 13)}`;
    await remember("device", name);
  }
  return name;
}

function touched(value, name = "") {
  if (typeof value === "string") return NAMING.has(name) && value ? [value.toUpperCase()] : [];
  if (Array.isArray(value)) return value.flatMap((one) => touched(one, name));
  if (value && typeof value === "object") return Object.entries(value).flatMap(([key, one]) => (READ.has(key) ? [] : touched(one, key)));
  return [];
}

// By whose keys an entry is to be signed; the salt keeps a signature from telling what was signed once that is erased.
function signers({ by, second }, keys) {
  const salt = crypto.randomUUID();
  const beside = second ? { second: { ...second, signer: keys[second.by]?.public } } : {};
  return { ...(keys[by] ? { signer: keys[by].public, salt } : {}), ...beside };
}

// Keep entries, all of them or none. Each is {kind, payload, by, ...}; what was kept under a key before stays as it was.
export async function put(made) {
  const from = await device();
  const clock = (await recall("clock")) ?? { offset_ms: 0 };
  const keys = (await recall("keys")) ?? {};
  return transact(["entries"], "readwrite", async (transaction) => {
    const store = transaction.objectStore("entries");
    const waiting = await asked(store.index("state").getAll("waiting"));
    const kept = [];
    for (const one of made) {
      const before = await asked(store.index("key").get(one.key));
      if (before) {
        kept.push(before);
        continue;
      }
      const touches = touched(one.payload);
      const last = [...waiting].reverse().find((other) => other.touches.some((code) => touches.includes(code)));
      const depends_on = [...new Set([...(one.depends_on ?? []), ...(last ? [last.key] : [])])];
      // What is typed in from paper happened at the time written there, by no clock of this tablet.
      const moment = one.made_at ? { made_at: one.made_at, offset_ms: 0 } : { made_at: new Date().toISOString(), offset_ms: clock.offset_ms };
      const entry = { ...one, ...moment, device: from, touches };
      entry.time_unsure = !one.made_at && isUnsure(clock, (await asked(store.openCursor(null, "prev")))?.value.made_at);
      Object.assign(entry, { depends_on, state: "waiting", tries: 0 }, signers(entry, keys));
      entry.sequence = await asked(store.add(entry));
      waiting.push(entry);
      kept.push(entry);
    }
    return kept;
  });
}

export async function entries(state) {
  return transact(["entries"], "readonly", (t) => {
    const store = t.objectStore("entries");
    return asked(state ? store.index("state").getAll(state) : store.getAll());
  });
}

export async function entryOf(key) {
  return transact(["entries"], "readonly", (t) => asked(t.objectStore("entries").index("key").get(key)));
}

export async function change(key, what) {
  await transact(["entries"], "readwrite", async (t) => {
    const store = t.objectStore("entries");
    const entry = await asked(store.index("key").get(key));
    if (entry) await asked(store.put({ ...entry, ...what }));
  });
}

// What a gate has stopped is told as done: what it made and was to be held with it is sent once more too.
export async function toldAsDone(key) {
  const stopped = (await entries("refused")).filter((one) => one.key === key || one.payload.made_by === key);
  for (const one of stopped) await change(one.key, { state: "waiting", done: true });
}

const NEEDS = { flagged: "flagged", refused: "refused", conflict: "conflict" };

// What the server said of entries, written down at once. One that was left as kept and is stopped by a gate has
// happened: it is told once more as done.
export async function answered(answers) {
  const { offset_ms } = (await recall("clock")) ?? { offset_ms: 0 };
  await transact(["entries"], "readwrite", async (t) => {
    const store = t.objectStore("entries");
    const answered_at = new Date(Date.now() + offset_ms).toISOString(); // by the works' clock, as the snapshot's time is
    for (const answer of answers) {
      const entry = await asked(store.index("key").get(answer.key));
      if (!entry || entry.state !== "waiting") continue;
      const told = { words: answer.words, code: answer.code, made: answer.made, answered_at };
      if (answer.outcome === "later") {
        Object.assign(entry, { words: answer.words, code: answer.code, tries: entry.tries + 1 });
      } else if (answer.outcome === "refused" && entry.left && !entry.done && answer.code !== "malformed") {
        Object.assign(entry, { done: true, code: answer.code, words: answer.words });
      } else {
        Object.assign(entry, told, { state: NEEDS[answer.outcome] ?? "taken" });
      }
      await asked(store.put(entry));
    }
  });
}

// Room for what is new: answered entries go after their time, and at once where the tablet is full.
export async function makeRoom(all = false) {
  const limit = Date.now() - KEPT_DAYS * 86_400_000;
  await transact(["entries"], "readwrite", async (t) => {
    const store = t.objectStore("entries");
    for (const entry of await asked(store.index("state").getAll("taken"))) {
      if (all || Date.parse(entry.answered_at) < limit) store.delete(entry.sequence);
    }
  });
}

// On a full tablet once more, when what has gone up has made room.
export const withRoom = (work) => work().catch(() => makeRoom(true).catch(() => {}).then(work));

// Keep entries here: all of them, or none and it throws.
export function keepAll(made) {
  navigator.storage?.persist?.();
  return withRoom(() => put(made));
}

// An entry as it is sent: none of what the tablet notes for itself.
export function asSent(entry) {
  const { key, kind, made_at, offset_ms, device: from, done, payload, sequence, depends_on } = entry;
  const sent = { key, kind, made_at, offset_ms, device: from, done: Boolean(done), payload, sequence, depends_on };
  for (const name of ["by", "sitting", "seen", "second", "signer", "salt", "signature", "paper", "figures", "time_unsure", "photos_left"]) if (entry[name]) sent[name] = entry[name];
  return entry.photos?.length ? { ...sent, photos: entry.photos } : sent;
}
