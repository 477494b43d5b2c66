// How long a reading outside its band may wait, by all that is known here: the same rule as records/floor/waits.py has.
import { checksOf } from "./closed.js";
import { potsOf } from "./pots.js";
import { routeOf } from "./rules.js";

const WAIT_MIN = 10;

// Never longer than what was checked of the unit holds, nor than an open pot has while the unit is still to be filled;
// not at all where no unit is known. [min]
export function waitOf(known, unit) {
  if (!unit) return 0;
  const checks = checksOf(known, unit).filter((check) => !check.fault).map((check) => check.until);
  const ends = [unit.checked_until, ...checks, ...(waitsForPot(known, unit) ? potsOf(known).map((pot) => pot.ends) : [])];
  const left = ends.filter(Boolean).map((end) => Math.floor((Date.parse(end) - known.now()) / 60_000));
  return Math.max(0, Math.min(WAIT_MIN, ...left.filter((minutes) => minutes >= 0)));
}

const waitsForPot = (known, unit) => routeOf(known, unit).some((step) => step.takes_pot && !unit.done.includes(step.operation));
