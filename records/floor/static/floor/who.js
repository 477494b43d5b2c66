// Who is active on this tablet: coming in by badge or PIN with a link and without, and a second person beside the first.
import { askBadge, askOne, askPin } from "./dialogs.js";
import { canSign, hasKey, makeOwnKey, proofOf } from "./keys.js";
import { ENOUGH_MS, post, state } from "./link.js";
import { device, recall, remember } from "./outbox.js";
import { isPin, keepPin, knowsPin, waitFor } from "./pin.js";
import { say } from "./say.js";

const SIGN = "/floor/sign/";
const KEY = "/floor/key/";
const SHIFT_MS = 16 * 3_600_000; // as long as a sitting lasts

export async function isRegistered() {
  const [snapshot, from] = [await recall("snapshot"), await device()];
  return canSign() && Boolean(await recall("tablet-key")) && (snapshot?.tablet ? snapshot.tablet.code === from && !snapshot.tablet.locked : from.startsWith("TB-"));
}

export async function personOf(badge) {
  const people = (await recall("snapshot"))?.people ?? [];
  return people.find((one) => one.badge.toUpperCase() === badge.toUpperCase());
}

// People who have been here, the latest first; anybody else scans a badge.
async function tiles(but = "") {
  const [people, sat] = [(await recall("snapshot"))?.people ?? [], (await recall("sat")) ?? {}];
  const here = people.filter((one) => sat[one.badge] && one.badge !== but);
  return here.sort((one, other) => sat[other.badge] - sat[one.badge]).slice(0, 9);
}

async function line(from) {
  const answer = await fetch(`${SIGN}?device=${encodeURIComponent(from)}`, { signal: AbortSignal.timeout(ENOUGH_MS) });
  if (!answer.ok) throw new Error(`answered ${answer.status}`);
  return (await answer.json()).line;
}

// Ask the server: by PIN, or by the key of whoever gave one here before. It throws where there is no link.
async function atServer(badge, pin, beside, more = {}) {
  const from = await device();
  const fresh = await line(from);
  const told = { ...more, speaks: document.documentElement.lang, device: from, badge, line: fresh, ...(await proofOf(badge, from, fresh, !pin)) };
  if (pin) told.pin = pin;
  else told.sitting = (await recall("sittings"))?.[badge];
  return post(SIGN, beside ? { ...told, beside: true } : told);
}

// What this tablet knows of somebody from now on.
async function seated(badge, sitting, sat) {
  if (sitting) await remember("sittings", { ...(await recall("sittings")), [badge]: sitting });
  await remember("sat", { ...(await recall("sat")), [badge]: sat });
}

// The key of whoever is signed in here now.
export async function keyFor(badge) {
  await makeOwnKey(badge, async (public_key) => {
    const from = await device();
    const fresh = await line(from);
    return (await post(KEY, { device: from, line: fresh, public_key, ...(await proofOf(badge, from, fresh, false)) })).ok;
  }).catch(() => {});
}

// Somebody who signs beside another for the first time here makes their key with the PIN, so that they sign by it too.
async function besideAtServer(badge, pin) {
  let answer = null;
  await makeOwnKey(badge, async (public_key) => {
    answer = await atServer(badge, pin, true, { public_key });
    return answer.ok;
  });
  return answer ?? atServer(badge, pin, true);
}

async function byServer(person, pin, beside) {
  const answer = pin && beside ? await besideAtServer(person.badge, pin) : await atServer(person.badge, pin, beside);
  if (!answer.ok) return answer;
  const { badge } = answer; // as the works writes it
  await seated(badge, answer.sitting, pin ? Date.now() : (await recall("sat"))?.[badge] ?? Date.now());
  if (pin) await keepPin(badge, pin, answer.pin);
  if (!beside) {
    await remember("session", badge);
    await keyFor(badge);
  }
  return answer;
}

async function byTablet(person, pin) {
  const wrong = { ok: false, words: say("Badge and PIN don’t belong together. Look again, or sign in with your password.") };
  if (!person.name) return wrong; // the link went meanwhile, and the tablet does not know this badge
  const wait = await waitFor(person.badge);
  if (wait) return { ok: false, words: say("Too many wrong PINs. Wait %(minutes)s min, or sign in with your password.", { minutes: Math.ceil(wait / 60_000) }) };
  if (!(await knowsPin(person.badge))) return { ok: false, code: "unknown-here", words: say("This tablet knows no PIN of %(name)s. It needs a link once.", { name: person.name }) };
  if (!(await isPin(person.badge, pin))) return wrong;
  await seated(person.badge, "", Date.now());
  return { ok: true };
}

