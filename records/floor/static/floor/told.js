// Calls and holds that this tablet knows of, where there is no link: the answer to a call, or the note that one has phoned or
// was told by voice. Both are entries like every other: they are kept here and go up by themselves.
import { entries } from "./outbox.js";
import { maySay } from "./rules.js";
import { say } from "./say.js";
import { draw, leafed, link, note, telling, when } from "./screens.js";

const ADDRESS = "/floor/calls/";
const inUse = (told) => told[document.documentElement.lang] ?? told.en;

// The key that leads there, for whoever may note it.
export const toldKey = (known) => (maySay(known, "told by voice") || maySay(known, "call answered") ? link(ADDRESS, say("Calls and holds")) : null);

// What may be told about, by the key of the entry that called or held: one of these holds however much it did. A hold that
// was placed here is among them.
function rowsOf(known) {
  const units = [...known.units.values()].flatMap((unit) => unit.holds.map((hold) => [unit.code, hold]));
  const lots = Object.entries(known.snapshot.lots_held).flatMap(([code, holds]) => holds.map((hold) => [code, hold]));
  const held = new Map();
  for (const [code, hold] of [...units, ...lots].sort(([, one], [, other]) => other.at.localeCompare(one.at))) {
    if (hold.key) held.set(hold.key, [...(held.get(hold.key) ?? []), { code, why: hold.reason }]);
  }
  const calls = (known.snapshot.calls ?? []).map(({ key, what }) => [key, inUse(what), "call"]);
  return [...calls, ...[...held].map(([key, things]) => [key, heldWords(things)])];
}

function heldWords([{ code, why }, ...more]) {
  return more.length ? say("%(code)s and %(n)s in all are held: %(why)s.", { code, why, n: more.length + 1 }) : say("%(code)s is held: %(why)s.", { code, why });
}

function asOf(known) {
  return note("watch", say("No link. Calls and holds as of %(at)s.", { at: when(known.as_of) }));
}

function named(words) {
  document.title = `${words}, ${say("Floor")}, Framethread`;
  return telling("h1", words);
}

const mayAnswer = (known, [, , kind]) => kind === "call" && maySay(known, "call answered");
const mayTell = (known, row) => mayAnswer(known, row) || maySay(known, "told by voice");

// What was answered or noted here and has not gone up stands beside its line: whoever waits for it has not read it.
export async function drawTold(main, known, key, what) {
  const rows = rowsOf(known);
  const row = key && rows.find(([one]) => one === key);
  const waiting = await entries("waiting");
  const isAnswer = row && what === "answer" && mayAnswer(known, row);
  main.replaceChildren(...(row && mayTell(known, row) ? noteOf(row, isAnswer ? answerTo(known, row) : voiceOn(known, row)) : listOf(known, rows, new Set(waiting.map((one) => one.payload.of)))));
}

// Lines that are turned where they do not fit; each leads to its note.
function listOf(known, rows, kept) {
  const waits = (key) => (kept.has(key) ? draw("small", {}, say("Kept on this tablet. Whoever waits for it has not read it: tell them by voice.")) : "");
  const leads = (row) => (mayAnswer(known, row) ? ["answer/", say("Answer it")] : ["told/", say("I phoned, or was told")]);
  const leading = ([key, words], [end, small]) => draw("a", { class: "row row--call", href: `${ADDRESS}${key}/${end}` }, draw("b", {}, words), draw("span", {}, small, waits(key)));
  const line = (row) => (mayTell(known, row) ? leading(row, leads(row)) : draw("p", { class: "row" }, draw("b", {}, row[1])));
  return [leafed(named(rows.length ? say("Calls and holds") : say("Nobody is calling, and nothing is held")), asOf(known), rows.map(line), [link("/floor/", say("Stations"))])];
}

const voiceOn = (known, [key]) => ({
  entry: { kind: "voice", payload: { of: key, says: "", words: "" }, done: true, label: "told by voice", depends_on: [key] },
  says: known.snapshot.choices.voice,
  hint: say("Note what was done by voice: it answers no call and lifts no hold."),
});

const answerTo = (known, [key]) => ({
  entry: { kind: "answer", payload: { of: key, says: "", words: "" }, done: true, label: "answer a call", depends_on: [key] },
  says: known.snapshot.choices.answers ?? [],
  hint: say("No link: the answer is kept here, and is read where there is a link. Say it by voice too."),
});

function noteOf([, words], { entry, says, hint }) {
  const keys = says.map(([value, word]) => draw("button", { class: "key", name: "says", value, ...(value === "own" ? {} : { formnovalidate: "yes" }) }, word));
  const field = draw("div", { class: "field" }, draw("label", { for: "words" }, say("In your own words")), draw("input", { type: "text", id: "words", name: "words", maxlength: "200", autocomplete: "off", required: "yes" }));
  const hidden = draw("input", { type: "hidden", name: "key", value: crypto.randomUUID() });
  const form = draw("form", { class: "answering", "data-entry": JSON.stringify(entry), "data-puts": "says words", "data-next": ADDRESS }, hidden, field, draw("div", { class: "keys" }, keys));
  return [named(words), draw("p", { class: "hint" }, hint), form];
}
