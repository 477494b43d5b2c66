// What is held, over the whole screen, where there is no link: what to do by where it stands, as the server says it.
import { routeOf } from "./rules.js";
import { noop, say, word } from "./say.js";
import { clockAt, draw, shapeOf, telling, when } from "./screens.js";
import { held } from "./sounds.js";

const TO_DO = {
  "hot-mould": noop("Finish the cure. Then put it on the red shelf."),
  "closed-mould": noop("Do not fill. Open it, put the preform on the red shelf."),
  jig: noop("Leave it in the jig until the glue has set. Then the red shelf."),
  bench: noop("Do not work on it. Put it on the red shelf."),
  stock: noop("Take no more from it. Put the red tag on."),
  pot: noop("Do not fill from it. Marked place: it gets hot."),
};
const PLACES = {
  "hot-mould": noop("%(place)s, in its mould, filled"),
  "closed-mould": noop("%(place)s, in its mould, not filled"),
  jig: noop("%(place)s, in its jig"),
};
const POTS = ["resin-mix", "adhesive-mix"];

// Where a unit stands: as its last operation that is done left it.
export function standsOf(known, unit) {
  const done = routeOf(known, unit).filter((step) => unit.done.includes(step.operation));
  return done.at(-1)?.stands ?? "bench";
}

export const lotStands = (lot) => (POTS.includes(lot.kind) ? "pot" : "stock");

// Steps that make a unit safe, in order: they are asked for only while it stands in its mould.
export function safeSteps(known, unit) {
  if (!standsOf(known, unit).endsWith("mould")) return [];
  return routeOf(known, unit).filter((step) => step.makes_safe && (!unit.done.includes(step.operation) || unit.unsafe?.includes(step.operation)));
}

function stops(hold) {
  if (hold.scope === 3) return say("No shipping");
  return hold.scope === 2 ? say("Nothing after %(operation)s, no shipping", hold) : say("No further work, no shipping");
}

// A note of a hold that does not stop what is next.
export function laterHold(hold) {
  const told = { when: when(hold.at), stops: stops(hold), why: hold.reason };
  return draw("p", { class: "note bad", role: "status" }, shapeOf("held"), telling("span", say("Held since %(when)s: %(stops)s. Why: %(why)s.", told)));
}

const todayOr = (at) => (when(at).slice(0, -5) === when(Date.now()).slice(0, -5) ? clockAt(at) : when(at));

// Who has been told of the newest hold and has seen it, as the server says it; as known when the tablet last heard.
function toldOf(holds) {
  const [newest] = [...holds].sort((one, other) => (one.at < other.at ? 1 : -1));
  const voice = newest.voice?.[document.documentElement.lang];
  if (voice) return [voice, seenOf(newest.told ?? [])].filter(Boolean).join("; ");
  return notByVoice(newest);
}

function notByVoice({ told }) {
  if (!told) return say("Nobody has been told. Call by voice."); // it was held here, and has not gone up
  if (!told.length) return say("Nobody may lift it at present. Tell your lead.");
  return seenOf(told) || say("It stands on the page of %(names)s: nobody has seen it yet, tell them by voice.", { names: told.slice(0, 2).map(([name]) => name).join(", ") });
}

function seenOf(told) {
  const seen = told.filter(([, at]) => at).sort(([, one], [, other]) => (one < other ? -1 : 1));
  if (!seen.length) return "";
  const rows = [...seen.map(([name, at]) => say("%(name)s saw it %(seen)s", { name, seen: todayOr(at) })), ...told.filter(([, at]) => !at).map(([name]) => say("%(name)s has not seen it yet", { name }))];
  return rows.slice(0, 2).join("; ");
}

// Where it is, by the place on file when the tablet last heard.
function placeOf({ place }, stands) {
  const named = place || say("no place on file: look for it");
  return PLACES[stands] ? say(PLACES[stands], { place: named }) : word(named);
}

// The screen of a unit or lot: ``keys`` are list items, those that make it safe first; ``decides`` is who, and the deputy, where named.
export function heldScreen(item, holds, stands, keys, { hasSafe, decides }) {
  const row = (word, told) => draw("div", {}, telling("dt", say(word)), telling("dd", told));
  const rows = holds.flatMap((hold, n) => [row(noop("Held since"), when(hold.at)), row(noop("Why"), say(hold.reason)), n ? row(noop("It stops"), stops(hold)) : ""]);
  const facts = draw("dl", { class: "facts", id: "held-facts" }, row(noop("Where it is"), placeOf(item, stands)), rows, row(noop("Who decides"), decides || say("Review")), row(noop("Told"), toldOf(holds)));
  const says = draw("div", { class: "hz" }, shapeOf("held"), telling("b", say("Held")), telling("span", stops(holds[0])));
  const safe = draw("div", { class: "safe" }, hasSafe ? telling("h3", say("What makes it safe can always be logged")) : "", draw("ul", { class: "keys" }, keys));
  const why = draw("div", { class: "why" }, draw("div", { class: "uline" }, draw("h1", { class: "code" }, item.code)), draw("h2", { id: "held", class: "big" }, say(TO_DO[stands])), facts, safe);
  return draw("section", { class: "stopped", role: "alertdialog", tabindex: "-1", "data-held": "yes", "aria-labelledby": "held", "aria-describedby": "held-facts" }, says, why);
}

// Whoever listens is told at once what is held, and not what stands above it.
export function startHeld() {
  const screen = document.querySelector("[data-held]");
  if (!screen) return;
  screen.focus({ preventScroll: true });
  held();
}
