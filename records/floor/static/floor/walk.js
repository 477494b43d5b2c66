// The walk through a task's questions, as the server walks it: the same pieces, the same names of the answers.
import { unfinished } from "./ahead.js";
import { carrierTold, wrongCarrier } from "./carrying.js";
import { closed } from "./closed.js";
import { metered, wrongTank } from "./metering.js";
import { askNumber, number, trimmed, wrongNumber } from "./numbers.js";
import { askSafe } from "./opening.js";
import { askRest } from "./resting.js";
import { riskWords } from "./risks.js";
import { stopping } from "./rules.js";
import { certain } from "./misreads.js";
import { mix } from "./weighing.js";
import { say, spoken } from "./say.js";
import { opened, readCode, unreadable, wrongWith } from "./scans.js";
import { clockAt } from "./screens.js";
import { waitOf } from "./waits.js";

// Answers that a symbol may give: its code is taken out of it.
const SCANNED = new Set(["unit", "lot", "item", "free", "tool", "gauge", "scale", "tank", "goes", "carrier"]);
const key = ([code, word, small]) => ({ code, word, small });
const unitOf = (known, lot, part) => known.snapshot.parts.find((one) => one.number === (lot?.part || part))?.unit ?? "g";

const overWords = (known, pot) => say("This pot ended %(minutes)s min ago. Do not use it, do not cover it: marked place by the mix bench, it gets hot.", { minutes: Math.ceil((known.now() - Date.parse(pot.ends)) / 60_000) });

// Before the act: what may not go in by what is known here; `held` is in the tank that was named.
export function* gate(known, told, name, held = "", whole = false) {
  const code = readCode(told[name] ?? "");
  const lot = known.lots.get(code);
  const unit = known.units.get(code);
  let tells = "";
  if (held || lot?.held || (unit && stopping(known, unit, "").length)) tells = say("%(code)s is held. Do not use it: put it aside and ask Review.", { code: held || code });
  else if (lot && !["accept", "risk"].includes(lot.state)) tells = say("%(code)s is not accepted. Take another can, or ask Stores.", { code });
  else if (lot?.ends && Date.parse(lot.ends) < known.now()) tells = overWords(known, lot);
  else if (lot?.past) tells = say("%(code)s is past its end. Do not use it: put it aside and tell Stores.", { code });
  else if (whole && unit) tells = unfinished(known, unit);
  if (!tells) return;
  yield { name: `${name}-stop`, asks: say("%(code)s may not go in", { code }), word: "Stop", kind: "choice", choices: known.snapshot.choices.stopped, tells };
}

export function amountOf(known, told, name, lotName, due) {
  const code = readCode(told[lotName] ?? "");
  const lot = known.lots.get(code);
  const question = { name, asks: say("How much of %(code)s?", { code }), word: "Amount", kind: "number", isAmount: true, unit: unitOf(known, lot, told[`${lotName}-part`]) };
  const aimed = due ? say("%(amount)s %(unit)s are due, %(band)s.", { amount: due.aimed, unit: question.unit, band: due.words }) : "";
  return { ...question, hint: `${aimed} ${riskWords(lot)}`.trim(), ...(due ? { band: due } : {}) };
}

// The lot of a kind that ends first, where several may be taken and all are of one part; never a pot.
export function firstToTake(known, of) {
  const fit = [...known.lots.values()].filter((lot) => of.includes(lot.kind) && ["accept", "risk"].includes(lot.state) && !lot.held && !lot.past);
  const plain = fit.length > 1 && !fit[0].ends && fit[0].end < fit[1].end && fit.every((lot) => lot.part === fit[0].part);
  return plain ? say("Take %(code)s first: it ends before the others.", { code: fit[0].code }) : "";
}

export function* lots(known, told, { name, word, of, may_skip, twice }, due) {
  const drawn = [];
  for (let n = 1; ; n += 1) {
    const lot = `${name}-${n}-lot`;
    const asks = say("Scan the %(thing)s", { thing: word });
    yield { name: lot, asks, word: word[0].toUpperCase() + word.slice(1), kind: "lot", of, may_skip: n === 1 ? may_skip : "", hint: firstToTake(known, of) };
    if (!told[lot]) return;
    yield* gate(known, told, lot);
    const amount = `${name}-${n}-amount`;
    yield { ...amountOf(known, told, amount, lot, n === 1 ? due : null), another: say("Another %(thing)s", { thing: word }) };
    yield* askLeft(known, told, amount, lot, drawn);
    drawn.push([amount, lot]);
    if (twice && told[amount]) yield readAgain(known, told, amount, lot, n === 1 ? due : null);
    if (told[`${amount}-more`] !== "yes") return;
  }
}

