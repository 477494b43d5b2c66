// A pot from a machine that meters, without a link: what it took of each tank or can, as metering.py asks.
import { say, word } from "./say.js";
import { readCode } from "./scans.js";
import { clockAt, draw, shapeOf, telling } from "./screens.js";
import { askMix, askRatio, dueOf, mouldsReady, mouldsToFill, potWords } from "./weighing.js";
import { amountOf, askLeft, firstToTake, gate, moreThan, readAgain } from "./walk.js";

const capital = (text) => text[0].toUpperCase() + text.slice(1);
const tankAt = (known, code) => known.snapshot.tanks.find((one) => one.part && one.code === readCode(code ?? ""));

// Answers with the tank of each component, where nobody told another one.
function withTanks(piece, told) {
  const own = (piece.mixes[told.mix] ?? []).map(({ n, tank }) => [`component-${n}-1-lot`, tank]);
  return { ...Object.fromEntries(own.filter(([name, tank]) => tank && told[`${name}-own`] !== "yes")), ...told };
}

export function* metered(known, told, piece) {
  yield askMix(piece);
  const components = piece.mixes[told.mix];
  if (!components) return;
  yield* mouldsReady(known, told, piece);
  for (const component of components) yield* componentOf(known, told, component, components[0], piece);
}

function* componentOf(known, bare, component, base, piece) {
  const name = `component-${component.n}`;
  const [lot, amount, own] = [`${name}-1-lot`, `${name}-1-amount`, `${name}-1-lot-own`];
  if (bare[own] === "yes" || !component.tank) yield { name: lot, asks: component.scan, word: capital(component.word), kind: "lot", of: component.of, tank: component.part, hint: firstToTake(known, component.of) };
  let told = withTanks(piece, bare);
  const tank = tankAt(known, told[lot]);
  yield* gate(known, told, lot, tank?.held);
  const due = dueOf(told, component, base);
  const asked = amountOf(known, told, amount, lot, due);
  const hint = `${say("From %(code)s.", { code: readCode(told[lot] ?? "") })} ${asked.hint}`.trim();
  yield { ...asked, asks: component.asks, hint, ...(own in bare ? {} : { instead: [own, piece.instead] }) };
  told = withTanks(piece, bare); // the walk has taken the unit off the number by now
  yield* tank ? moreThan(known, told, amount, tank.left) : askLeft(known, told, amount, lot);
  if (told[amount]) yield { ...readAgain(known, told, amount, lot, due), asks: piece.again };
  yield* askRatio(told, name, due, component, piece);
}

// What is wrong with a scanned tank where a part is due; nothing to say of what is no tank.
export function wrongTank(known, code, { tank: due, of }) {
  const tank = tankAt(known, code);
  return tank && (tank.part === due ? "" : say("That is %(kind)s %(code)s. Due here: %(due)s. Scan another code.", { kind: "tank", code, due: of[0] }));
}

export function meteredTold(known, piece, bare, lotsTold) {
  const told = withTanks(piece, bare);
  const components = piece.mixes[told.mix];
  const rows = components.flatMap((component) => lotsTold(known, told, `component-${component.n}`));
  const again = components.map((component) => told[`component-${component.n}-1-amount-again`]).filter(Boolean);
  return { mix: told.mix, components: rows.map((row) => (tankAt(known, row.lot) ? { tank: row.lot, amount: row.amount } : row)), again };
}

// Moulds that wait for a pot, with what was checked of each before any resin is poured.
export function readyMoulds(known, { pieces: [piece] }) {
  const moulds = piece.mixes ? mouldsToFill(known) : [];
  if (!moulds.length) return "";
  const wordsOf = ({ step, fault, until }) => fault || say("%(step)s good until %(until)s", { step: capital(word(step.operation)), until: clockAt(until) });
  const rows = moulds.map(({ unit, checks, ready }) => draw("li", {}, shapeOf(ready ? "done" : "signal"), draw("span", {}, draw("b", { class: "code" }, unit.code), ` ${checks.map(wordsOf).join(". ")}`)));
  return draw("section", { class: "ready" }, telling("h2", piece.checked), draw("ul", {}, rows));
}

// What is told beside a pot that is weighed or metered.
export function besideWords({ pieces: [piece] }, told) {
  return piece.mixes ? potWords(piece, withTanks(piece, told)) : [];
}
