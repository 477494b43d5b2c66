// A closed mould without a link: what it is closed over, that its checks hold, and the pot that goes in.
import { anotherCarrier, anotherTold, newCarrier, newCarrierTold } from "./carrying.js";
import { routeOf } from "./rules.js";
import { say } from "./say.js";
import { readCode } from "./scans.js";
import { clockAt } from "./screens.js";
import { amountOf, askLeft, ending, gate, toldBefore } from "./walk.js";

const codeAt = (told, name) => readCode(told[name] ?? "");

// What a code is that goes into a mould; a lot not known here may still be an insert.
function goesIn(known, code) {
  const tool = known.snapshot.tools.find((one) => one.code === code);
  return known.units.get(code)?.kind ?? known.lots.get(code)?.kind ?? tool?.kind ?? "";
}

const BELONGS = ["preform", "bladder", "insert"];

function* inMould(known, task, told, piece) {
  for (let n = 1; ; n += 1) {
    const name = `in-${n}`;
    const word = say("In it");
    const list = n > 1 ? { ...ending(n - 1, ""), asks: piece.next } : { asks: piece.asks, may_skip: piece.may_skip };
    const before = toldBefore(told, "in", 1, n).filter((code) => ["preform", "bladder"].includes(goesIn(known, code)));
    yield { name, word, hint: piece.hint, kind: "goes", of: BELONGS, before, ...list };
    if (!told[name]) return;
    yield* gate(known, told, name);
    const kind = goesIn(known, codeAt(told, name));
    if (!["preform", "bladder"].includes(kind) && !piece.insert) {
      yield amountOf(known, told, `${name}-amount`, name);
      yield* askLeft(known, told, `${name}-amount`, name);
    }
  }
}

function* closedAgain(known, task, told, piece) {
  yield { name: "tools-1", asks: say("Scan the mould"), word: say("Mould"), kind: "tool", of: ["mould"] };
  const [stood, code] = [task.on?.mould, codeAt(told, "tools-1")];
  if (stood && code && stood !== code) {
    const tells = say("You scanned %(code)s. Which one is in front of you?", { code });
    yield { name: "mould-stop", asks: say("%(unit)s stands in %(mould)s", { unit: task.on.code, mould: stood }), word: "Stop", kind: "choice", choices: piece.choices, tells };
  }
  for (let n = 2; ; n += 1) {
    yield { name: `tools-${n}`, word: say("Bladder"), kind: "tool", of: ["bladder"], before: toldBefore(told, "tools", 2, n), ...ending(n - 1, ""), asks: say("Scan the bladder that is in it now") };
    if (!told[`tools-${n}`]) return;
  }
}

// Why a check of a closing does not hold; empty where it does.
function faultOf(known, unit, step) {
  const check = unit.checks?.[step.operation];
  const told = { step: step.operation, until: check?.until ? clockAt(check.until) : "" };
  if (!check?.until) return say("No %(step)s since this mould was closed. That comes first.", told);
  if (!check.good) return say("The %(step)s of this closing did not come out. Test again before you weigh a pot.", told);
  return Date.parse(check.until) >= known.now() ? "" : say("The %(step)s was good until %(until)s. Test again before you weigh a pot.", told);
}

// Checks that lapse, of a unit whose next step takes a pot, each with why it does not hold.
export function checksOf(known, unit) {
  const route = routeOf(known, unit);
  const next = route.find((step) => step.operation === unit.next);
  if (!next?.takes_pot) return [];
  return route.filter((step) => step.good_for_ms && step.n < next.n).map((step) => ({ step, fault: faultOf(known, unit, step), until: unit.checks?.[step.operation]?.until }));
}

function* checked(known, task, told, piece) {
  const unit = task.on;
  if (!unit) return;
  for (const { step, fault } of checksOf(known, unit)) {
    if (!fault) continue;
    const again_at = `step/?${new URLSearchParams({ unit: unit.code, operation: step.operation })}`;
    yield { name: `check-${step.n}-stop`, asks: say("Do not fill %(unit)s yet", { unit: unit.code }), word: "Stop", kind: "choice", choices: piece.choices, tells: fault, again_at };
  }
}

const scanPot = (n) => ({ name: `pot-${n}`, asks: say("Scan the %(thing)s", { thing: say("pot") }), word: say("Pot"), kind: "lot", of: ["resin-mix"] });

function* potIn(known, task, told, piece) {
  yield { ...scanPot(1), may_skip: say("I can’t scan it") };
  if (!told["pot-1"]) {
    yield { name: "pot-stop", asks: say("Nobody knows which pot it is"), word: "Stop", kind: "choice", choices: piece.no_pot, tells: say("Each pot that is open counts as possible.") };
    return;
  }
  yield* gate(known, told, "pot-1");
  if (told["wrong-own"] === "yes") yield { name: "wrong", asks: say("What is different?"), word: say("Besides"), kind: "choice", choices: piece.wrongs };
  if (told.wrong === "amount") {
    yield amountOf(known, told, "pot-1-amount", "pot-1");
    yield* askLeft(known, told, "pot-1-amount", "pot-1");
  }
  if (told.wrong === "more") {
    yield { ...scanPot(2), before: toldBefore(told, "pot", 1, 2) };
    yield* gate(known, told, "pot-2");
    yield amountOf(known, told, "pot-2-amount", "pot-2");
    yield* askLeft(known, told, "pot-2-amount", "pot-2");
  }
}

export const closed = { carrier: newCarrier, "another-carrier": anotherCarrier, "in-mould": inMould, "closed-again": closedAgain, checked, "pot-in": potIn };

const unitOf = (known, code, part) => known.snapshot.parts.find((one) => one.number === (known.lots.get(code)?.part || part))?.unit;

function mouldTold(known, piece, told) {
  const found = { preforms: [], bladders: [], inserts: [] };
  for (let n = 1; told[`in-${n}`]; n += 1) {
    const code = codeAt(told, `in-${n}`);
    const kind = goesIn(known, code);
    const part = told[`in-${n}-part`] ?? "";
    const amount = `${told[`in-${n}-amount`] || piece.insert} ${unitOf(known, code, part) ?? piece.unit}`;
    if (kind === "preform") found.preforms.push(code);
    else if (kind === "bladder") found.bladders.push(code);
    else found.inserts.push({ lot: code, amount, part });
  }
  return found;
}

function toolsTold(known, piece, told) {
  const tools = [];
  for (let n = 1; told[`tools-${n}`]; n += 1) tools.push(codeAt(told, `tools-${n}`));
  return { tools };
}

function potTold(known, piece, told) {
  const shots = [1, 2].filter((n) => told[`pot-${n}`]).map((n) => {
    const lot = codeAt(told, `pot-${n}`);
    const part = told[`pot-${n}-part`] ?? "";
    const amount = told[`pot-${n}-amount`];
    return { lot, amount: amount ? `${amount} ${unitOf(known, lot, part) ?? "g"}` : "", part };
  });
  return { shots, ...(told.wrong === "stopped" ? { outcome: "interrupted" } : {}) };
}

export const closedTold = { carrier: newCarrierTold, "another-carrier": anotherTold, "in-mould": mouldTold, "closed-again": toolsTold, checked: () => ({}), "pot-in": potTold };
