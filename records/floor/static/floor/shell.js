// Pages of the floor drawn from this tablet where there is no link: the same addresses, questions and names of answers.
import { readyOf, unfinished, unmeasured } from "./ahead.js";
import { checksOf } from "./closed.js";
import { drawHandOver, handOverKey } from "./handing.js";
import { heldScreen, laterHold, lotStands, safeSteps, standsOf } from "./held.js";
import { carrierDue } from "./carrying.js";
import { carrierWord, copyWords, keepOld, tellOld, unitOnce } from "./copies.js";
import { drawKept } from "./kept.js";
import { listsAt, noUnit } from "./lists.js";
import { drawMany } from "./many.js";
import { besideWords, readyMoulds } from "./metering.js";
import { drawTold, toldKey } from "./told.js";
import { entryMade, waitMade } from "./payload.js";
import { restOf, tooEarly } from "./resting.js";
import { riskWords } from "./risks.js";
import { maySay, routeOf, rules, stopping, unitAt } from "./rules.js";
import { sheetHere, sheetWords } from "./paper.js";
import { allPots, drawPot, nearestPots, potsOf } from "./pots.js";
import { say, word } from "./say.js";
import { readCode, wrongWith } from "./scans.js";
import { asOf, care, clockAt, draw, gaugeOf, hidden, link, listTold, note, pad, shapeOf, tellBack, telling, when } from "./screens.js";
import { isLast, shown, walk } from "./walk.js";
import { changeTo } from "./who.js";

const main = document.querySelector("main");
const SHOWN = 4;
const BY_LIST = new Set(["move", "out", "back"]); // scanned as a list
const at = (station) => `/floor/at/${encodeURIComponent(station)}/`;
const capital = (word) => word[0].toUpperCase() + word.slice(1);
let known = null;

export async function drawShell() {
  known = await rules();
  const [, , place, station, , name] = location.pathname.split("/").map(decodeURIComponent);
  const what = location.pathname.split("/").map(decodeURIComponent)[4];
  if (known) drawWho();
  if (place === "kept") return drawKept(main);
  if (!known) return main.replaceChildren(telling("h1", say("This tablet has not been here with a link yet")), note("watch", say("Open the floor once where there is a link and sign in: then it takes the rules along.")), note("watch", await sheetWords()));
  if (what !== "many") tellBack(known);
  if (place === "hand-over" && !station) return drawHandOver(main, known);
  if (place === "calls") return drawTold(main, known, station, what);
  if (place !== "at") return drawStations();
  const found = known.snapshot.stations.find((one) => one.code === station);
  if (!found) return drawStations();
  const head = document.querySelector("[data-station]");
  head.textContent = word(found.name) || found.code;
  head.href = at(station);
  const typed = new URLSearchParams(location.search).get("code");
  if (what === "unit" || what === "log") {
    await (what === "unit" ? drawUnit(found, readCode(name)) : drawTask(found, name));
    return tellOld();
  }
  if (what === "many") return drawMany(main, known, found, name);
  if (new URLSearchParams(location.search).has("pots")) return main.replaceChildren(...allPots(known, found));
  return typed ? scanned(found, typed) : drawStation(found, "", "");
}

function title(words) {
  document.title = `${words}, ${say("Floor")}, Framethread`;
}

function drawWho() {
  const who = document.querySelector("[data-who]");
  who.querySelector("b").textContent = known.person.initials;
  who.querySelector("span").textContent = known.person.name;
}

function drawStations() {
  title(say("Stations"));
  const keys = known.snapshot.stations.map((one) => draw("li", {}, draw("a", { class: "key", href: at(one.code) },
    draw("span", {}, word(one.name) || one.code, draw("small", {}, `${word(one.kind) || say("any work")} · `, draw("span", { class: "nb" }, one.code))))));
  main.replaceChildren(telling("h1", say("Where are you?")), asOf(known), draw("ul", { class: "keys keys--low keys--stations" }, keys), draw("div", { class: "low low--many" }, handOverKey(known), toldKey(known)));
}

