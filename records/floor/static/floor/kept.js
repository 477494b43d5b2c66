// What is kept on this tablet: what needs somebody first, then what waits to go up, then what has gone.
import { signWaiting } from "./keys.js";
import { send, whenChanged } from "./link.js";
import { asSent, change, device, entries, toldAsDone } from "./outbox.js";
import { showCodes } from "./leaving.js";
import { bytesOf } from "./photos.js";
import { rules } from "./rules.js";
import { noop, say, word as spokenWord } from "./say.js";
import { age, draw, note, shapeOf, telling, when } from "./screens.js";

const WHAT = "framethread entries of a tablet";
const NEEDING = ["conflict", "refused", "flagged"];
const GONE_SHOWN = 30;
const MOST_PHOTO_BYTES = 14_000_000;
let isShown = false; // as codes: nothing is drawn over them

export async function drawKept(main) {
  const redraw = async () => {
    const parts = await page(redraw);
    if (!isShown) main.replaceChildren(...parts);
  };
  await redraw();
  whenChanged(redraw);
}

async function page(redraw) {
  const [all, known] = [await entries(), await rules()];
  for (const entry of all) entry.who = known?.snapshot.people.find((one) => one.badge === entry.by)?.name ?? entry.by;
  const waiting = all.filter((entry) => entry.state === "waiting");
  const needs = all.filter((entry) => NEEDING.includes(entry.state));
  const gone = all.filter((entry) => entry.state === "taken" || entry.state === "seen" || entry.state === "aside").reverse();
  document.title = `${say("Kept on this tablet")}, ${say("Floor")}, Framethread`;
  const parts = [telling("h1", say("Kept on this tablet")), draw("p", { class: "hint" }, lead(waiting, needs))];
  parts.push(draw("div", { class: "low" }, pressing(say("Try again"), () => send()), waiting.length ? [pressing(say("Save to a file"), () => saveFile()), pressing(say("Show as codes"), () => asCodes(redraw))] : ""));
  if (needs.length) parts.push(section(say("Needs you"), needs.map((entry) => needing(entry, redraw))));
  parts.push(section(headOf(waiting.length), waiting.map((entry) => waits(entry, redraw))));
  if (gone.length) parts.push(section(say("Gone up"), gone.slice(0, GONE_SHOWN).map(row)));
  return parts;
}

function headOf(count) {
  if (!count) return say("Nothing waits");
  return count === 1 ? say("1 waits to go up") : say("%(count)s wait to go up", { count });
}

function lead(waiting, needs) {
  const told = waiting.length ? say("The oldest is %(age)s. They go up by themselves, in this order, when there is a link.", { age: age(waiting[0].made_at) }) : say("Everything has gone up.");
  const need = needs.length === 1 ? say("One entry needs you.") : say("%(count)s entries need you.", { count: needs.length });
  return needs.length ? `${told} ${need}` : told;
}

function section(head, rows) {
  return draw("section", {}, telling("h2", head), draw("ol", { class: "rows kept" }, rows));
}

const STATES = { waiting: ["queued", noop("On this tablet")], taken: ["done", noop("Taken")], seen: ["done", noop("Taken and marked")], aside: ["corrected", noop("Put aside")] };

function row(entry, extra = null) {
  const [shape, word] = STATES[entry.state] ?? ["signal", entry.state === "flagged" ? noop("Taken and marked") : noop("Not taken")];
  const made = entry.made ? say("made %(code)s", { code: entry.made }) : "";
  const photos = entry.photos?.length ? say("photos: %(count)s", { count: entry.photos.length }) : "";
  const what = [spokenWord(entry.label ?? entry.kind), ...entry.touches, made, photos].filter(Boolean).join(", ");
  const told = draw("span", {}, telling("b", what), draw("small", {}, `${when(entry.made_at)}${entry.time_unsure ? `, ${say("time unsure")}` : ""} · ${entry.who || say("whoever is signed in")}`), entry.words ? draw("span", { class: "said" }, entry.words) : "", extra?.nodeType ? extra : "");
  return draw("li", { class: "row" }, draw("span", { class: "tag" }, shapeOf(shape), say(word)), told);
}