// Before more is taken of a lot than it holds by what is known here: whether it is so. What was drawn of it before for the
// same thing counts too, and it is asked once: at the draw with which the sum passes what is on file.
export function* askLeft(known, told, name, lotName, before = []) {
  const code = readCode(told[lotName] ?? "");
  const { left, risk } = known.lots.get(code) ?? {};
  const drawn = before.filter(([, lot]) => readCode(told[lot] ?? "") === code).map(([amount]) => amount);
  if (risk?.free !== undefined && !drawn.some((amount) => told[`${amount}-stop`])) yield* moreThanAllowed(known, told, name, code, drawn);
  if (!drawn.some((amount) => told[`${amount}-over`])) yield* moreThan(known, told, name, left, drawn);
}

// Before more is taken than a release at risk allows: it is said while the amount can still be another one.
function* moreThanAllowed(known, told, name, code, drawn) {
  const lot = known.lots.get(code);
  const tells = toldTooMuch(told, name, `${lot.risk.free} ${unitOf(known, lot)}`, drawn);
  const choices = [known.snapshot.choices.over[0], known.snapshot.choices.stopped[1]];
  if (tells) yield { name: `${name}-stop`, asks: say("%(code)s may not go in", { code }), word: "Stop", kind: "choice", choices, tells: `${riskWords(lot)} ${tells}` };
}

// What was told where it is more than there is; nothing where it is not.
function toldTooMuch(told, name, left, drawn) {
  const amounts = [...drawn, name].map((one) => number(told[one] ?? ""));
  const [taken, held] = [amounts.reduce((sum, one) => sum + one, 0), number((left ?? "").split(" ")[0])];
  if (amounts.includes(null) || held === null || taken <= held + 1e-9) return "";
  const amount = `${drawn.length ? trimmed(taken) : told[name]} ${left.split(" ")[1]}`;
  return drawn.length ? say("You told %(amount)s of it in all. Look at the scale and at the code once more.", { amount }) : say("You told %(amount)s. Look at the scale and at the code once more.", { amount });
}

// The question whether so much was taken where so little is on file; `drawn` names what was taken before.
export function* moreThan(known, told, name, left, drawn = []) {
  const tells = toldTooMuch(told, name, left, drawn);
  if (!tells) return;
  yield { name: `${name}-over`, asks: say("There are only %(left)s left on file", { left }), word: "Stop", kind: "choice", choices: known.snapshot.choices.over, tells };
}

// The same number once more; one that differs is told with both.
export function readAgain(known, told, amount, lot, band) {
  const { unit } = amountOf(known, told, amount, lot, null);
  return { name: `${amount}-again`, asks: say("Read the scale once more"), word: say("Read again"), kind: "number", unit, expects: told[amount], may_skip: say("Another person read it too"), ...(band ? { band } : {}) };
}

// What ends a list once something is in it: one press. Scanning the next one is the other answer.
export function ending(count, word) {
  const told = { thing: word, count };
  if (!count) return { asks: say("Scan the %(thing)s", told) };
  return { asks: say("Scan the next %(thing)s", told), may_skip: say("No more"), ends: say("That is all: %(count)s scanned", told) };
}

// Codes that answered a list so far: none of them is taken again.
export const toldBefore = (told, name, from, n) => Array.from({ length: n - from }, (_, index) => readCode(told[`${name}-${from + index}`]));

function* units(known, told, { name, word, of, gate: goesIn }) {
  for (let n = 1; ; n += 1) {
    const at = `${name}-${n}`;
    yield { name: at, word: `${word[0].toUpperCase()}${word.slice(1)} ${n}`, kind: "unit", of, before: toldBefore(told, name, 1, n), ...ending(n - 1, word) };
    if (!told[at]) return;
    if (goesIn) yield* gate(known, told, at);
  }
}

function* bladders(known, told) {
  for (let n = 1; ; n += 1) {
    yield { name: `bladder-${n}`, word: `Bladder ${n}`, kind: "tool", of: ["bladder"], before: toldBefore(told, "bladder", 1, n), may_skip: say("None is in it"), ...ending(n - 1, "bladder") };
    if (!told[`bladder-${n}`]) return;
  }
}

