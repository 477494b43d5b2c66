// What carries a unit's identity from a step on, without a link: its code is scanned once, and it is the unit's own.
import { folded } from "./misreads.js";
import { routeOf } from "./rules.js";
import { say } from "./say.js";
import { readScan } from "./scans.js";

const WITH_COPY = /^(.+) L(\d{1,4})$/;

// What was read on a carrier as the entry tells it: the code, and the number of the label where the symbol has one.
export function carrierTold(text) {
  if (WITH_COPY.test(text.trim())) return text.trim();
  try {
    const { code, copy } = readScan(text);
    return copy ? `${folded(code)} L${copy}` : folded(code);
  } catch {
    return text;
  }
}

export function* newCarrier(known, task, told, piece) {
  yield { ...piece, on: task.on?.code };
}

// Why what was read is not the unit's own; empty where it is, or where the unit has no number here yet.
export function wrongCarrier(known, { on }, text) {
  const told = carrierTold(text);
  const code = folded(told.replace(WITH_COPY, "$1"));
  const hasNumber = on && known.units.has(on) && known.units.get(on).mould !== on;
  if (!hasNumber) return "";
  if (code === on.toUpperCase()) return oldCarrier(known.units.get(on), code, Number(WITH_COPY.exec(told)?.[2] ?? 0));
  return say("That is the code of %(found)s, and this is %(unit)s. Leave both as they are, and ask your lead.", { found: code, unit: on });
}

// A label that a newer one came after.
function oldCarrier({ code: unit, ended, carrier }, code, copy) {
  const isOld = copy && [...(ended ?? []), ...(carrier ? [carrier] : [])].some(([, of, n]) => of.toUpperCase() === code && n > copy);
  return isOld ? say("That is label %(copy)s of %(unit)s, an old one. Take it off, and scan the one that is on it now.", { copy, unit }) : "";
}

export const newCarrierTold = (known, piece, told) => ({ carrier: told.carrier ?? "" });

// A carrier put on between the steps: what it is, why, and the scan of it, which logs.
export function* anotherCarrier(known, task, told, { put, why, first, scans }) {
  yield put;
  yield told.reason === "first" ? first : why;
  if (scans[told.put]) yield { ...scans[told.put], on: task.on?.code };
}

export const anotherTold = (known, piece, { put = "", carrier = "", reason = "" }) => ({ carrier: put, symbol: carrier, reason: reason === "first" ? "" : reason });

// What may be put on a unit by hand: of the kind that is on it, else of the one that its route asks for by now.
export function carrierDue(known, unit) {
  const asked = routeOf(known, unit).findLast((step) => step.carrier && unit.done.includes(step.operation))?.carrier;
  const kind = unit.carrier ? unit.carrier[0] : asked;
  return known.snapshot.carrier.pieces[0].scans[kind] ? { kind, isOn: Boolean(unit.carrier) } : null;
}
