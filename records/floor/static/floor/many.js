// Scan many: one after another is scanned, the count stands large, one press for all. The same with and without a link.
import { carrierTold, wrongCarrier } from "./carrying.js";
import { copyWords } from "./copies.js";
import { entriesOf, halfOf, isReady, listOf, toolOf } from "./lists.js";
import { sendAll, state as linkState, takeAlong } from "./link.js";
import { goesOn, stays } from "./going.js";
import { drawList, staying } from "./manyscreen.js";
import { change, keepAll, recall, remember } from "./outbox.js";
import { sheetWords } from "./paper.js";
import { maySay, rules } from "./rules.js";
import { say } from "./say.js";
import { tellWrong } from "./scanned.js";
import { unreadable } from "./scans.js";
import { draw, note, telling } from "./screens.js";
import { taken, tick } from "./sounds.js";
import { stillHere } from "./still.js";
import { undoOf } from "./undo.js";

let on = null; // the list on the screen: known, list, state, station, main

const fresh = () => ({ key: crypto.randomUUID(), lines: [], held: [], to: "", tool: "", all: false });
const kept = () => `many ${on.station.code} ${on.list.name} ${on.list.told.operation ?? ""}`;
const keep = () => remember(kept(), on.state);

// A page that the server drew the frame of: the list is drawn from what is taken along now, or was taken along last.
export async function openMany({ many: name, at }) {
  await takeAlong(true).catch(() => {});
  const known = await rules();
  const station = known?.snapshot.stations.find((one) => one.code === at);
  if (station) await drawMany(document.querySelector("main"), known, station, name);
}

// Draw a list on a station's screen and take scans for it from now on.
export async function drawMany(main, known, station, name) {
  const told = Object.fromEntries(new URLSearchParams(location.search));
  const list = listOf(known, name, told);
  const back = draw("a", { class: "key", href: `/floor/at/${encodeURIComponent(station.code)}/` }, say("Back to the station"));
  if (!list) return main.replaceChildren(telling("h1", say("No such list")), back);
  if (!maySay(known, list.act)) return main.replaceChildren(telling("h1", say("Not with this badge")), note("bad", say("Your role may not do this: %(act)s. Ask your lead.", { act: list.act })), back);
  on = { main, known, station, list, state: fresh(), keep, takeOut, leaveBare, add, log, call: document.querySelector("form.call"), isTyping: false };
  on.state = (await recall(kept())) ?? on.state;
  document.addEventListener("scanned", onScan);
  drawList(on);
  return null;
}

function onScan(event) {
  const { text, code } = event.detail;
  if (on.known.snapshot.people.some((one) => one.badge.toUpperCase() === code) || code.startsWith("PB-")) return;
  event.preventDefault();
  add(text, code);
}

function add(text, code) {
  const { known, list, state } = on;
  const kind = toolOf(known, list);
  const tool = known.snapshot.tools.find((one) => one.code === code);
  const half = halfOf(state);
  if (kind && tool?.kind === kind) Object.assign(state, { tool: code });
  else if (half) return putOn(half, text);
  else {
    const judged = list.judge(code, text);
    if (state.lines.some((line) => line.code === (judged.line ?? { code }).code)) return again(judged.line?.code ?? code);
    if (judged.wrong) {
      drawList(on);
      return tellWrong(judged.wrong);
    }
    if (judged.held) {
      if (!state.held.some((one) => one.code === judged.held.code)) state.held.push(judged.held);
      tellWrong(judged.held.words ?? say("%(code)s is held and stays here. Put it on the red shelf.", { code: judged.held.code }));
      return keep().then(drawKeepingWords);
    }
    state.lines.push({ ...judged.line, key: crypto.randomUUID(), at: Date.now() });
    state.key = crypto.randomUUID(); // another content is another entry
  }
  taken();
  return keep().then(() => { drawList(on); tellOldCopy(text); });
}

// What was put on the unit that was scanned before: it reads, and it is the unit's own.
function putOn(line, text) {
  const told = carrierTold(text);
  const wrong = unreadable(text)?.words ?? wrongCarrier(on.known, { on: line.code }, told);
  if (wrong) return tellWrong(wrong);
  Object.assign(line, { carrier: told, key: crypto.randomUUID() });
  taken();
  return keep().then(() => drawList(on));
}

// It has none yet: the step is logged without it, and marked.
function leaveBare(code) {
  Object.assign(on.state.lines.find((line) => line.code === code), { bare: true });
  keep().then(() => drawList(on));
}