// A photo that can't go up keeps its entry back for ever: the entry may go without it, and says so.
const LEFT_OUT = [["not-sent", noop("The photo can’t be sent")], ["gone", noop("The photo is not on this tablet any more")], ["wrong", noop("The photo shows something else")]];

function waits(entry, redraw) {
  if (!entry.photos?.length) return row(entry);
  const keys = draw("span", { class: "low" });
  const ask = () => keys.replaceChildren(draw("b", {}, say("Why does it go without its photo?")), ...LEFT_OUT.map(([why, words]) => pressing(say(words), () => leaveOut(entry, why).then(send).then(redraw))));
  keys.append(pressing(say("Send it without the photo"), ask));
  return row(entry, keys);
}

// What was signed named the photo: it is signed anew.
async function leaveOut({ key, photos, second, photos_left: before = [] }, why) {
  await change(key, { photos: [], photos_left: [...before, ...photos.map((photo) => ({ photo, why }))], second: second && { ...second, signature: "" }, signature: "", code: "", words: "" });
}

function needing(entry, redraw) {
  const keys = draw("span", { class: "low" });
  const press = (words, act) => keys.append(pressing(words, () => act().then(send).then(redraw)));
  const set = (words, what) => press(words, () => change(entry.key, what));
  if (entry.state === "flagged") set(say("I have read it"), { state: "seen" });
  else {
    if (entry.state === "refused" && !entry.done) press(say("It has been done: keep it and mark it"), () => toldAsDone(entry.key));
    set(entry.done ? say("Review has it: put it aside") : say("It has not happened: put it aside"), { state: "aside" });
  }
  return row(entry, keys);
}

function pressing(words, act) {
  const key = draw("button", { class: "key", type: "button" }, words);
  key.onclick = act;
  return key;
}

// The text of a file in which the entries leave; they stay here too, and what was taken by either way is taken once.
async function fileText(waiting, photos) {
  const text = JSON.stringify(waiting.map(asSent));
  const hash = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  const sum = [...new Uint8Array(hash)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return JSON.stringify({ what: WHAT, device: await device(), sum, entries: text, photos });
}

async function saveFile() {
  await signWaiting();
  const waiting = await entries("waiting");
  const { photos, left } = await photosFor(waiting);
  const file = new Blob([await fileText(waiting, photos)], { type: "application/json" });
  const anchor = draw("a", { href: URL.createObjectURL(file), download: `kept-on-tablet-${new Date().toISOString().slice(0, 16).replace(":", "")}.json` });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  document.querySelector("main h1").after(note("good", say("Saved. Take the file to a desk: Floor, Take a tablet’s file in. It stays here too until it has gone up.")));
  if (left) document.querySelector("main h1").after(note("watch", say("%(count)s photos did not fit into the file. Their entries wait for them; they go up from this tablet when there is a link.", { count: left })));
}

// Codes carry no photos: an entry that has one waits for it, and the photo goes up from here when there is a link.
async function asCodes(redraw) {
  await signWaiting();
  const waiting = await entries("waiting");
  const text = await fileText(waiting, {});
  const photos = new Set(waiting.flatMap((entry) => entry.photos ?? [])).size;
  isShown = true;
  await showCodes(document.querySelector("main"), { text, photos }, () => { isShown = false; redraw(); });
}

// Photos that waiting entries name, as text, up to what a desk can take in with one file.
async function photosFor(waiting) {
  const photos = {};
  let [room, left] = [MOST_PHOTO_BYTES, 0];
  for (const hash of new Set(waiting.flatMap((entry) => entry.photos ?? []))) {
    const bytes = await bytesOf(hash);
    if (!bytes || bytes.byteLength > room) { left += 1; continue; }
    room -= bytes.byteLength;
    photos[hash] = btoa(Array.from(new Uint8Array(bytes), (byte) => String.fromCharCode(byte)).join(""));
  }
  return { photos, left };
}