// Who is on the list of an operation today, by the calendar of the works.
function isListed({ person, snapshot, now }, operation) {
  const today = new Date(now()).toLocaleDateString("sv-SE", { timeZone: snapshot.zone });
  return (person.qualified ?? []).some((one) => one.what === operation && one.from <= today && (!one.until || one.until >= today));
}

function* asks(known, task, told) {
  if (task.needs_list && !isListed(known, task.operation)) {
    const tells = say("Ask your lead: somebody on the list does it, or you are put on it.");
    yield { name: "list-stop", asks: say("You are not on the list for %(operation)s.", task), word: "Stop", kind: "choice", choices: known.snapshot.choices.listed, tells };
  }
  yield* askSafe(known, task);
  yield* askRest(known, task);
  for (const piece of task.pieces) {
    if (closed[piece.piece]) yield* closed[piece.piece](known, task, told, piece);
    else if (piece.left && told[piece.name] === undefined && told[`${piece.name}-own`] !== "yes") continue;
    else if (piece.piece === "one") {
      yield piece;
      if (piece.gate) yield* gate(known, told, piece.name, "", piece.whole);
    } else if (piece.piece === "lots") yield* lots(known, told, piece);
    else if (piece.piece === "units") yield* units(known, told, piece);
    else if (piece.piece === "bladders") yield* bladders(known, told);
    else if (piece.piece === "numbers") for (const question of piece.questions) yield* askNumber(told, question, waitOf(known, task.on));
    else if (piece.piece === "mix") yield* mix(known, told, piece);
    else if (piece.piece === "metered") yield* metered(known, told, piece);
    else if (piece.piece === "sheet") {
      for (const line of piece.lines) {
        yield line.gauge;
        for (const question of line.questions) {
          yield* askNumber(told, question, waitOf(known, task.on));
          if (told[question.name] === "") break; // what can't be read once is not read at all
        }
      }
    }
  }
}

// What is wrong with an answer; empty where it can be taken.
function problemWith(known, question, told) {
  const value = (told[question.name] ?? "").trim();
  if (!value) return question.may_skip ? "" : first(question);
  if (question.choices?.length) return question.choices.some(([code]) => code === value) ? "" : say("Choose one of these.");
  if (question.expects && number(value) !== null && number(value) !== number(question.expects)) return say("First %(first)s %(unit)s, now %(now)s %(unit)s. Read it once more, or go back one step.", { first: question.expects, now: value, unit: question.unit });
  if (question.kind === "number") return wrongNumber(value, question);
  if (isTyped(question)) return scannedFor(question, value);
  const unread = SCANNED.has(question.kind) ? unreadable(value) : null;
  if (!unread && question.before?.includes(readCode(value))) return say("%(code)s is in the list already. Scan the other one.", { code: readCode(value) });
  if (!unread && question.kind === "carrier") return wrongCarrier(known, question, value);
  return unread ? unread.words : wrongThing(known, question, value, told[`${question.name}-part`]);
}

// A scan that comes where words are typed answers nothing: a spool would be logged as the programme.
function scannedFor(question, value) {
  const code = opened(value);
  if (code === value && !certain(value)) return "";
  return say("That is the code %(code)s. Asked for here: %(asks)s. If one more thing goes in, go back one step.", { code: certain(value) || code, asks: question.asks });
}

function first(question) {
  if (question.kind === "number") return say("Write the number first.");
  return SCANNED.has(question.kind) ? say("Scan it first, or type its code.") : say("Write it first.");
}

// Which kind it is, which is due, and how the codes of that begin where the house numbers them.
function otherKind(known, found, code, of) {
  const told = { kind: found.kind, code, due: of.join(" or ") };
  const own = known.snapshot.parts.find((part) => part.number === found.part)?.prefix ?? "";
  const numbered = known.snapshot.parts.filter((part) => of.includes(part.kind) && part.prefix).map((part) => part.prefix);
  const prefix = [...new Set(numbered)].sort().join(", ");
  if (!numbered.length || numbered.includes(own)) return say("That is %(kind)s %(code)s. Due here: %(due)s. Scan another code.", told);
  return say("That is %(kind)s %(code)s. Due here: %(due)s. Look for a code that starts with %(prefix)s.", { ...told, prefix });
}

