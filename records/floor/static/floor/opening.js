// A closed mould is opened at zero: what was not made safe, by what is known here, is asked about before anything else.
import { routeOf } from "./rules.js";
import { say } from "./say.js";

// The first step that makes safe, comes before an operation and does not stand as done well; nothing where none is.
function unsafeBefore(known, unit, operation) {
  const route = routeOf(known, unit);
  const step = route.find((one) => one.operation === operation);
  if (!step?.makes_safe) return null;
  return route.find((one) => one.makes_safe && one.n < step.n && (!unit.done.includes(one.operation) || unit.unsafe?.includes(one.operation))) ?? null;
}

export function* askSafe(known, task) {
  const first = task.on && task.operation ? unsafeBefore(known, task.on, task.operation) : null;
  if (!first) return;
  const told = { unit: task.on.code, step: first.operation };
  const tells = task.on.done.includes(first.operation) ? say("The %(step)s of %(unit)s did not come out. Make it safe before you open it.", told) : say("No %(step)s of %(unit)s is on file. Make it safe before you open it.", told);
  const again_at = `step/?${new URLSearchParams({ unit: task.on.code, operation: first.operation })}`;
  yield { name: "safe-stop", asks: say("Do not open %(unit)s yet", told), word: "Stop", kind: "choice", choices: known.snapshot.choices.safe, tells, again_at };
}