function scanned(station, typed) {
  const code = readCode(typed);
  const person = known.snapshot.people.find((one) => one.badge.toUpperCase() === code);
  if (person) return changeTo(person.badge).then(() => location.replace(at(station.code)));
  const unit = unitAt(known, code) ?? unitOnce(known, code);
  if (unit) {
    keepOld(copyWords(known, typed));
    return location.replace(wayTo(unit, station));
  }
  const other = noUnit(known, code);
  if (other) return drawStation(station, typed, other);
  const lot = known.lots.get(code);
  if (lot?.held && known.snapshot.lots_held[code]) return drawLotHeld(station, lot);
  return drawStation(station, typed, lot ? `${say("That is %(kind)s %(code)s. A step needs a unit.", { kind: lot.kind, code })} ${riskWords(lot)}`.trim() : wrongWith(typed)?.words ?? say("This tablet knows no %(code)s since %(since)s. Look again, or type it.", { code, since: clockAt(known.as_of) }), code);
}

// Where a scan leads: a mould that waits for its pot goes to the pot at once, all else to its own screen.
function wayTo(unit, station) {
  const step = stepOf(unit);
  const fits = step?.takes_pot && ["", station.kind].includes(step.station_kind) && maySay(known, "step done");
  const straight = fits && !stopping(known, unit, unit.next).length && checksOf(known, unit).every((check) => !check.fault);
  if (straight) return `${at(station.code)}log/step/?${new URLSearchParams({ unit: unit.code, operation: unit.next })}`;
  return `${at(station.code)}unit/${encodeURIComponent(unit.code)}/`;
}

function drawLotHeld(station, lot) {
  title(say("%(code)s is held", { code: lot.code }));
  const keys = [draw("li", {}, link(at(station.code), say("Scan something else")))];
  main.replaceChildren(heldScreen(lot, known.snapshot.lots_held[lot.code], lotStands(lot), keys, { hasSafe: false, decides: known.snapshot.decides }));
}

function stepOf(unit) {
  return routeOf(known, unit).find((step) => step.operation === unit.next);
}

function isHere(unit, station) {
  const step = stepOf(unit);
  return step && (step.station_kind ? step.station_kind === station.kind : unit.station === station.code);
}

// One key for each mix that is weighed, and for each that a machine meters where it stands.
function potKeys(name, { mixes, offers }, station) {
  const names = offers && station.kind !== "mixing" ? [] : Object.keys(mixes);
  return names.map((mix) => [`${name}/?mix=${encodeURIComponent(mix)}`, offers?.[mix] ?? say("Mix %(mix)s", { mix })]);
}

