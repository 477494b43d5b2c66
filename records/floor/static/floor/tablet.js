// A tablet on the floor: the bar that tells of the link, the press that logs, and the worker for the time without a link.
import { startCalls } from "./calls.js";
import { EVERY_MS, lost, photoKept, send, sendAll, state, takeAlong, tellOthers, whenChanged } from "./link.js";
import { change, entries, entryOf, keepAll, makeRoom, recall, remember, toldAsDone } from "./outbox.js";
import { startCodes } from "./gathering.js";
import { lastEntry } from "./last.js";
import { openMany } from "./many.js";
import { sheetWords } from "./paper.js";
import { startDue } from "./due.js";
import { goesOn, startGoing, stays } from "./going.js";
import { startHeld } from "./held.js";
import { startPad } from "./pad.js";
import { photosOf, sentAhead, startPhotos, sweepPhotos } from "./photos.js";
import { languageHere } from "./rules.js";
import { startScans, takeUpCamera } from "./scanned.js";
import { startPots } from "./pots.js";
import { startLeaves } from "./leaves.js";
import { labelDue, printDue, startLabels } from "./printing.js";
import { drawShell } from "./shell.js";
import { say, sayPage, speak } from "./say.js";
import { figuresTold, startTouches } from "./touches.js";
import { age, hidden, note, sayFirst, shapeOf, telling } from "./screens.js";
import { startRegister } from "./register.js";
import { stillHere, watchStill } from "./still.js";
import { isRegistered, keyFor, secondPerson, takeUp } from "./who.js";
import { startWho } from "./changing.js";
import { drawUndo, undoOf } from "./undo.js";
import { applySize, startFitting } from "./fitting.js";
import { held, logged, marked } from "./sounds.js";
import { startTouching } from "./touching.js";

const SOUND_MS = 150;
const OLD_MS = 3_600_000; // a lost tablet would lose what it has kept so long
const bar = document.querySelector("[data-link]");
const waitingLine = document.querySelector("[data-waiting]");
const badge = document.querySelector("[data-badge]")?.dataset.badge ?? "";
const isShell = Boolean(document.querySelector("[data-shell]"));

async function drawBar() {
  if (!bar) return;
  const [link, waiting, clock] = [await state(), await entries("waiting"), (await recall("clock"))?.offset_ms ?? 0];
  const needs = (await entries()).filter((entry) => ["flagged", "refused", "conflict"].includes(entry.state)).length;
  const linked = link.is === "linked";
  const states = { linked: waiting.length ? say("Linked.") : say("Linked. Everything has gone up."), "signed-out": say("Signed out."), locked: say("This tablet is locked."), none: say("No link.") };
  const says = states[link.is] ?? say("Looking for the link.");
  if (bar.dataset.says !== says) {
    bar.dataset.says = says;
    bar.replaceChildren(shapeOf(linked && !waiting.length ? "done" : "queued"), telling("span", says));
  }
  bar.closest(".link").classList.toggle("link--none", !linked);
  const told = { count: waiting.length, age: waiting.length ? age(waiting[0].made_at) : "" };
  const lines = link.is === "locked" ? [say("Use another one."), await sheetWords()] : [];
  if (waiting.length) lines.push(waiting.length === 1 ? say("1 entry is safe on this tablet, %(age)s.", told) : say("%(count)s entries are safe on this tablet, the oldest %(age)s.", told));
  if (waiting.length && Date.now() - Date.parse(waiting[0].made_at) > OLD_MS) lines.push(say("Older than an hour: tell your lead."));
  if (needs) lines.push(needs === 1 ? say("1 needs you.") : say("%(count)s need you.", { count: needs }));
  if (Math.abs(clock) > 60_000) {
    const minutes = Math.round(Math.abs(clock) / 60_000);
    lines.push(clock > 0 ? say("This tablet’s clock is %(minutes)s min slow. Times are being put right.", { minutes }) : say("This tablet’s clock is %(minutes)s min fast. Times are being put right.", { minutes }));
  }
  waitingLine.textContent = lines.join(" ");
}

