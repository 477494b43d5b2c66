// The clock of a pot on a screen: minutes left by the clock of the works, the vessel that drains, one sound under ten minutes.
import { recall } from "./outbox.js";
import { say, word } from "./say.js";
import { clockAt, draw, link, telling } from "./screens.js";
import { watch } from "./sounds.js";

const [WATCH_MIN, EVERY_MS] = [10, 1000];
const [FULL, HEIGHT] = [20, 150]; // as pot_clock.py draws the vessel
const SAID_AT = [10, 5, 0];
let offset = 0;

const now = () => Date.now() + offset;
const minutesOf = (pot) => Math.max(0, Math.floor((Date.parse(pot.dataset.ends) - now()) / 60_000));

function stateOf(pot) {
  if (now() >= Date.parse(pot.dataset.ends)) return "over";
  return minutesOf(pot) < WATCH_MIN ? "watch" : "run";
}

// Once for each pot and mark, whichever screen is open then.
function isFirst(pot, mark) {
  const name = `pot ${pot.dataset.pot} ${mark}`;
  if (sessionStorage.getItem(name)) return false;
  sessionStorage.setItem(name, "yes");
  return true;
}

function tell(pot, minutes) {
  const mark = SAID_AT.filter((one) => minutes <= one && (one > 0 || stateOf(pot) === "over")).at(-1);
  if (mark === undefined || !isFirst(pot, mark)) return;
  const told = { code: pot.dataset.pot, minutes };
  pot.querySelector("[data-pot-said]").textContent = mark ? say("Pot %(code)s: %(minutes)s minutes left.", told) : say("Pot %(code)s has ended. Do not use it.", told);
  if (mark !== 5) watch();
}

function show(pot) {
  const minutes = minutesOf(pot);
  const life = Date.parse(pot.dataset.ends) - Date.parse(pot.dataset.began);
  const left = Math.max(0, Math.min(1, (Date.parse(pot.dataset.ends) - now()) / life));
  pot.querySelector("[data-minutes]").textContent = String(minutes);
  pot.querySelector("[data-level]").setAttribute("y", String(FULL + HEIGHT * (1 - left)));
  for (const state of ["run", "watch", "over"]) pot.classList.toggle(`pot--${state}`, state === stateOf(pot));
  tell(pot, minutes);
}

// What a pot is called: one that was mixed without a link may have no number yet.
export const nameOf = (lot) => lot.code || say("mixed %(at)s, no number yet", { at: clockAt(lot.began) });

// The clock of a pot that the tablet knows, in the markup that came along with the snapshot.
export function drawPot(known, lot, small = false) {
  const pot = document.importNode(new DOMParser().parseFromString(known.snapshot.pot_clock, "text/html").querySelector("[data-pot]"), true);
  const code = nameOf(lot);
  Object.assign(pot.dataset, { pot: code, began: lot.began, ends: lot.ends });
  pot.setAttribute("aria-label", say("Pot %(code)s", { code }));
  pot.classList.toggle("pot--small", small);
  pot.querySelector("[data-pot-code]").textContent = code;
  pot.querySelector("[data-ends-at]").textContent = clockAt(lot.ends);
  const cup = `cup-${lot.began}`;
  pot.querySelector("clipPath").id = cup;
  pot.querySelector(".liquid").setAttribute("clip-path", `url(#${cup})`);
  return pot;
}

// Which pots are told of at which kind of station, and how many its screen has room for (`pot_clock.py`).
const POTS_AT = { mixing: ["resin-mix", "adhesive-mix"], press: ["resin-mix"], bonding: ["adhesive-mix"] };
const NEAREST = 2;
const potsAt = (known, station) => potsOf(known, POTS_AT[station.kind] ?? []);

// Pots of these kinds that stand about by what is known here, those that may be used and end first ahead.
export function potsOf(known, kinds = ["resin-mix"]) {
  const over = (lot) => (Date.parse(lot.ends) <= known.now() ? 1 : 0);
  const standing = [...known.lots.values()].filter((lot) => lot.ends && kinds.includes(lot.kind) && Date.parse(lot.ends) > known.now() - 30 * 60_000);
  return standing.sort((a, b) => over(a) - over(b) || Date.parse(a.ends) - Date.parse(b.ends));
}

// The pots that end first, and a key to the rest.
export function nearestPots(known, station) {
  const pots = potsAt(known, station);
  const more = pots.length - NEAREST;
  const key = more > 0 ? link("?pots=all", more === 1 ? say("1 more pot") : say("%(n)s more pots", { n: more }), "key more-pots") : "";
  return pots.length ? [draw("div", { class: "pots" }, pots.slice(0, NEAREST).map((lot) => drawPot(known, lot, true)), key)] : [];
}

export function allPots(known, station) {
  const pots = potsAt(known, station).map((lot) => drawPot(known, lot, true));
  const drawn = draw("div", { class: "pots pots--all" }, pots.length ? pots : telling("p", say("No pot stands open.")));
  return [telling("h1", say("Pots")), drawn, draw("p", { class: "low" }, link(location.pathname, word(station.name) || station.code))];
}

export async function startPots() {
  offset = (await recall("clock"))?.offset_ms ?? 0;
  const showAll = () => document.querySelectorAll("[data-pot]").forEach(show);
  showAll();
  setInterval(showAll, EVERY_MS);
}