async function drawStation(station, typed, problem, code = "") {
  title(word(station.name) || station.code);
  const waiting = [...known.units.values()].filter((unit) => isHere(unit, station));
  const field = draw("input", { id: "code", name: "code", value: typed, autocomplete: "off", autocapitalize: "characters", spellcheck: "false", "aria-invalid": problem ? "true" : "" });
  const scan = draw("form", { class: "scan" }, draw("label", { class: "vh", for: "code" }, say("Code of the unit")), field, draw("button", { class: "key" }, say("Take it")));
  const rows = waiting.slice(0, SHOWN).map((unit) => draw("li", {}, draw("a", { class: "row", href: `${at(station.code)}unit/${encodeURIComponent(unit.code)}/` },
    draw("b", { class: "code" }, unit.code), draw("span", {}, `${word(unit.name)}, ${word(unit.next)}`, draw("small", {}, stopping(known, unit, unit.next).length ? [draw("b", {}, say("held")), " · "] : "", say("waits since %(since)s", { since: when(unit.since) }))))));
  const makes = Object.entries(known.snapshot.makes).filter(([, make]) => ["", station.kind].includes(make.station_kind) && maySay(known, make.act));
  const making = makes.map(([number, make]) => draw("li", {}, draw("a", { class: "key", href: `${at(station.code)}log/make/?part=${encodeURIComponent(number)}` },
    draw("span", {}, word(make.name), draw("small", {}, `${word(make.part_kind)} `, draw("span", { class: "nb" }, number))))));
  const others = Object.entries(known.snapshot.tasks).filter(([name, task]) => !BY_LIST.has(name) && maySay(known, task.act) && !task.pieces.some((piece) => piece.piece === "with-link"));
  const offered = others.flatMap(([name, task]) => (task.pieces[0].mixes ? potKeys(name, task.pieces[0], station) : [[`${name}/`, word(task.word)]]));
  const keys = offered.map(([address, words]) => draw("li", {}, link(`${at(station.code)}log/${address}`, words)));
  const lists = listsAt(known, waiting, (act) => maySay(known, act)).map(([address, words]) => draw("li", {}, link(`${at(station.code)}many/${address}`, words)));
  const some = waiting.length === 1 ? say("1 waits here") : say("%(count)s wait here", { count: waiting.length });
  const count = waiting.length ? some : say("Nothing waits here");
  const hold = problem && code && maySay(known, "hold placed") ? link(`${at(station.code)}log/hold/?unit=${encodeURIComponent(code)}`, say("Hold %(code)s", { code })) : null;
  const left = draw("section", {}, telling("h1", say("Scan a unit")), scan, problem ? note("bad", problem, "alert") : null, hold, asOf(known, await sheetHere()), telling("h2", count), draw("ul", { class: "rows" }, rows));
  left.querySelector("h2").before(...nearestPots(known, station));
  const right = draw("section", {}, making.length ? [telling("h2", say("Make one here")), draw("ul", { class: "keys keys--low" }, making)] : [],
    lists.length ? [telling("h2", say("Several at once")), draw("ul", { class: "keys keys--low" }, lists)] : [],
    keys.length ? [telling("h2", say("Something else")), draw("ul", { class: "keys keys--low" }, keys)] : note("watch", say("You can read here, not log.")));
  main.replaceChildren(draw("div", { class: "halves" }, left, right));
  field.focus();
}

