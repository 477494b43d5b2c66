// The rules and things known at last contact, with what was logged here since laid over them.
import { madeAt } from "./clocks.js";
import { carry, uncarry } from "./copies.js";
import { entries, recall } from "./outbox.js";
import { showTimesIn } from "./screens.js";

export async function rules() {
  const taken = await recall("snapshot");
  if (!taken) return null;
  const active = (await recall("active")) ?? taken.you.badge;
  const person = taken.people.find((one) => one.badge === active) ?? { ...taken.you, acts: [] };
  const snapshot = { ...taken, ...taken.spoken?.[person.language] };
  showTimesIn(snapshot.zone);
  const units = new Map(snapshot.units.map((unit) => [unit.code.toUpperCase(), { ...unit, done: [...unit.done], holds: [...unit.holds], rests: { ...unit.rests } }]));
  const lots = new Map(snapshot.lots.map((lot) => [lot.code.toUpperCase(), { ...lot }]));
  const { offset_ms } = (await recall("clock")) ?? { offset_ms: 0 };
  const known = { snapshot, person, units, lots, as_of: snapshot.taken_at, now: () => Date.now() + offset_ms };
  layAll(known, await entries());
  return known;
}

// A page that is the same for everybody is said in the language of whoever is active.
export async function languageHere() {
  return (await rules().catch(() => null))?.person.language ?? "en";
}

// What was logged here and the snapshot does not know yet is laid over it; a mis-tap that was taken back is left out.
function layAll(known, all) {
  const newer = all.filter((entry) => counts(entry) && (entry.state === "waiting" || entry.answered_at > known.as_of));
  const undone = new Set(newer.filter((entry) => entry.kind === "undo").map((entry) => entry.payload.of));
  const before = all.filter((entry) => !newer.includes(entry));
  for (const entry of newer) if (!undone.has(entry.key)) layOver(known, entry, before);
}

// Whether an entry tells of something: not one that was put aside or stopped by a gate, nor an undo that was refused.
function counts({ state, done, kind }) {
  if (kind === "undo" && ["refused", "conflict"].includes(state)) return false;
  return state !== "aside" && !(state === "refused" && !done);
}

// What an entry changes of what is known; `before` are those that the snapshot knows already.
function layOver(known, entry, before) {
  const { payload } = entry;
  layGone(known, entry);
  if (entry.kind === "step") {
    const unit = unitAt(known, payload.unit);
    if (unit && mouldOf(known, payload)) unit.mould = mouldOf(known, payload);
    if (unit && payload.outcome !== "interrupted") stepOn(known, unit, payload.operation, entry);
    if (unit) layCarrier(known, unit, payload);
    layPots(known, payload.shots ?? []);
  } else if (entry.kind === "undo") {
    const undone = before.find((one) => one.key === payload.of && ["step", "carrier"].includes(one.kind));
    const unit = undone && unitAt(known, undone.payload.unit);
    if (unit && undone.kind === "carrier") uncarry(unit, undone.payload);
    else if (unit) stepOff(known, unit, undone.payload.operation);
  } else if (entry.kind === "carrier" && known.units.has(payload.unit)) {
    carry(known.units.get(payload.unit), payload.carrier, payload.symbol);
  } else if (entry.kind === "measure") {
    const unit = unitAt(known, payload.unit);
    if (unit) layMeasured(known, unit, entry);
  } else if (entry.kind === "wait") {
    const unit = unitAt(known, payload.unit);
    const until = new Date(Date.parse(madeAt(entry)) + payload.minutes * 60_000).toISOString();
    if (unit) unit.wait = { until, name: payload.reading, value: payload.value, unit: payload.of, operation: payload.operation };
  } else if (entry.kind === "hold" && payload.item) {
    const unit = known.units.get(payload.item);
    if (unit) unit.holds.push(heldHere(known, entry, payload.reason));
    const lot = known.lots.get(payload.item);
    if (lot) lot.held = true;
  } else if (["wind", "mould", "bond"].includes(entry.kind) && (payload.unit || mouldOf(known, payload))) {
    // A mould closed without a link may hold a unit that has no number yet: the mould's own code stands for it.
    const code = payload.unit || mouldOf(known, payload);
    const make = known.snapshot.makes[payload.part];
    const part = known.snapshot.parts.find((one) => one.number === payload.part);
    const unit = { code, part: payload.part, name: part?.name || payload.part, kind: part?.kind, done: [], holds: [] };
    Object.assign(unit, { station: payload.station, since: madeAt(entry), route: make?.route, next: "" });
    if (entry.kind === "mould") Object.assign(unit, { mould: mouldOf(known, payload), checks: {} });
    known.units.set(code, unit);
    stepOn(known, unit, make?.operation, entry);
  } else if (["mix", "meter"].includes(entry.kind)) layPot(known, entry);
}

const heldHere = (known, entry, reason) => ({ key: entry.key, reason: known.snapshot.reasons?.[reason] ?? reason, at: madeAt(entry), stops: "use, step, send-out and ship", scope: 1 });

// What was read is on file; a number outside that was kept holds its unit, as the works' rules have it.
function layMeasured(known, unit, entry) {
  const read = entry.payload.lines.filter((line) => line.readings.length).map((line) => line.characteristic);
  unit.measured = [...(unit.measured ?? []), ...read];
  if (entry.keeps) unit.holds.push(heldHere(known, entry, "measured-outside"));
}