const logAll = async (made) => sendAll(await keepAll(made));

// Who signs beside the maker, where the entry says why it needs somebody; null where that was left.
const besides = (told) => (told.needs_second ? secondPerson(told.needs_second) : undefined);

async function onPress(event) {
  const form = event.target.closest?.("form[data-entry], form[data-last]");
  if (!form) return;
  event.preventDefault();
  const button = event.submitter ?? form.querySelector("button");
  if (form.dataset.busy) return;
  form.dataset.busy = "yes";
  goesOn(button ?? document.querySelector(`button[form="${form.id}"]`));
  const told = form.dataset.entry ? JSON.parse(form.dataset.entry) : await lastEntry(form, button);
  if (!told) return;
  for (const name of (form.dataset.puts ?? "").split(" ").filter(Boolean)) told.payload[name] = (button?.name === name ? button : form.elements[name]).value?.trim() ?? "";
  const second = (await stillHere()) ? await besides(told) : null;
  if (second === null) {
    left(form);
    return;
  }
  const isDone = told.done || button?.value === "yes";
  const by = (await recall("active")) || badge;
  const sitting = ((await recall("sittings")) ?? {})[by];
  const first = { ...told, done: isDone, key: form.elements.key.value, by, sitting, second };
  first.photos = [...(told.photos ?? []), ...(await photosOf(first.key).catch(() => []))];
  first.figures = figuresTold();
  delete first.holds;
  delete first.needs_second;
  let kept;
  try {
    const before = await entryOf(first.key); // pressed once more after a gate: its hold is kept beside it already
    if (isDone && before?.state === "refused") await toldAsDone(first.key);
    kept = await keepAll(told.holds && !before ? [first, holdWith(first)] : [first]);
  } catch {
    left(form);
    nothingKept(form, button);
    return;
  }
  const [entry] = await sendAll(kept);
  if (entry.state === "refused" || entry.state === "conflict") showRefused(form, entry);
  else await goOn(form, entry, told.holds);
}

// It may be pressed once more.
function left(form) {
  delete form.dataset.busy;
  stays();
}

// The hold of what a reading outside was kept of; what has no number yet is named by the entry that makes it.
function holdWith({ key, payload, by, sitting }) {
  const item = payload.unit ? { item: payload.unit } : { made_by: key };
  return { key: crypto.randomUUID(), kind: "hold", payload: { ...item, reason: "reading-outside" }, done: true, by, sitting, label: "hold it", depends_on: [key] };
}

// On to the next screen, which says what became of it; what can't be said there keeps nobody here.
async function goOn(form, entry, holds) {
  try {
    if (entry.state === "waiting") await change(entry.key, { left: true });
    sessionStorage.setItem("told", JSON.stringify(whatBecame(entry)));
    sessionStorage.setItem("undo", JSON.stringify(undoOf([entry])));
    sessionStorage.setItem("label", JSON.stringify(labelDue(entry)));
    await heardOf(entry, holds);
  } finally {
    location.assign(form.dataset.next);
  }
}

// Look, sound and words tell the same; the next page would cut the sound off, so it waits a moment.
async function heardOf(entry, holds) {
  if (holds || entry.held?.length) held();
  else if (entry.state === "flagged" || entry.words) marked();
  else logged();
  await new Promise((resolve) => setTimeout(resolve, SOUND_MS));
}

function whatBecame(entry) {
  if (entry.state === "waiting") return [["watch", `${say("Kept on this tablet. It goes up when there is a link.")} ${entry.code === "other-person" ? entry.words : ""}`.trim(), "kept"]];
  const paper = ["send-out", "come-back"].includes(entry.kind) ? "" : ` ${say("Stick its label on and scan it back.")}`;
  const told = [["good", entry.made ? `${say("%(code)s is on file.", { code: entry.made })}${paper}` : say("Logged.")]];
  if (entry.words) told.push(["watch", entry.words]);
  return told;
}

