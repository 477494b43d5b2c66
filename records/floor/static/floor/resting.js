// How long a unit rests after a step, by its route, before the next one: what is told of it, and what is asked before that.
import { routeOf } from "./rules.js";
import { say } from "./say.js";
import { clockAt } from "./screens.js";

// The rest before a step of a unit, over or not; nothing where the step before asks for none.
export function restOf(known, unit, operation = unit.next) {
  const route = routeOf(known, unit);
  const before = route[route.findIndex((step) => step.operation === operation) - 1];
  const until = before && unit.rests?.[before.operation];
  return until ? { unit: unit.code, after: before.operation, step: operation, until } : null;
}

const dayOf = (known, moment) => new Date(moment).toLocaleDateString("sv-SE", { timeZone: known.snapshot.zone });

function momentWords(known, moment) {
  const clock = clockAt(moment);
  return dayOf(known, moment) === dayOf(known, known.now()) ? clock : `${dayOf(known, moment)} ${clock}`;
}

// Why a step comes too early; empty where it does not.
export function tooEarly(known, rest) {
  if (!rest || Date.parse(rest.until) <= known.now()) return "";
  return say("%(unit)s rests after %(after)s until %(until)s. Go on with %(step)s then.", { ...rest, until: momentWords(known, rest.until) });
}

export function* askRest(known, task) {
  const rest = task.on && task.operation ? restOf(known, task.on, task.operation) : null;
  if (!tooEarly(known, rest)) return;
  const tells = say("Its route asks for that time between %(after)s and %(step)s.", rest);
  const asks = say("%(unit)s rests until %(until)s", { ...rest, until: momentWords(known, rest.until) });
  yield { name: "rest-stop", asks, word: "Stop", kind: "choice", choices: known.snapshot.choices.rested, tells, again_at: "../" };
}
