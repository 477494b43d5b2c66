// What a scan does on a screen of the floor: it changes the person, opens a station or a unit, or answers the question.
import { noteLabel } from "./labels.js";
import { recall } from "./outbox.js";
import { say } from "./say.js";
import { readCode } from "./scans.js";
import { note, sayFirst } from "./screens.js";
import { taken, tick, wrong } from "./sounds.js";
import { startWedge } from "./wedge.js";

const AGAIN_MS = 3_000; // the same symbol within this time is one scan; a unit and its new label are two of one code
const LAST = "last-scan";
const SCANNER_TEST = "SCANNER-TEST-YZ-0"; // as plant/messages.py has it

const at = (station) => `/floor/at/${encodeURIComponent(station)}/`;

// Whether this symbol came just now; it is remembered from page to page.
function isAgain(text) {
  const last = JSON.parse(sessionStorage.getItem(LAST) ?? "{}");
  sessionStorage.setItem(LAST, JSON.stringify({ text, at: Date.now() }));
  return last.text === text && Date.now() - last.at < AGAIN_MS;
}

export function tellWrong(words) {
  wrong();
  document.querySelector("[data-scan-said]")?.remove();
  const said = note("bad", words, "alert");
  said.dataset.scanSaid = "yes";
  const head = document.querySelector("main h1") ?? document.querySelector("main").firstElementChild;
  head.after(said);
}

function send(field, text) {
  field.value = text;
  taken();
  field.form.requestSubmit(field.form.querySelector("button:not([name])") ?? undefined);
}

// Somebody's badge: whoever changes people listens; else it is said how to.
function badgeScanned(badge) {
  const told = new CustomEvent("badge-scanned", { detail: { badge }, cancelable: true });
  if (document.dispatchEvent(told)) tellWrong(say("That is a badge. Press change at the top, then scan it."));
  else taken();
}

function answerWith(field, text, code) {
  if (field.dataset.unit) return tellWrong(say("That is %(code)s. This asks for a number: type what you read.", { code }));
  return send(field, text);
}

// Where something may not go in, a scan is the other one: the question before is answered anew, and judged as ever.
function insteadOf(form, text) {
  const of = form.querySelector("[name$='-stop'][value=again]")?.name.slice(0, -5);
  const field = of && !of.endsWith("amount") && form.elements.namedItem(of);
  if (field) send(field, text);
  return Boolean(field);
}

function whereTo(text, code) {
  const answer = document.querySelector("form#ask #answer");
  if (answer) return answerWith(answer, text, code);
  const choose = document.querySelector("form.choose");
  if (choose) return insteadOf(choose, text) || tellWrong(say("%(code)s answers nothing here: press one of the keys.", { code }));
  const scan = document.querySelector("form.scan #code");
  if (scan) return send(scan, text);
  if (document.querySelector("form[data-entry]")) return tellWrong(say("Log this or leave it first: nothing was taken of %(code)s.", { code }));
  const station = document.querySelector("a.st")?.getAttribute("href").match(/\/floor\/at\/[^/]+\//)?.[0];
  if (!station) return tellWrong(say("Choose a station first, or scan its label."));
  taken();
  return location.assign(`${station}?code=${encodeURIComponent(text)}`);
}

// The set-up test label of a scanner, which came as it stands.
function tellWell() {
  taken();
  sayFirst(note("good", say("This scanner types as it should: layout, capitals and separators.")));
}

async function deliver(text) {
  const code = readCode(text);
  if (isAgain(text)) return tick();
  if (code === SCANNER_TEST) return tellWell();
  await noteLabel(text).catch(() => {}); // a full tablet notes nothing, and the scan goes on
  if (!document.dispatchEvent(new CustomEvent("scanned", { detail: { text, code }, cancelable: true }))) return null;
  const snapshot = await recall("snapshot");
  const person = snapshot?.people.find((one) => one.badge.toUpperCase() === code);
  if (person || code.startsWith("PB-")) return badgeScanned(person?.badge ?? code);
  const station = snapshot?.stations.find((one) => one.code.toUpperCase() === code);
  if (station) {
    taken();
    return location.assign(at(station.code));
  }
  return whereTo(text, code);
}

// A press between two scans of one symbol tells that the second one is meant: a unit, its step, and its label of the same code.
const forgetLast = (event) => event.isTrusted && sessionStorage.removeItem(LAST);

// Hear the hand scanner, lead to the camera, and take up what the camera read for this screen.
export function startScans() {
  document.querySelector(":is(#answer, #code)[aria-invalid]:not([data-unit])")?.select(); // what is typed next stands in its place
  document.addEventListener("click", forgetLast, true);
  startWedge(deliver, () => tellWrong(say("This scan broke off on its way, and nothing of it was taken. Scan it once more.")));
  document.querySelector("[data-camera]")?.addEventListener("click", () => sessionStorage.setItem("camera-back", location.pathname + location.search));
}

export function takeUpCamera() {
  const text = sessionStorage.getItem("camera-scan");
  sessionStorage.removeItem("camera-scan");
  if (text) deliver(text);
}