// A pot that was mixed here. One without a number yet stands about all the same, and gets hot: it has its clock, by the
// moment at which it was mixed; nothing can be scanned for it.
function layPot(known, entry) {
  const { payload } = entry;
  const kind = known.snapshot.tasks.pot.pieces[0].makes?.[payload.mix] ?? "resin-mix";
  const began = madeAt(entry);
  const lot = { code: payload.pot || entry.made || "", kind, part: "", state: "accept", left: "", past: false, held: false, new: true, began, ends: endOf(known, payload.mix, began) };
  known.lots.set(lot.code || entry.key, lot);
}

// What went into another unit, or left the house; what came back is here.
function layGone(known, { kind, payload }) {
  const gone = { mould: "in", bond: "in", "send-out": "out", ship: "out", "come-back": "" }[kind];
  if (gone === undefined) return;
  for (const code of [payload.front, payload.rear, ...(payload.preforms ?? []), ...(payload.units ?? [])]) {
    const unit = known.units.get(code);
    if (unit) unit.gone = gone;
  }
}

// The carrier that a step put on; out of its tool without one, nothing is known to carry it.
function layCarrier(known, unit, { operation, carrier, outcome }) {
  const step = routeOf(known, unit).find((one) => one.operation === operation);
  if (!step?.carrier || step.carrier === "tool" || (outcome && outcome !== "done")) return;
  if (carrier) carry(unit, step.carrier, carrier);
  else if (step.makes_safe && unit.carrier?.[0] === "tool") carry(unit, "");
}

export function routeOf(known, unit) {
  return known.snapshot.routes[unit.route] ?? [];
}

export function endOf(known, mix, began) {
  const life = known.snapshot.tasks.pot.pieces[0].lives?.[mix];
  return life ? new Date(Date.parse(began) + life).toISOString() : "";
}

function layPots(known, shots) {
  for (const { lot } of shots) {
    const pot = known.lots.get((lot ?? "").toUpperCase());
    if (pot) pot.used = true;
  }
}

function mouldOf(known, payload) {
  return (payload.tools ?? []).find((code) => known.snapshot.tools.some((tool) => tool.code === code && tool.kind === "mould")) ?? "";
}

// A unit by its code, or by the mould that it stands in.
export function unitAt(known, code) {
  return known.units.get(code) ?? [...known.units.values()].reverse().find((unit) => unit.mould === code && !isOut(known, unit));
}

function isOut(known, unit) {
  const safe = routeOf(known, unit).filter((step) => step.makes_safe);
  return safe.length > 0 && unit.done.includes(safe.at(-1).operation);
}

// Closing a mould makes its checks void; a check that came out holds for a while.
function layChecks(known, unit, operation, entry) {
  const step = routeOf(known, unit).find((one) => one.operation === operation);
  if (step?.n === 1) unit.checks = {};
  if (step?.n === 1 && unit.wait?.operation) unit.wait = null; // what is closed once more is measured anew
  laySafe(known, unit, step, entry);
  if (!step?.good_for_ms) return;
  const until = new Date(Date.parse(madeAt(entry)) + step.good_for_ms).toISOString();
  unit.checks = { ...unit.checks, [operation]: { until, good: cameOut(entry) } };
  if (step === routeOf(known, unit).at(-1)) unit.ready = unit.checks[operation];
}

// Whether a step was done within its bands, as far as is told here: one of which a reading outside was kept was not.
const cameOut = ({ payload, keeps }) => (payload.outcome ?? "done") === "done" && !keeps && !(payload.readings ?? []).some((one) => one.reason);

// What makes safe counts where it came out, and until the mould is closed once more.
function laySafe(known, unit, step, entry) {
  if (!step) return;
  const before = step.n === 1 ? routeOf(known, unit).filter((one) => one.makes_safe && unit.done.includes(one.operation)).map((one) => one.operation) : unit.unsafe ?? [];
  const others = before.filter((name) => name !== step.operation);
  unit.unsafe = step.makes_safe && !cameOut(entry) ? [...others, step.operation] : others;
}

// A step that was done begins the rest that its route asks for.
function layRest(known, unit, operation, entry) {
  const step = routeOf(known, unit).find((one) => one.operation === operation);
  if (!step?.rest_ms || (entry.payload.outcome ?? "done") !== "done") return;
  unit.rests = { ...unit.rests, [operation]: new Date(Date.parse(madeAt(entry)) + step.rest_ms).toISOString() };
}

function stepOn(known, unit, operation, entry) {
  layChecks(known, unit, operation, entry);
  layRest(known, unit, operation, entry);
  if (!unit.done.includes(operation)) unit.done.push(operation);
  unit.next = routeOf(known, unit).find((step) => !unit.done.includes(step.operation))?.operation ?? "";
}

function stepOff(known, unit, operation) {
  if (unit.checks) delete unit.checks[operation];
  if (unit.rests) delete unit.rests[operation];
  delete unit.ready;
  unit.done = unit.done.filter((name) => name !== operation);
  unit.next = routeOf(known, unit).find((step) => !unit.done.includes(step.operation))?.operation ?? "";
}

// Holds that stop an operation of a unit, or everything where none is named.
export function stopping(known, unit, operation) {
  const n = routeOf(known, unit).find((step) => step.operation === operation)?.n ?? Infinity;
  return unit.holds.filter((hold) => hold.scope === 1 || (hold.scope === 2 && hold.after !== null && n > hold.after));
}

export const maySay = (known, act) => known.person.acts.includes(act);
