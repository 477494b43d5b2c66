// What a unit still needs before it goes on, by what is known here: measures that nobody has read, and its last step once
// more where too much time has gone by since.
import { routeOf } from "./rules.js";
import { say, word } from "./say.js";
import { clockAt } from "./screens.js";

// A line for each step up to the next one whose measures are not all on file.
export function unmeasured(known, unit) {
  const route = routeOf(known, unit);
  const reached = route.findIndex((step) => step.operation === unit.next);
  const steps = route.filter((step, n) => reached < 0 || n <= reached);
  const missing = steps.map((step) => [step.operation, (step.measures ?? []).filter((name) => !unit.measured?.includes(name))]);
  return missing.filter(([, names]) => names.length).map(([step, names]) => say("To be measured at %(step)s, and not on file yet: %(name)s. Press “Measure it”.", { step, name: names.map((name) => word(name.replaceAll("-", " "))).join(", ") }));
}

// The last step of a route, where that lapses, and until when it holds; nothing where none does or the route is not done.
export function readyOf(known, unit) {
  const last = routeOf(known, unit).at(-1);
  return unit.ready && last && !unit.next ? { step: last.operation, until: clockAt(unit.ready.until), holds: unit.ready.good && Date.parse(unit.ready.until) >= known.now() } : null;
}

// Why a unit may not go into another one yet; empty where it may, or where its route is not known here.
export function unfinished(known, unit) {
  if (unit.next) return say("%(unit)s has not been through %(step)s. That comes first.", { unit: unit.code, step: unit.next });
  const ready = readyOf(known, unit);
  return ready && !ready.holds ? say("The %(step)s of %(unit)s was good until %(until)s. Do it again before you go on.", { unit: unit.code, ...ready }) : "";
}
