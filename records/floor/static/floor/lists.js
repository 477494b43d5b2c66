// What may stand on a list that is scanned: each kind says what it takes, what stays off, and the entries that it makes.
import { carrierWord } from "./copies.js";
import { restOf, tooEarly } from "./resting.js";
import { routeOf, stopping, unitAt } from "./rules.js";
import { say } from "./say.js";
import { wrongWith } from "./scans.js";
import { clockAt } from "./screens.js";

const NAMES = {
  step: { ask: () => say("Scan the next unit"), press: (n, to, told) => say("Log %(step)s for %(n)s", { n, step: told.operation }) },
  out: { word: () => say("Send out"), ask: () => say("Scan the next one that goes out"), press: (n, to) => say("Send %(n)s to %(to)s", { n, to: to || "…" }), one: "send-out", to: true },
  back: { word: () => say("Take back in"), ask: () => say("Scan the next one that came back"), press: (n) => say("Take %(n)s back in", { n }), one: "come-back" },
  here: { word: () => say("Bring things here"), ask: () => say("Scan the next thing that came here"), press: (n) => say("Log %(n)s as here", { n }) },
  ship: { word: () => say("Pack and ship"), ask: () => say("Scan the next frame for the carton"), press: (n, to) => say("Ship %(n)s to %(to)s", { n, to: to || "…" }), one: "ship", to: true },
  count: { word: () => say("Count by scanning"), ask: () => say("Scan the next lot that lies here"), press: (n) => say("Log the count of %(n)s", { n }), one: "count", amounts: true },
};

const unknown = (known, code) => say("This tablet knows no %(code)s since %(since)s. Look again, or type it.", { code, since: clockAt(known.as_of) });
const routeStep = (known, unit, operation) => routeOf(known, unit).find((one) => one.operation === operation);
const away = (known) => known.snapshot.many.out.flatMap((one) => one.away);

const isGone = (code) => say("%(code)s is not here: it is out or shipped. Book it back first.", { code });

// What is known here of a code that is no unit in the house: a tool or gauge, or a unit that is out; empty where nothing is.
export function noUnit(known, code) {
  const other = [...known.snapshot.tools, ...known.snapshot.gauges].find((one) => one.code === code);
  if (other) return say("That is the %(kind)s %(code)s. Due here: %(due)s. Scan another code.", { kind: other.kind || "gauge", code, due: "unit" });
  return away(known).includes(code) ? isGone(code) : "";
}

// The carrier that is scanned at a step, after its unit; empty where it puts none on.
function putsOn(known, unit, operation) {
  const step = routeStep(known, unit, operation);
  return step?.pieces.some((piece) => piece.piece === "carrier") ? step.carrier : "";
}

// Why a unit stays here though nothing holds it, as the server would say it; empty where it may go by what is known here.
function notReady(known, unit, told) {
  const { code } = unit;
  const missing = (steps) => steps.find((step) => !unit.done.includes(step.operation))?.operation;
  if (unit.gone === "in") return say("%(code)s is in another unit already. Scan the one in front of you.", { code });
  if (unit.gone) return isGone(code);
  const route = routeOf(known, unit);
  if (told.ships) {
    const step = missing(route);
    if (step) return say("%(unit)s has not been through %(step)s. That comes first.", { unit: code, step });
    return unit.released ? "" : say("%(unit)s is not released. Review must let it go.", { unit: code });
  }
  if (!told.goes) return "";
  const step = missing(route.slice(0, route.findLastIndex((one) => one.makes_safe) + 1));
  return step ? say("%(step)s of %(unit)s is not on file. It goes to nobody before that.", { step, unit: code }) : passing(known, unit, route);
}

// Paper and glue go off under paint: only a works whose routes name carriers is asked.
function passing(known, unit, route) {
  if (!route.some((step) => step.carrier && unit.done.includes(step.operation))) return "";
  const [kind] = unit.carrier ?? [];
  if (!kind) return say("Nothing is on file that carries the code of %(unit)s. Give it its permanent mark or a tag, and scan that.", { unit: unit.code });
  if (known.snapshot.many.outlives.includes(kind)) return "";
  return say("%(unit)s is known by its %(carrier)s alone, which does not outlive paint. Give it its permanent mark or a tag, and scan that first.", { unit: unit.code, carrier: carrierWord(kind) });
}

function judgeUnit(known, scanned, typed, told) {
  const unit = unitAt(known, scanned);
  const code = unit?.code ?? scanned;
  if (!unit) {
    const other = noUnit(known, code);
    if (other) return { wrong: other };
    const lot = known.lots.get(code);
    if (lot) return { wrong: say("That is %(kind)s %(code)s. This list is for units.", { kind: lot.kind, code }) };
    return { wrong: wrongWith(typed)?.words ?? unknown(known, code) };
  }
  const { operation } = told;
  if (operation && !routeStep(known, unit, operation)) return { wrong: say("%(code)s has no step %(step)s in its route.", { code, step: operation }) };
  if (operation && unit.done.includes(operation)) return { wrong: say("%(code)s has been through %(step)s already.", { code, step: operation }) };
  if (operation && unit.next !== operation) return { wrong: say("%(code)s waits for %(next)s. That comes first.", { code, next: unit.next }) };
  const early = operation ? tooEarly(known, restOf(known, unit, operation)) : "";
  if (early) return { wrong: early };
  const [hold] = told.ships ? unit.holds : stopping(known, unit, operation ?? "");
  if (hold) return { held: { code, what: unit.name, why: hold.reason, at: hold.at } };
  const words = notReady(known, unit, told);
  if (words) return { held: { code, what: unit.name, words } };
  const needs = operation ? putsOn(known, unit, operation) : "";
  return { line: { code, what: unit.name, ...(needs ? { needs } : {}) } };
}