function drawUnit(station, code) {
  const unit = unitAt(known, code);
  if (!unit) return scanned(station, code);
  const step = stepOf(unit);
  const holds = step ? stopping(known, unit, unit.next) : unit.holds;
  const log = (name, more = "") => `${at(station.code)}log/${name}/?unit=${encodeURIComponent(unit.code)}${more}`;
  const operation = (one) => log("step", `&operation=${encodeURIComponent(one.operation)}`);
  const keys = [];
  if (known.snapshot.sheets[unit.part] && maySay(known, "measured")) keys.push(link(log("measure"), say("Measure it")));
  if (!holds.length && maySay(known, "hold placed")) keys.push(link(log("hold"), say("Hold it")));
  const onIt = maySay(known, "carrier put on") ? carrierDue(known, unit) : null;
  const named = { carrier: carrierWord(onIt?.kind) };
  if (onIt) keys.push(link(log("carrier", `&put=${onIt.kind}${onIt.isOn ? "" : "&reason=first"}`), onIt.isOn ? say("Replace its %(carrier)s", named) : say("Put its %(carrier)s on", named)));
  keys.push(link(at(station.code), say("Another unit")));
  const list = draw("ul", { class: "keys keys--unit" }, keys.map((key) => draw("li", {}, key)));
  if (holds.length) {
    title(say("%(code)s is held", { code: unit.code }));
    const safe = safeSteps(known, unit);
    list.prepend(...safe.map((one, n) => draw("li", {}, n ? draw("span", { class: "key key--later" }, capital(word(one.operation))) : link(operation(one), capital(word(one.operation)), "key solid"))));
    return main.replaceChildren(heldScreen(unit, holds, standsOf(known, unit), [...list.children], { hasSafe: safe.length > 0, decides: known.snapshot.decides }));
  }
  title(unit.code);
  const wait = unit.wait && Date.parse(unit.wait.until) > known.now() ? unit.wait : null;
  if (wait && !wait.operation) list.querySelector('a[href*="/log/measure/"]')?.closest("li").remove();
  const [pot] = step?.takes_pot ? potsOf(known) : [];
  const next = step ? [draw("h2", { class: "big" }, say("Next: %(step)s", { step: unit.next }))] : [draw("h2", { class: "big" }, say("Its route is done. Nothing waits on it here."))];
  if (wait) next.unshift(note("watch", say("Measure %(name)s again at %(until)s. It read %(value)s %(unit)s, outside its band.", { ...wait, until: clockAt(wait.until) })));
  const early = step && tooEarly(known, restOf(known, unit));
  if (early) next.push(note("watch", early));
  next.push(...unmeasured(known, unit).map((words) => note("watch", words)));
  const checks = checksOf(known, unit);
  const [untested] = checks.filter((check) => check.fault);
  const holding = checks.filter((check) => !check.fault).map(({ step: one, until }) => draw("li", {}, shapeOf("done"), say("%(step)s good until %(until)s", { step: capital(word(one.operation)), until: clockAt(until) })));
  next.push(...checks.filter((check) => check.fault).map((check) => note("bad", check.fault, "alert")));
  if (holding.length && !untested) next.push(draw("ul", { class: "checked" }, holding));
  const ready = readyOf(known, unit);
  if (ready) next.push(ready.holds ? draw("ul", { class: "checked" }, draw("li", {}, shapeOf("done"), say("%(step)s good until %(until)s", { ...ready, step: capital(word(ready.step)) }))) : note("bad", unfinished(known, unit), "alert"));
  const again = ready && !ready.holds ? routeOf(known, unit).at(-1) : untested?.step;
  const due = again ?? step;
  const words = again ? say("%(step)s again: log it", { step: capital(word(due.operation)) }) : step && say("%(step)s: log it", { step: capital(word(unit.next)) });
  if (due && maySay(known, "step done") && wait?.operation !== due.operation) next.push(draw("a", { class: "log", href: operation(due) }, shapeOf("working"), telling("span", words)));
  if (checks.length && maySay(known, "step done")) {
    const [closes] = routeOf(known, unit);
    const opened = draw("span", {}, say("The mould was opened"), draw("small", {}, say("It is closed again; its tests count no more.")));
    list.prepend(draw("li", {}, draw("a", { class: "key", href: operation(closes) }, opened)));
  }
  const later = unit.holds.filter((hold) => !holds.includes(hold)).map(laterHold);
  const top = pot ? [draw("div", { class: "halves halves--pot" }, draw("div", {}, next.splice(0, next.length - 1)), drawPot(known, pot, true)), ...next] : next;
  const wrong = maySay(known, "link corrected") ? draw("p", { class: "hint put-right" }, say("Something wrong was logged? After ten seconds it is put right at a desk, on the page of the unit: by you with badge and password, or by your lead.")) : "";
  return main.replaceChildren(...headOf(unit), asOf(known), ...later, ...top, list, wrong);
}

function headOf(unit, task = null) {
  if (!unit) return [draw("div", { class: "uline" }, draw("p", { class: "task" }, capital(word(task.word))))];
  const steps = routeOf(known, unit).length;
  const line = draw("div", { class: "uline" }, draw("div", {}, draw(task ? "p" : "h1", { class: "code" }, unit.code), draw("p", { class: "what" }, word(unit.name))));
  const told = { n: unit.done.length, all: steps, task: task?.word };
  const done = draw("p", { class: "step" }, task ? say("%(n)s of %(all)s steps done, now %(task)s", told) : say("%(n)s of %(all)s steps done", told));
  return [line, steps ? done : ""];
}