// The tablet is full or bars its storage: with a link the form goes its plain way, without one the person is told.
async function nothingKept(form, button) {
  const link = await state();
  if (link.is === "linked") {
    if (button?.name) form.append(...hidden([[button.name, button.value]]));
    form.append(...hidden((await sentAhead(form.elements.key.value, photoKept)).map((hash) => ["photos", hash])));
    form.submit();
    return;
  }
  document.querySelector("[data-full]")?.remove();
  const full = note("bad", `${say("Nothing was kept: this tablet is full and has no link. Write it down, and tell your lead.")} ${await sheetWords()}`, "alert");
  full.dataset.full = "yes";
  form.before(full);
}

function showRefused(form, entry) {
  left(form);
  document.querySelector("main h1").textContent = say("Not logged yet");
  document.querySelector("[data-refusal]")?.remove();
  const said = note("bad", entry.words, "alert");
  said.dataset.refusal = "yes";
  document.querySelector("main h1").after(said);
  document.querySelector("main .work")?.classList.add("work--bad");
  form.querySelectorAll("button").forEach((button) => button.remove());
  if (entry.state === "conflict") return;
  const key = telling("button", say("It has been done: keep it and mark it"));
  key.className = "key key--hold";
  Object.assign(key, { name: "done", value: "yes" });
  form.append(key);
}

function tellWhatBecame() {
  const told = JSON.parse(sessionStorage.getItem("told") ?? "[]");
  sessionStorage.removeItem("told");
  sayFirst(...told.map(([tone, words, isKept]) => Object.assign(note(tone, words), { id: isKept ?? "" })));
  drawUndo(JSON.parse(sessionStorage.getItem("undo") ?? "null"), logAll);
  sessionStorage.removeItem("undo");
  printDue();
}

// What is kept goes up while its line stands there: the bar then says so, and the line is no longer true.
async function dropKept() {
  const line = document.querySelector("#kept");
  if (line && !(await entries("waiting")).length) line.remove();
}

async function keyOfSession(snapshot) {
  if (badge && snapshot?.you.badge === badge && (await isRegistered())) await keyFor(badge);
}

async function begin() {
  applySize();
  startTouching();
  startGoing();
  await speak(isShell ? await languageHere() : document.documentElement.lang);
  if (isShell) sayPage(document.body);
  document.addEventListener("submit", onPress);
  startWho();
  startCodes();
  startScans();
  if (!isShell && badge) {
    const active = await takeUp(badge).catch(() => null); // barred storage: the plain forms still work
    if (active && active !== badge) {
      const name = document.querySelector("[data-badge] span")?.textContent ?? badge;
      sayFirst(note("watch", say("What you log here goes under %(name)s. Change if that is not you.", { name })));
    }
  }
  if (isShell) await lost().catch(() => {}); // the worker gave it out because no answer came
  drawBar().catch(() => {});
  if (isShell) await drawShell();
  tellWhatBecame();
  startPad();
  startPots();
  startDue();
  startLabels();
  startHeld();
  startFitting();
  startLeaves();
  startPhotos().catch(() => {});
  startCalls();
  startTouches();
  startRegister().catch(() => {});
  watchStill().catch(() => {});
  const many = document.querySelector("[data-many]");
  if (many) await openMany(many.dataset);
  takeUpCamera();
  whenChanged(drawBar);
  whenChanged(dropKept);
  await drawBar().catch(() => {});
  navigator.serviceWorker?.register("/floor/worker.js", { scope: "/floor/" }).catch(() => {});
  const keepUp = () => send().then(() => takeAlong()).then(keyOfSession).catch(() => {});
  addEventListener("online", keepUp);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) keepUp(); });
  setInterval(() => { if (!document.hidden) keepUp(); }, EVERY_MS);
  document.addEventListener("try-again", keepUp);
  makeRoom().then(sweepPhotos).catch(() => {});
  await keepUp();
  tellOthers();
}

begin();
