// The hand-over without a link: what this tablet knew at its last contact, with its time, and what has not gone up from
// here. Both sign that: what is sealed names the contact, since what has happened elsewhere since is not in it.
import { entries } from "./outbox.js";
import { nameOf, potsOf } from "./pots.js";
import { maySay } from "./rules.js";
import { say, word } from "./say.js";
import { draw, leafed, link, note, shapeOf, telling, when } from "./screens.js";

const ADDRESS = "/floor/hand-over/";
const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);
const inUse = (told) => told[document.documentElement.lang] ?? told.en;

// The key that leads there, for whoever hands shifts over.
export const handOverKey = (known) => (maySay(known, "shift handed over") ? link(ADDRESS, say("Hand-over")) : null);

export async function drawHandOver(main, known) {
  const at = when(known.as_of);
  const words = say("Hand-over, as of %(at)s", { at });
  document.title = `${words}, ${say("Floor")}, Framethread`;
  const told = say("No link: what has happened elsewhere since is not in it. Who signs, signs as of %(at)s.", { at });
  const waiting = await entries("waiting");
  const sections = [unsent(waiting, known), ...(known.snapshot.handing ?? []).map((one) => section(inUse(one.head), linesOf(known, one), inUse(one.none)))];
  const ways = [link(ADDRESS, say("Look for the link again"), ""), link("/floor/", say("Stations"), "")];
  main.replaceChildren(leafed([telling("h1", words), draw("span", { class: "ways" }, ways)], note("watch", told), sections, []));
  const signed = known.snapshot.handing_shown && maySay(known, "shift handed over") ? signing(known, waiting.length) : "";
  main.querySelector(".foot-row .low").replaceWith(signed); // the foot is that of the page with a link
}

// The signatures below it, as the page with a link has them; the entry tells what both had before them.
function signing(known, unsent) {
  const payload = { shown: known.snapshot.handing_shown, words: "", without_link: true, unsent };
  const entry = { kind: "hand-over", payload, label: "hand-over", done: true, needs_second: say("The lead who takes over signs beside you.") };
  const field = draw("div", { class: "field" }, draw("label", { for: "words" }, say("What else the next shift must know")), draw("textarea", { id: "words", name: "words", rows: "2", maxlength: "400" }));
  const key = draw("button", { class: "log" }, shapeOf("released"), draw("span", {}, say("Hand over"), draw("small", {}, say("Both sign: you, and the lead who takes over."))));
  const once = draw("input", { type: "hidden", name: "key", value: crypto.randomUUID() });
  return draw("form", { class: "handing", "data-entry": JSON.stringify(entry), "data-puts": "words", "data-next": "/floor/" }, once, field, key);
}

function section(head, lines, none) {
  const rows = lines.map(([code, words]) => draw("div", {}, draw("dt", { class: "code" }, code), draw("dd", {}, whole(words))));
  return draw("section", {}, draw("h2", {}, `${capital(head)} `, draw("span", { class: "soft" }, String(rows.length))), rows.length ? draw("dl", {}, rows) : draw("p", { class: "soft" }, none));
}

// Codes within a line are not broken, as the server writes them.
const whole = (words) => words.split(/(\b[A-Z]{2}-\d\d-\d{6}-\d\b)/).map((part, n) => (n % 2 ? draw("span", { class: "nb" }, part) : part));

// Minutes of a pot run on without a link: they are worked out now. One of adhesive gets hot as well.
function linesOf(known, { about, lines }) {
  if (about !== "pot") return lines.map(([code, told]) => [code, inUse(told)]);
  return potsOf(known, ["resin-mix", "adhesive-mix"]).map((pot) => [nameOf(pot), potSays(known, pot)]);
}

function potSays(known, pot) {
  const part = known.snapshot.parts.find((one) => one.number === pot.part);
  const minutes = Math.floor((Date.parse(pot.ends) - known.now()) / 60_000);
  const told = { name: part?.name || pot.part, minutes: Math.abs(minutes) };
  return minutes < 0 ? say("%(name)s, ended %(minutes)s min ago: do not use it, it gets hot", told) : say("%(name)s, %(minutes)s min left", told);
}

function unsent(waiting, known) {
  const name = (badge) => known.snapshot.people.find((one) => one.badge === badge)?.name ?? badge;
  const rows = waiting.map((entry) => [entry.touches[0] ?? "", [word(entry.label ?? entry.kind), when(entry.made_at), name(entry.by)].join(", ")]);
  return section(say("Not gone up from this tablet"), rows, say("Everything has gone up."));
}