// The task of an address with its fields, or why it can't be logged here.
function taskNamed(name, told) {
  const { snapshot } = known;
  const unit = unitAt(known, readCode(told.unit ?? ""));
  if (name === "step") {
    const step = unit && routeOf(known, unit).find((one) => one.operation === told.operation);
    return step && { ...step, fixed: { ...step.fixed, unit: unit.code }, on: unit };
  }
  if (name === "make") return snapshot.makes[told.part];
  if (name === "hold") return told.unit && { ...snapshot.hold, fixed: { item: readCode(told.unit) }, on: unit };
  if (name === "carrier") return unit && { ...snapshot.carrier, fixed: { unit: unit.code }, on: unit };
  if (name === "measure") {
    const sheet = unit && snapshot.sheets[unit.part];
    return sheet && { ...sheet, fixed: { unit: unit.code }, on: unit };
  }
  return snapshot.tasks[name];
}

async function drawTask(station, name) {
  const told = Object.fromEntries(new URLSearchParams(location.search));
  const task = taskNamed(name, told);
  const back = link(at(station.code), say("Back to the station"));
  if (!task || task.pieces.some((piece) => piece.piece === "with-link")) return main.replaceChildren(telling("h1", say("This needs a link")), note("watch", say("This tablet does not know enough of it since %(since)s. Hold the thing where in doubt, or write it down.", { since: clockAt(known.as_of) })), note("watch", await sheetWords()), back);
  if (!maySay(known, task.act)) return main.replaceChildren(telling("h1", say("Not with this badge")), note("bad", say("Your role may not do this: %(act)s. Ask your lead.", { act: task.act })), back);
  told.key ||= crypto.randomUUID();
  const found = walk(known, task, told);
  const screen = { station, name, task, told, ...found };
  if (found.again && found.question.again_at) return location.replace(`${at(station.code)}log/${found.question.again_at}`);
  if (found.again) return location.replace(addressOf(screen, found.answered.slice(0, -(found.question.drops ?? 1) || undefined)));
  title(found.question ? word(found.question.asks) : capital(word(task.word)));
  return found.question ? drawQuestion(screen) : drawConfirm(screen);
}

function carried({ told }, answered) {
  const names = ["unit", "operation", "part", ...answered.flatMap((one) => [one.name, `${one.name}-part`, `${one.name}-more`]), ...Object.keys(told).filter((one) => one.endsWith("-own")), "key"];
  return [...new Set(names)].filter((name) => told[name] !== undefined).map((name) => [name, told[name]]);
}

function addressOf(screen, answered) {
  const own = screen.name === "make" || screen.name === "pot" ? carried(screen, answered).filter(([name]) => name !== "unit" || answered.some((one) => one.name === "unit")) : carried(screen, answered);
  return `${at(screen.station.code)}log/${screen.name}/?${new URLSearchParams(own)}`;
}

function lower(screen) {
  const { answered, station } = screen;
  const back = answered.length ? addressOf(screen, answered.slice(0, -1)) : at(station.code);
  return [link(back, say("Back one step")), link(at(station.code), say("Leave it"))];
}

function besideOf({ task, told: answers }) {
  const words = besideWords(task, answers);
  return words.length ? [draw("p", { class: "note watch beside" }, telling("span", words.join(" ")))] : [];
}

// The clock of the pot that was scanned; of the one that ends first where none was yet.
function potOf({ task, told: answers }, small) {
  if (!task.pieces.some((piece) => piece.piece === "pot-in")) return "";
  const scanned = answers["pot-1"] ? known.lots.get(readCode(answers["pot-1"])) : potsOf(known)[0];
  return scanned?.ends ? drawPot(known, scanned, small) : "";
}

// What this question rests on is asked after all.
function insteadKey(screen) {
  const [name, words] = screen.question.instead ?? [];
  return name ? link(`${addressOf(screen, screen.answered)}&${name}=yes`, words) : "";
}

// What is not asked as a rule, behind a key.
function ownKey(screen) {
  const key = screen.task.pieces.some((piece) => piece.piece === "pot-in") && screen.told["pot-1"] && !screen.told["wrong-own"];
  if (key) return link(`${addressOf(screen, screen.answered)}&wrong-own=yes`, say("Something is wrong"));
  const left = screen.task.pieces.find((piece) => piece.left && piece.own && screen.told[piece.name] === undefined && screen.told[`${piece.name}-own`] !== "yes");
  return left ? link(`${addressOf(screen, screen.answered)}&${left.name}-own=yes`, left.own) : "";
}

