// PINs without a link. What checks one was made on this tablet when the PIN was right with a link: PBKDF2, then a key that
// can't leave the tablet. A PIN has few digits, so whoever takes the tablet apart can try them all: lock a lost one out.
import { recall, remember } from "./outbox.js";

const ROUNDS = 600_000; // as is advised for PBKDF2 with SHA-256, from memory
const FREE_GUESSES = 5;
const FIRST_WAIT_MS = 60_000;
const LONGEST_WAIT_MS = 12 * 3_600_000;
const subtle = globalThis.crypto?.subtle;
const MAC = { name: "HMAC", hash: "SHA-256" };

async function boundKey() {
  const key = (await recall("pin-key")) ?? (await subtle.generateKey(MAC, false, ["sign"]));
  await remember("pin-key", key);
  return key;
}

async function check(pin, salt) {
  const typed = await subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveBits"]);
  const bits = await subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt, iterations: ROUNDS }, typed, 256);
  return [...new Uint8Array(await subtle.sign("HMAC", await boundKey(), bits))].join();
}

// A PIN that the server has just found right; `revision` says which one it is.
export async function keepPin(badge, pin, revision) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  await remember("pins", { ...(await recall("pins")), [badge]: { salt, revision, check: await check(pin, salt) } });
  await forget(badge);
}

// Drop what belongs to a PIN that was changed, and to a badge that was closed.
export async function dropOld(people) {
  const pins = Object.entries((await recall("pins")) ?? {});
  const stays = pins.filter(([badge, kept]) => people.some((one) => one.badge === badge && one.pin === kept.revision));
  if (stays.length < pins.length) await remember("pins", Object.fromEntries(stays));
}

export async function knowsPin(badge) {
  return Boolean((await recall("pins"))?.[badge]);
}

// How long to wait before another PIN is tried; doubled with each wrong one after the free ones.
export async function waitFor(badge) {
  const guess = (await recall("guesses"))?.[badge];
  return guess ? Math.max(0, guess.until - Date.now()) : 0;
}

export async function isPin(badge, pin) {
  const kept = (await recall("pins"))?.[badge];
  if ((await waitFor(badge)) || !kept) return false;
  const right = (await check(pin, kept.salt)) === kept.check;
  await (right ? forget(badge) : count(badge));
  return right;
}

async function count(badge) {
  const guesses = (await recall("guesses")) ?? {};
  const failed = (guesses[badge]?.failed ?? 0) + 1;
  const wait = failed < FREE_GUESSES ? 0 : Math.min(FIRST_WAIT_MS * 2 ** (failed - FREE_GUESSES), LONGEST_WAIT_MS);
  await remember("guesses", { ...guesses, [badge]: { failed, until: Date.now() + wait } });
  await remember("guessed", ((await recall("guessed")) ?? 0) + 1); // told to the server at the next contact
}

async function forget(badge) {
  const guesses = (await recall("guesses")) ?? {};
  delete guesses[badge];
  await remember("guesses", guesses);
}
