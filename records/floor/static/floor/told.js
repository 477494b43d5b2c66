// Phoned, or told by voice, where there is no link: the calls and holds that this tablet knows of, and the note of one.
// The note is an entry like every other: it is kept here and goes up by itself.
import { maySay } from "./rules.js";
import { say } from "./say.js";
import { draw, leafed, link, note, telling, when } from "./screens.js";

const ADDRESS = "/floor/calls/";
const inUse = (told) => told[document.documentElement.lang] ?? told.en;

// The key that leads there, for whoever may note it.
export const toldKey = (known) => (maySay(known, "told by voice") ? link(ADDRESS, say("Calls and holds")) : null);

// What may be told about, by the key of the entry that called or held: one of these holds however much it did. A hold that
// was placed here is among them.
function rowsOf(known) {
  const units = [...known.units.values()].flatMap((unit) => unit.holds.map((hold) => [unit.code, hold]));
  const lots = Object.entries(known.snapshot.lots_held).flatMap(([code, holds]) => holds.map((hold) => [code, hold]));
  const held = new Map();
  for (const [code, hold] of [...units, ...lots].sort(([, one], [, other]) => other.at.localeCompare(one.at))) {
    if (hold.key) held.set(hold.key, [...(held.get(hold.key) ?? []), { code, why: hold.reason }]);
  }
  const calls = (known.snapshot.calls ?? []).map(({ key, what }) => [key, inUse(what)]);
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

export function drawTold(main, known, key) {
  const rows = rowsOf(known);
  const row = key && rows.find(([one]) => one === key);
  main.replaceChildren(...(row && maySay(known, "told by voice") ? noteOf(known, row) : listOf(known, rows)));
}

// Lines that are turned where they do not fit; each leads to its note.
function listOf(known, rows) {
  const may = maySay(known, "told by voice");
  const line = ([key, words]) => (may ? draw("a", { class: "row", href: `${ADDRESS}${key}/told/` }, draw("b", {}, words), draw("span", {}, say("I phoned, or was told"))) : draw("p", { class: "row" }, draw("b", {}, words)));
  return [leafed(named(rows.length ? say("Calls and holds") : say("Nobody is calling, and nothing is held")), asOf(known), rows.map(line), [link("/floor/", say("Stations"))])];
}

function noteOf(known, [key, words]) {
  const entry = { kind: "voice", payload: { of: key, says: "", words: "" }, done: true, label: "told by voice", depends_on: [key] };
  const keys = known.snapshot.choices.voice.map(([value, word]) => draw("button", { class: "key", name: "says", value, ...(value === "own" ? {} : { formnovalidate: "yes" }) }, word));
  const field = draw("div", { class: "field" }, draw("label", { for: "words" }, say("In your own words")), draw("input", { type: "text", id: "words", name: "words", maxlength: "200", autocomplete: "off", required: "yes" }));
  const hidden = draw("input", { type: "hidden", name: "key", value: crypto.randomUUID() });
  const form = draw("form", { class: "answering", "data-entry": JSON.stringify(entry), "data-puts": "says words", "data-next": ADDRESS }, hidden, field, draw("div", { class: "keys" }, keys));
  return [named(words), draw("p", { class: "hint" }, say("Note what was done by voice: it answers no call and lifts no hold.")), form];
}