function told(screen, look) {
  const rows = screen.answered.filter((one) => !["Stop", "Slip"].includes(one.word) && !(one.ends && !screen.told[one.name]));
  return listTold(rows.map((one) => [one.word, shown(one, screen.told[one.name])]), look);
}

function drawQuestion(screen) {
  const { question, problem, task, answered } = screen;
  const carry = () => hidden(carried(screen, answered));
  const said = problem ? note("bad", problem, "alert") : null;
  const skip = question.may_skip && !question.ends ? draw("form", { class: "skipone" }, carry(), draw("button", { class: "key", name: question.name, value: "" }, question.may_skip)) : null;
  skip?.querySelector("button").setAttribute("value", "");
  const low = draw("div", { class: "low" }, lower(screen), insteadKey(screen) || (isLast(known, task, screen.told, question) ? ownKey(screen) : ""), skip);
  const left = draw("section", { class: "ask-side" }, headOf(task.on, task));
  const side = draw("section", { class: "side" }, potOf(screen, question.kind === "number" || Boolean(question.choices?.length)));
  const work = draw("div", { class: `work${["Outside", "Stop", "Slip"].includes(question.word) ? " work--bad" : ""}` }, left, side);
  if (question.choices?.length) {
    left.append(telling("h1", question.asks), question.tells ? draw("p", { class: "hint" }, question.tells) : "");
    const keys = question.choices.map(([code, words, small, sets]) => draw("button", { class: `key${code === "again" ? " solid" : ["keep", "done"].includes(code) ? " key--hold" : ""}`, name: sets || question.name, value: code },
      draw("span", {}, words, small ? draw("small", {}, small) : "")));
    side.append(draw("form", { class: "choose" }, carry(), said, keys));
  } else {
    screen.form = askOne(screen, carry(), said);
    left.append(screen.form);
    if (question.kind === "number") side.append(pad([question.band?.low, question.band?.high].some((limit) => limit?.startsWith("-"))));
    work.append(press(screen, carry()));
  }
  const [isNumber, beside] = [question.kind === "number", besideOf(screen)];
  const isPlain = !isNumber && !question.choices?.length;
  if (isPlain) side.append(readyMoulds(known, task), ...beside.splice(0)); // a pad and keys leave no room there
  const isFolded = !isPlain || side.children.length > 0;
  const caution = care(task.caution, known.snapshot.everywhere, isFolded) ?? "";
  if (!isNumber) side.append(caution);
  left.append(...beside, told(screen, "got") ?? "", isNumber ? caution : "", low);
  main.replaceChildren(work);
  document.querySelector("#answer")?.focus();
  if (problem) document.querySelector("#answer")?.select(); // what is typed next stands in its place
}

// The bar across the foot: it takes the answer, ends a list, or logs.
function press(screen, carry) {
  const { question, task, told: answers } = screen;
  const last = isLast(known, task, answers, question);
  const words = last ? task.press : question.ends || say("Take it");
  const says = draw("span", { "data-says-answer": "yes", "data-verb": !last ? "" : task.bar ? "keep" : "Log" }, words);
  if (question.ends) {
    const bar = draw("form", { class: "logrow" }, carry, draw("button", { class: "log", name: question.name }, shapeOf("released"), telling("span", words), last ? draw("small", {}, question.ends) : ""));
    bar.querySelector("button").setAttribute("value", "");
    return last ? logging(bar, screen, { ...answers, [question.name]: "" }) : bar;
  }
  if (last) {
    const { form } = screen;
    form.dataset.last = "yes";
    form.dataset.next = at(screen.station.code);
    form.entryOf = (told) => {
      const all = { ...answers, ...told };
      return walk(known, task, all).question ? null : entryOf(screen, all);
    };
  }
  const another = question.another ? draw("button", { class: "key", form: "ask", name: `${question.name}-more`, value: "yes" }, question.another) : "";
  return draw("div", { class: "logrow" }, draw("button", { class: "log", form: "ask" }, shapeOf("released"), says), another);
}

