// The rules and things known at last contact, with what was logged here since laid over them.
import { entries, recall } from "./outbox.js";
import { showTimesIn } from "./screens.js";

export async function rules() {
  const taken = await recall("snapshot");
  if (!taken) return null;
  const active = (await recall("active")) ?? taken.you.badge;
  const person = taken.people.find((one) => one.badge === active) ?? { ...taken.you, acts: [] };
  const snapshot = { ...taken, ...taken.spoken?.[person.language] };
  showTimesIn(snapshot.zone);
  const units = new Map(snapshot.units.map((unit) => [unit.code.toUpperCase(), { ...unit, done: [...unit.done], holds: [...unit.holds] }]));
  const lots = new Map(snapshot.lots.map((lot) => [lot.code.toUpperCase(), { ...lot }]));
  const known = { snapshot, person, units, lots, as_of: snapshot.taken_at };
  for (const entry of await entries()) {
    const isNewer = entry.state === "waiting" || entry.answered_at > snapshot.taken_at;
    if (isNewer && entry.state !== "aside" && !(entry.state === "refused" && !entry.done)) layOver(known, entry);
  }
  return known;
}

// What an entry that the snapshot does not know yet changes of it.
function layOver(known, entry) {
  const { payload } = entry;
  if (entry.kind === "step") {
    const unit = known.units.get(payload.unit);
    if (unit) stepOn(known, unit, payload.operation);
  } else if (entry.kind === "wait") {
    const unit = known.units.get(payload.unit);
    const until = new Date(Date.parse(entry.made_at) + payload.minutes * 60_000).toISOString();
    if (unit) unit.wait = { until, name: payload.reading, value: payload.value, unit: payload.of, operation: payload.operation };
  } else if (entry.kind === "hold" && payload.item) {
    const unit = known.units.get(payload.item);
    const hold = { reason: payload.reason, at: entry.made_at, stops: "use, step, send-out and ship", scope: 1 };
    if (unit) unit.holds.push(hold);
    const lot = known.lots.get(payload.item);
    if (lot) lot.held = true;
  } else if (["wind", "mould", "bond"].includes(entry.kind) && payload.unit) {
    const make = known.snapshot.makes[payload.part];
    const part = known.snapshot.parts.find((one) => one.number === payload.part);
    const unit = { code: payload.unit, part: payload.part, name: part?.name || payload.part, kind: part?.kind, done: [], holds: [] };
    Object.assign(unit, { station: payload.station, since: entry.made_at, route: make?.route, next: "" });
    known.units.set(payload.unit, unit);
    stepOn(known, unit, make?.operation);
  } else if (entry.kind === "mix" && payload.pot) {
    const kind = known.snapshot.tasks.pot.pieces[0].makes?.[payload.mix] ?? "resin-mix";
    known.lots.set(payload.pot, { code: payload.pot, kind, part: "", state: "accept", left: "", past: false, held: false, new: true });
  }
}

export function routeOf(known, unit) {
  return known.snapshot.routes[unit.route] ?? [];
}

function stepOn(known, unit, operation) {
  if (!unit.done.includes(operation)) unit.done.push(operation);
  unit.next = routeOf(known, unit).find((step) => !unit.done.includes(step.operation))?.operation ?? "";
}

// Holds that stop an operation of a unit, or everything where none is named.
export function stopping(known, unit, operation) {
  const n = routeOf(known, unit).find((step) => step.operation === operation)?.n ?? Infinity;
  return unit.holds.filter((hold) => hold.scope === 1 || (hold.scope === 2 && hold.after !== null && n > hold.after));
}

export const maySay = (known, act) => known.person.acts.includes(act);
