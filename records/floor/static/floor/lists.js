// What may stand on a list that is scanned: each kind says what it takes, what stays off, and the entries that it makes.
import { restOf, tooEarly } from "./resting.js";
import { stopping } from "./rules.js";
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
const routeStep = (known, unit, operation) => (known.snapshot.routes[unit.route] ?? []).find((one) => one.operation === operation);
const away = (known) => known.snapshot.many.out.flatMap((one) => one.away);

function judgeUnit(known, code, typed, told) {
  const unit = known.units.get(code);
  if (!unit) {
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
  return hold ? { held: { code, what: unit.name, why: hold.reason, at: hold.at } } : { line: { code, what: unit.name } };
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
const asksNothing = (step) => step.pieces.every((piece) => piece.into === "tools" || (piece.piece === "numbers" && !piece.questions.length));

// Lists that a station offers: the address below its own, and the word.
export function listsAt(known, waiting, may) {
  const { acts } = known.snapshot.many;
  const names = may(acts.step) ? [...new Set(waiting.map((unit) => unit.next))] : [];
  const shared = names.filter((name) => {
    const units = waiting.filter((unit) => unit.next === name);
    return units.length >= FEWEST_WAITING && asksNothing(routeStep(known, units[0], name));
  });
  const steps = shared.map((name) => [`step/?operation=${encodeURIComponent(name)}`, say("%(name)s, several at once", { name: name[0].toUpperCase() + name.slice(1).replaceAll("-", " ") })]);
  return [...steps, ...Object.entries(NAMES).filter(([name, { word }]) => word && may(acts[name])).map(([name, { word }]) => [`${name}/`, word()])];
}

// A kind of list by its name, with what the address told; nothing where there is none.
export function listOf(known, name, told) {
  if (!NAMES[name]) return null;
  const seen = { ...told, ships: name === "ship" };
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
  const payload = { ...step.fixed, unit: line.code, operation: list.told.operation, station, ...(state.tool ? { tools: [state.tool] } : {}) };
  return { key: line.key, kind: "step", payload, seen: { ...step.seen, holds_at: known.as_of }, label: list.told.operation };
}

// The kind of tool that a step is done with, where its route names one.
export function toolOf(known, list) {
  if (list.name !== "step") return "";
  const steps = Object.values(known.snapshot.routes).flat().filter((one) => one.operation === list.told.operation);
  return steps.flatMap((one) => one.pieces).find((piece) => piece.into === "tools")?.of?.[0] ?? "";
}

// Whether nothing is missing before the press.
export function isReady({ known, list, state }) {
  if (!state.lines.length || (list.to && !state.to) || (toolOf(known, list) && !state.tool)) return false;
  return !list.amounts || state.lines.every((line) => /^\d+([.,]\d+)?$/.test(line.amount));
}