function entryOf({ task, station, answered }, answers) {
  const entry = entryMade(known, task, answers, station.code);
  const waits = waitMade(task, answered, answers);
  if (waits) Object.assign(entry, { kind: "wait", payload: waits, holds: false });
  delete entry.told_done;
  return entry;
}

function logging(form, screen, answers) {
  form.dataset.entry = JSON.stringify(entryOf(screen, answers));
  form.dataset.next = at(screen.station.code);
  return form;
}

function askOne({ question, problem, told: answers }, carry, said) {
  const input = draw("input", { id: "answer", name: question.name, value: answers[question.name] ?? "", autocomplete: "off", spellcheck: "false", "aria-invalid": problem ? "true" : "" });
  const isNumber = question.kind === "number";
  if (isNumber) Object.assign(input.dataset, { unit: question.unit, low: question.band?.low ?? "", high: question.band?.high ?? "" });
  input.setAttribute(isNumber ? "inputmode" : "autocapitalize", isNumber ? "decimal" : "characters");
  const tag = (says, tone, words) => draw("span", { class: `tag ${tone}`, "data-says": says, hidden: "hidden" }, words);
  const verdict = question.band ? draw("output", { class: "verdict", for: "answer", "aria-live": "polite" }, tag("go-on", "calm", say("Go on")), tag("within", "good", say("Within")), tag("low", "bad", say("Outside, low")), tag("high", "bad", say("Outside, high"))) : null;
  const answer = draw("div", { class: `answer${isNumber ? " answer--number" : ""}` }, input, isNumber ? draw("span", { class: "u" }, question.unit) : question.ends ? draw("button", { class: "key take" }, say("Take it")) : "", verdict);
  const label = draw("label", { for: "answer" }, telling("h1", question.asks));
  return draw("form", { class: "askone", id: "ask" }, carry, label, question.hint ? draw("p", { class: "hint" }, question.hint) : null, said, answer, gaugeOf(question.band), statePart(question, problem, answers[question.name] ?? ""));
}

// A lot that is not known here may be taken by the part that its label states.
function statePart(question, problem, typed) {
  const code = readCode(typed);
  if (!["lot", "goes"].includes(question.kind) || !problem || wrongWith(typed) || known.lots.has(code) || known.units.has(code) || [...known.snapshot.tools, ...known.snapshot.gauges].some((one) => one.code === code)) return null;
  const parts = known.snapshot.parts.filter((part) => question.of.includes(part.kind));
  const options = [draw("option", { value: "" }, say("Nothing, I look again")), ...parts.map((part) => draw("option", {}, part.number))];
  options[0].setAttribute("value", "");
  return draw("div", { class: "stated" }, draw("label", { for: "part" }, say("It is in front of you and not on file? What does its label say?")), draw("select", { id: "part", name: `${question.name}-part` }, options));
}

function drawConfirm(screen) {
  const { task, station, told: answers } = screen;
  const entry = entryMade(known, task, answers, station.code);
  const left = draw("section", { class: "ask-side" }, headOf(task.on, task), telling("h1", task.headline || say("Is this right?")),
    told(screen, "told") ?? draw("p", { class: "hint" }, say("Nothing else is asked here.")), asOf(known), draw("div", { class: "low" }, lower(screen), ownKey(screen)));
  const side = draw("section", { class: "side" }, potOf(screen, false), care(task.caution, known.snapshot.everywhere, Boolean(potOf(screen, false))));
  const waits = waitMade(task, screen.answered, answers);
  const words = waits ? say("Keep it and wait %(minutes)s min", waits) : entry.told_done ? say("Keep it and mark it") : task.press;
  const form = logging(draw("form", { class: "logrow" }, hidden([["key", answers.key]]),
    draw("button", { class: "log" }, shapeOf("released"), telling("span", words))), screen, answers);
  main.replaceChildren(draw("div", { class: "work" }, left, side, form));
}