function judgeBack(known, code, typed) {
  if (away(known).includes(code)) return { line: { code, what: known.snapshot.many.out.find((one) => one.away.includes(code)).to } };
  if (known.units.has(code)) return { wrong: say("%(code)s was not out. Scan what came back.", { code }) };
  return { wrong: wrongWith(typed)?.words ?? unknown(known, code) };
}

function judgeLot(known, code, typed) {
  const lot = known.lots.get(code);
  const unit = known.units.get(code);
  if (unit) return { wrong: say("That is %(kind)s %(code)s. Lots are counted here, units by their codes.", { kind: unit.kind, code }) };
  if (!lot) return { wrong: wrongWith(typed)?.words ?? unknown(known, code) };
  const part = known.snapshot.parts.find((one) => one.number === lot.part);
  return { line: { code, what: part?.name || lot.part, unit: part?.unit ?? "g", amount: "" } };
}

function judgeAny(known, code, typed) {
  const found = known.units.get(code) ?? known.lots.get(code);
  return found ? { line: { code, what: found.name || found.part } } : { wrong: wrongWith(typed)?.words ?? unknown(known, code) };
}

const JUDGES = { step: judgeUnit, out: judgeUnit, ship: judgeUnit, back: judgeBack, here: judgeAny, count: judgeLot };

const FEWEST_WAITING = 2;
// Nothing but the tool that all share, and the carrier that each gets.
const isForMany = (step) => step.pieces.every((piece) => piece.into === "tools" || piece.piece === "carrier" || (piece.piece === "numbers" && !piece.questions.length));

// Lists that a station offers: the address below its own, and the word.
export function listsAt(known, waiting, may) {
  const { acts } = known.snapshot.many;
  const names = may(acts.step) ? [...new Set(waiting.map((unit) => unit.next))] : [];
  const shared = names.filter((name) => {
    const units = waiting.filter((unit) => unit.next === name);
    return units.length >= FEWEST_WAITING && isForMany(routeStep(known, units[0], name));
  });
  const steps = shared.map((name) => [`step/?operation=${encodeURIComponent(name)}`, say("%(name)s, several at once", { name: name[0].toUpperCase() + name.slice(1).replaceAll("-", " ") })]);
  return [...steps, ...Object.entries(NAMES).filter(([name, { word }]) => word && may(acts[name])).map(([name, { word }]) => [`${name}/`, word()])];
}

// A kind of list by its name, with what the address told; nothing where there is none.
export function listOf(known, name, told) {
  if (!NAMES[name]) return null;
  const seen = { ...told, ships: name === "ship", goes: name === "out" };
  return { ...NAMES[name], name, told: seen, act: known.snapshot.many.acts[name], judge: (code, typed) => JUDGES[name](known, code, typed, seen) };
}

// Of consignments of which something came back, what is still missing.
export function missing(known, codes) {
  const begun = known.snapshot.many.out.filter((one) => one.away.some((code) => codes.includes(code)));
  return begun.map((one) => ({ ...one, missing: one.away.filter((code) => !codes.includes(code)), back: one.units.length - one.away.length + one.away.filter((code) => codes.includes(code)).length }));
}

// The entries of a list: one for all of a consignment, a carton or a count, else one for each line.
export function entriesOf(known, list, state, station) {
  const codes = state.lines.map((line) => line.code);
  const seen = { holds_at: known.as_of };
  const label = list.press(codes.length, state.to, list.told);
  const one = (payload) => [{ key: state.key, kind: list.one, payload, seen, label }];
  if (list.name === "out" || list.name === "ship") return one({ units: codes, to: state.to });
  if (list.name === "back") return one({ units: codes, station });
  if (list.name === "count") return one({ counts: state.lines.map((line) => ({ lot: line.code, amount: `${line.amount} ${line.unit}` })) });
  return state.lines.map((line) => (list.name === "here" ? { key: line.key, kind: "move", payload: { item: line.code, station }, seen, label: say("Bring %(code)s here", { code: line.code }) } : stepEntry(known, list, state, line, station)));
}

function stepEntry(known, list, state, line, station) {
  const step = routeStep(known, known.units.get(line.code), list.told.operation);
  const payload = { ...step.fixed, unit: line.code, operation: list.told.operation, station, ...(state.tool ? { tools: [state.tool] } : {}), ...(line.needs ? { carrier: line.carrier ?? "" } : {}) };
  return { key: line.key, kind: "step", payload, seen: { ...step.seen, holds_at: known.as_of }, label: list.told.operation };
}

// The kind of tool that a step is done with, where its route names one.
export function toolOf(known, list) {
  if (list.name !== "step") return "";
  const steps = Object.values(known.snapshot.routes).flat().filter((one) => one.operation === list.told.operation);
  return steps.flatMap((one) => one.pieces).find((piece) => piece.into === "tools")?.of?.[0] ?? "";
}

// The line whose carrier is scanned next: a unit and what was put on it are a pair.
export const halfOf = (state) => state.lines.find((line) => line.needs && !line.carrier && !line.bare);

// Whether nothing is missing before the press.
export function isReady({ known, list, state }) {
  if (!state.lines.length || (list.to && !state.to) || (toolOf(known, list) && !state.tool) || halfOf(state)) return false;
  return !list.amounts || state.lines.every((line) => /^\d+([.,]\d+)?$/.test(line.amount));
}
