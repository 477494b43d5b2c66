// An old label or carrier is named as such without a link: the twin of copy_words in records/trace/finding.py.
import { noop, say } from "./say.js";
import { readScan } from "./scans.js";
import { note, sayFirst } from "./screens.js";

const CARRIERS = { tool: noop("the tool that holds it"), tag: noop("tag"), traveller: noop("traveller"), label: noop("label"), mark: noop("permanent mark") };
const TOLD = "old-label";

export const carrierWord = (kind) => CARRIERS[kind] ?? kind;

function scanOf(text) {
  try {
    return readScan(text);
  } catch {
    return null; // what can't be read is told by whoever asked for it
  }
}

// What is wrong with the label that was scanned, by what is known here; empty where nothing is.
export function copyWords(known, text) {
  const scan = scanOf(text);
  if (!scan) return "";
  const { code, copy } = scan;
  const newest = known.snapshot.reprinted?.[code] ?? 0;
  if (copy && copy < newest) return say("That is label %(copy)s of %(code)s; label %(newest)s was printed after it. Take the old one off.", { copy, code, newest });
  return endedWords(known, scan);
}

// The unit that a code names: by its own number, or by one that stood on a carrier of it before.
export function unitOnce(known, code) {
  return known.units.get(code) ?? [...known.units.values()].find((unit) => unit.ended?.some(([, old]) => old === code));
}

function endedWords(known, { code, copy, form }) {
  const unit = unitOnce(known, code);
  if (!unit || (form === "plain" && code === unit.code.toUpperCase())) return "";
  const [was] = unit.ended?.findLast(([, old, n]) => old.toUpperCase() === code && n === (copy ?? 0)) ?? [];
  if (!was) return "";
  const now = unit.carrier ? carrierWord(unit.carrier[0]) : "";
  const told = { copy, code, was: carrierWord(was), now };
  if (copy && now) return say("That is label %(copy)s of %(code)s, which it is no longer known by: by its %(now)s. Take the old one off.", told);
  if (copy) return say("That is label %(copy)s of %(code)s, which it is no longer known by. Take the old one off.", told);
  if (now) return say("That is the old %(was)s of %(code)s, which it is no longer known by: by its %(now)s. Take the old one off.", told);
  return say("That is the old %(was)s of %(code)s, which it is no longer known by. Take the old one off.", told);
}

// What was read on a carrier, as a snapshot tells it; null of an empty text.
function carrierOf(kind, text) {
  const [, code, copy] = /^(.+?)(?: L(\d{1,4}))?$/.exec(text.trim()) ?? [];
  return code ? [kind, code.toUpperCase(), Number(copy ?? 0)] : null;
}

const readsAs = (one, other) => one[1].toUpperCase() === other[1].toUpperCase() && one[2] === other[2];

// A carrier is on a unit from now on, as told by an entry that the snapshot does not know yet; without a text there is none.
export function carry(unit, kind, text = "") {
  const next = carrierOf(kind, text);
  const isSame = (one) => next && readsAs(one, next);
  const before = [...(unit.ended ?? []), ...(unit.carrier && unit.carrier[0] !== "tool" ? [unit.carrier] : [])];
  unit.ended = before.filter((one) => !isSame(one));
  unit.carrier = next;
}

// A carrier that the snapshot knows was put on by a mis-tap: the one before is on again; where it was the first, none is.
export function uncarry(unit, { carrier: kind, symbol, reason }) {
  const mistaken = carrierOf(kind, symbol);
  if (!unit.carrier || unit.carrier[0] !== kind || !readsAs(unit.carrier, mistaken)) return; // another one came since
  const before = unit.ended?.at(-1);
  if (before) Object.assign(unit, { carrier: before, ended: unit.ended.slice(0, -1) });
  else if (!reason) unit.carrier = null;
}

// What is told of an old label on the page that its scan leads to.
export function keepOld(words) {
  if (words) sessionStorage.setItem(TOLD, words);
}

export function tellOld() {
  const words = sessionStorage.getItem(TOLD);
  sessionStorage.removeItem(TOLD);
  document.querySelector("[data-old-label]")?.remove();
  if (!words) return;
  const told = note("watch", words);
  told.dataset.oldLabel = "yes";
  sayFirst(told);
}