// A supplier's number is no code of a lot: which ones came under it is said, and none is taken for it.
function theirs(known, code) {
  const lots = [...known.lots.values()].filter((lot) => lot.theirs?.toUpperCase() === code).map((lot) => lot.code);
  if (lots.length > 3) lots.splice(3, lots.length, "…");
  return lots.length ? say("%(code)s is the supplier’s number of %(lots)s. Scan the label that the house put on it.", { code, lots: lots.join(", ") }) : null;
}

function wrongThing(known, question, typed, statedPart) {
  const [{ snapshot }, { kind, of }] = [known, question];
  const code = readCode(typed);
  const ofTank = question.tank && wrongTank(known, code, question);
  if (typeof ofTank === "string") return ofTank;
  const wrong = wrongWith(typed);
  const misread = wrong?.words;
  const unknown = misread ?? theirs(known, code) ?? say("This tablet knows no %(code)s since %(since)s. Look again, or type it.", { code, since: clockAt(known.as_of) });
  const tool = snapshot.tools.find((one) => one.code === code);
  if (kind === "goes" && tool) return of.includes(tool.kind) ? "" : say("That is the %(kind)s %(code)s. It does not go in.", { kind: tool.kind, code });
  if (["goes", "unit", "lot"].includes(kind)) {
    const found = known.units.get(code) ?? known.lots.get(code);
    const other = tool ?? snapshot.gauges.find((one) => one.code === code);
    if (!found && other && of?.length) return say("That is the %(kind)s %(code)s. Due here: %(due)s. Scan another code.", { kind: other.kind || "gauge", code, due: of.join(" or ") });
    if (!found) return statedPart && (!wrong || wrong.how === "run-together") ? "" : unknown;
    const due = of?.filter((one) => one !== "bladder");
    return !due?.length || due.includes(found.kind) ? "" : otherKind(known, found, code, due);
  }
  const lists = { tool: snapshot.tools, gauge: snapshot.gauges, scale: snapshot.gauges };
  if (lists[kind]) {
    const found = lists[kind].find((one) => one.code === code);
    const item = found ?? known.units.get(code) ?? known.lots.get(code);
    if (!item) return unknown;
    if (!found) return say("That is %(kind)s %(code)s. Due here: %(due)s. Scan another code.", { kind: item.kind, code, due: of?.join(" or ") || kind });
    if (kind === "tool" && !of.includes(found.kind)) return say("That is the %(kind)s %(code)s. Due here: %(due)s. Scan another code.", { kind: found.kind, code, due: of.join(" or ") });
    return kind === "scale" && found.kind && !found.kind.includes("scale") ? say("That is the %(kind)s %(code)s. Scan a scale.", { kind: found.kind, code }) : "";
  }
  if (kind === "tank") return snapshot.tanks.some((one) => one.code === code) ? "" : unknown;
  const isTaken = known.units.has(code) || known.lots.has(code);
  if (kind === "free" && !isTaken) return misread ?? "";
  return kind === "free" ? say("%(code)s is taken: no number is used twice. Take another one.", { code }) : "";
}

// Questions answered so far, the next one, and what is wrong with its answer.
export function walk(known, task, told) {
  const answered = [];
  for (const question of asks(known, task, told)) {
    const again = told[question.name] === "again" && question.choices?.some(([code]) => code === "again");
    if (told[question.name] === undefined || again) return { answered, question, problem: "", again };
    if (question.unit) told[question.name] = told[question.name].trim().replace(new RegExp(`\\s*${question.unit}$`), "");
    if (SCANNED.has(question.kind)) told[question.name] = question.kind === "carrier" ? carrierTold(told[question.name]) : opened(told[question.name]);
    const problem = problemWith(known, question, told);
    if (problem) return { answered, question, problem };
    answered.push(question);
    if (question.wait_min && told[question.name] === "wait") break; // nothing more is done now
  }
  return { answered, question: null, problem: "" };
}

const isTyped = (question) => question.kind === "number" || (question.kind === "text" && !question.choices?.length);

// Whether the press that answers a question may log: nothing is asked after the answer that most give.
export function isLast(known, task, told, question) {
  if (question.logs) return true;
  if (!isTyped(question) && !question.ends) return false;
  const { aimed, low, high } = question.band ?? {};
  const likely = question.ends ? "" : question.expects || aimed || low || high || "1";
  return !walk(known, task, { ...told, [question.name]: likely }).question;
}

export function shown(question, value) {
  if (!value) return question.may_skip || say("left out");
  const choice = question.choices?.map(key).find((one) => one.code === value);
  return choice ? choice.word : spoken(`${value} ${question.unit ?? ""}`.trim());
}