function tellOldCopy(text) {
  const words = copyWords(on.known, text);
  if (words) document.querySelector(".manyhead").after(note("watch", words));
}

function again(code) {
  tick();
  document.querySelector(`[data-amount="${CSS.escape(code)}"]`)?.focus();
  const said = document.querySelector("[data-many-said]");
  if (said) said.textContent = say("%(code)s is on the list already.", { code });
}

function takeOut(code) {
  Object.assign(on.state, { lines: on.state.lines.filter((line) => line.code !== code), key: crypto.randomUUID() });
  keep().then(() => drawList(on));
}

function drawKeepingWords() {
  const said = document.querySelector("[data-scan-said]");
  drawList(on);
  if (said) document.querySelector("main h1").after(said);
}

async function log(hasHappened = false) {
  const { known, list, state, station } = on;
  if (!isReady(on) || on.busy || !(await stillHere())) return;
  on.busy = true;
  goesOn(document.querySelector("[data-many-press] button"));
  const by = (await recall("active")) || document.querySelector("[data-badge]")?.dataset.badge || "";
  const sitting = ((await recall("sittings")) ?? {})[by];
  // With a link the gates are met before anything counts as done; without one it has happened.
  const done = hasHappened || (await linkState()).is !== "linked";
  const made = entriesOf(known, list, state, station.code).map((entry) => ({ ...entry, by, sitting, done }));
  let there = [];
  try {
    there = await keepAll(made);
  } catch {
    on.busy = false;
    stays();
    tellWrong(`${say("Nothing was kept: this tablet is full. Write it down, and tell your lead.")} ${await sheetWords()}`);
    return;
  }
  const sent = await sendAll(there);
  on.busy = false;
  await whatBecame(sent);
}

// Refused ones stay on the list and are told again under another key. What another entry stands against is kept for Review
// as it was sent: told again it might count twice, so it leaves the list, and is told by name.
async function whatBecame(entries) {
  const [refused, apart, waiting] = ["refused", "conflict", "waiting"].map((state) => entries.filter((entry) => entry.state === state));
  for (const entry of waiting) await change(entry.key, { left: true });
  for (const entry of refused) await change(entry.key, { state: "aside" }); // it stands on the list still
  const told = toldOf(entries, refused, apart, waiting);
  if (!refused.length) return away(entries, told);
  const still = new Set(refused.map((entry) => entry.key));
  if (!on.list.one) on.state.lines = on.state.lines.filter((line) => still.has(line.key)).map((line) => ({ ...line, key: crypto.randomUUID() }));
  on.state.key = crypto.randomUUID();
  await keep();
  stays();
  drawList(on);
  tellWrong([...new Set(refused.map((entry) => entry.words))].join(" "));
  const key = draw("button", { type: "button", class: "key key--hold" }, say("It has been done: keep it and mark it"));
  key.onclick = () => log(true);
  document.querySelector("[data-scan-said]").append(key);
  on.main.prepend(...told.map(([tone, words]) => note(tone, words)));
  return null;
}

// What is said of each: how many are on file or kept, what was marked, what conflicts, and what stayed here by name.
function toldOf(entries, refused, apart, waiting) {
  const { list, state } = on;
  const nameOf = (entry) => (list.one ? list.press(state.lines.length, state.to, list.told) : state.lines.find((line) => line.key === entry.key)?.code);
  const fell = refused.length + apart.length + waiting.length;
  const n = list.one ? (fell ? 0 : state.lines.length) : entries.length - fell;
  const told = waiting.length ? [["watch", say("Kept on this tablet. It goes up when there is a link."), "kept"]] : [];
  if (n) told.push(["good", say("%(n)s logged.", { n })]);
  for (const entry of apart) told.push(["bad", `${nameOf(entry)}: ${entry.words}`]);
  for (const words of new Set(entries.filter((entry) => !refused.includes(entry) && !apart.includes(entry)).map((entry) => entry.words).filter(Boolean))) told.push(["watch", words]);
  if (!refused.length && state.held.length) told.push(["watch", `${staying(state.held)}: ${state.held.map((one) => one.code).join(", ")}.`]);
  return told;
}

async function away(entries, told) {
  await remember(kept(), undefined);
  sessionStorage.setItem("told", JSON.stringify(told));
  sessionStorage.setItem("undo", JSON.stringify(undoOf(entries.filter((entry) => entry.state !== "conflict"), say("Logged."))));
  location.assign(`/floor/at/${encodeURIComponent(on.station.code)}/`);
}