async function tried(person, pin, beside) {
  if ((await state()).is !== "none") {
    try {
      return await byServer(person, pin, beside);
    } catch {
      // no link after all: what this tablet knows decides
    }
  }
  return pin ? byTablet(person, pin) : { ok: true };
}

// Whether somebody is who they say: a badge alone for a shift after the PIN, else the PIN. Null where it was left. A badge
// that was not chosen by its tile is called by its code: before the PIN nobody learns whose it is, or whether it is any.
export async function prove(person, { scanned, tile = false, beside = false }) {
  const sat = (await recall("sat"))?.[person.badge] ?? 0;
  let problem = "";
  if (scanned && Date.now() - sat < SHIFT_MS && (await hasKey(person.badge))) {
    const told = await tried(person, "", beside);
    if (told.ok) return told;
    if (told.code !== "pin-first" && told.code !== "other-person") problem = told.words;
  }
  for (;;) {
    const pin = await askPin(tile ? person.name : person.badge, problem);
    if (pin === null) return null;
    const told = await tried(person, pin, beside);
    if (told.ok) return told;
    problem = told.words;
    if (told.code === "unknown-here") return (await staysUnknown(person, problem)) ? { ok: true } : null;
  }
}

// Somebody this tablet has never seen, without a link: what they log waits until they sign in here.
async function staysUnknown(person, words) {
  const answers = [{ code: "stay", word: say("Log as %(name)s", { name: person.name }), small: say("waits on this tablet until this person signs in here with a link") }];
  return (await askOne(words, "", answers)) === "stay";
}

// Whoever the server's page was drawn for becomes active, unless somebody else came in since without a link: then the
// session follows. Gives who was active before.
export async function takeUp(badge) {
  const [active, session] = [await recall("active"), await recall("session")];
  if (active && active !== badge && session === badge && (await isRegistered()) && (await hasKey(active))) {
    const answer = await byServer({ badge: active }, "", false).catch(() => ({}));
    if (answer.ok) {
      location.reload();
      return badge;
    }
  }
  await remember("active", badge);
  await remember("session", badge);
  return active;
}

// A half-typed number is nobody's: it is cleared, and that is said.
function cleared() {
  const field = document.querySelector("#answer");
  const typed = field?.dataset.unit ? field.value.trim() : "";
  if (field) field.value = "";
  return typed ? say("The half-typed %(number)s was cleared.", { number: typed }) : "";
}

// Change to another person; the page is drawn again for them. What is logged from then on is theirs. With a link it is
// the server that knows a badge or not, and it says so of badge and PIN together.
export async function changeTo(badge, { scanned = false, tile = false } = {}) {
  const person = (await personOf(badge)) ?? ((await state()).is === "none" ? null : { badge });
  if (!person) return refuse(say("No badge %(badge)s is known on this tablet. Scan it again.", { badge }));
  if (!(await isRegistered())) return needsLink();
  const proof = await prove(person, { scanned, tile });
  if (!proof) return null;
  const who = { ...person, ...(proof.badge ? { badge: proof.badge, name: proof.name } : {}) };
  const words = [say("%(name)s is active now.", { name: who.name }), cleared()];
  await remember("active", who.badge);
  sessionStorage.setItem("told", JSON.stringify([["good", words.filter(Boolean).join(" ")]]));
  return who;
}

async function refuse(words) {
  await askOne(words, "", []);
  return null;
}

export const needsLink = () => refuse(say("This tablet is not registered. To change, sign in with your password where there is a link."));

export async function askWho() {
  const told = await askBadge(say("Who are you?"), say("Scan your badge."), await tiles());
  return told ? changeTo(told.badge, told) : null;
}

// A second person signs beside whoever is active, who stays so. Gives what the entry carries as `second`, or null.
export async function secondPerson(reason) {
  const first = await recall("active");
  for (let hint = reason; ;) {
    const told = await askBadge(say("Now the second person’s badge"), hint, await tiles(first));
    if (!told) return null;
    const person = await personOf(told.badge);
    if (!person) hint = say("No badge %(badge)s is known on this tablet. Scan it again.", { badge: told.badge });
    else if (person.badge === first) hint = say("It has to be another person.");
    else if (!(await isRegistered())) return refuse(say("This tablet is not registered: a second person can’t sign here."));
    else if (await prove(person, { ...told, beside: true })) return { by: person.badge, sitting: (await recall("sittings"))?.[person.badge] };
  }
}
