// A pot is weighed without a link: each part against its own ratio, read twice, and what is told beside the scale.
import { checksOf } from "./closed.js";
import { number, outsideWords, trimmed } from "./numbers.js";
import { say, word } from "./say.js";
import { lots } from "./walk.js";

function massTold(told, name) {
  let sum = 0;
  for (let n = 1; told[`${name}-${n}-lot`]; n += 1) sum += number(told[`${name}-${n}-amount`] ?? "") ?? 0;
  return sum;
}

// Mass that is due of a component for what was told of the first; none for the first.
export function dueOf(told, component, base) {
  const mass = massTold(told, `component-${base.n}`);
  if (component.n === base.n || !mass) return null;
  const [wanted, play] = [(mass * component.ratio) / base.ratio, (mass * component.play) / base.ratio];
  const finest = [1, 0.1, 0.01].find((step) => play >= 10 * step) ?? 0.000001;
  const low = trimmed(Math.ceil((wanted - play) / finest - 1e-9) * finest);
  const high = trimmed(Math.floor((wanted + play) / finest + 1e-9) * finest);
  return { low, high, aimed: trimmed(Math.round(wanted / finest) * finest), words: say("%(low)s to %(high)s %(unit)s", { low, high, unit: "g" }), lower: wanted - play, upper: wanted + play, finest };
}

// How far a mass lies outside what is due, in whole multiples of what is shown; empty inside.
function offBy(mass, { lower, upper, finest }) {
  const past = mass < lower - 1e-9 ? lower - mass : mass > upper + 1e-9 ? mass - upper : 0;
  return past && outsideWords({ value: trimmed(mass), unit: "g", away: trimmed(Math.ceil(past / finest - 1e-9) * finest) }, mass < lower);
}

// Which mix it is.
export function askMix(piece) {
  const choices = Object.keys(piece.mixes).map((name) => [name, word(name[0].toUpperCase() + name.slice(1).toLowerCase()), ""]);
  return { name: "mix", asks: say("What do you mix?"), word: "Mix", kind: "choice", choices };
}

export function* mix(known, told, piece) {
  yield askMix(piece);
  const components = piece.mixes[told.mix];
  if (!components) return;
  yield* mouldsReady(known, told, piece);
  yield piece.scale;
  for (const component of components) {
    const name = `component-${component.n}`;
    yield* coarse(known, told, component, components[0], piece);
    const due = told.scale ? dueOf(told, component, components[0]) : null;
    for (const asked of lots(known, told, { name, word: component.word, of: component.of, twice: true }, due)) yield poured(asked, component, due);
    yield* askRatio(told, name, due, component, piece);
  }
}

// Said before anything is mixed: a component that is off its ratio.
export function* askRatio(told, name, due, component, piece) {
  const off = due && offBy(massTold(told, name), due);
  if (!off) return;
  const tells = say("Of %(part)s %(amount)s g are due, %(band)s. A wrong mix can’t be mended.", { part: component.word, amount: due.aimed, band: due.words });
  yield { name: `${name}-stop`, asks: say("%(part)s: %(said)s", { part: component.word, said: off }), word: "Stop", kind: "choice", choices: piece.off, tells, drops: 2 };
}

function poured(asked, component, due) {
  if (!due || !asked.band || asked.name.endsWith("-again")) return asked;
  return { ...asked, asks: say("Pour %(thing)s to %(due)s g", { thing: component.word, due: due.aimed }) };
}

// Moulds whose next step takes a pot, each with its checks.
export function mouldsToFill(known) {
  const units = [...known.units.values()].map((unit) => ({ unit, checks: checksOf(known, unit) }));
  return units.filter((one) => one.checks.length).map((one) => ({ ...one, ready: one.checks.every((check) => !check.fault) }));
}

// Before any resin is weighed for a mould: one is closed, and its checks hold.
export function* mouldsReady(known, told, piece) {
  if (piece.makes[told.mix] !== "resin-mix" || piece.shot === null || mouldsToFill(known).some((mould) => mould.ready)) return;
  const tells = say("Close a mould, test it for leaks and hold its bladder: that needs no resin.");
  yield { name: "moulds", asks: say("No mould is ready to be filled"), word: "Stop", kind: "choice", choices: piece.unready, tells, again_at: "../" };
}

// Said before a part is poured: the scale can't judge its ratio.
function* coarse(known, told, component, base, piece) {
  const mass = massTold(told, `component-${base.n}`);
  const step = known.snapshot.gauges.find((gauge) => gauge.code === told.scale)?.step ?? 0;
  const play = (mass * component.play) / base.ratio;
  if (component.n === base.n || !mass || step <= play) return;
  const tells = say("This scale reads %(step)s g; %(part)s may be off by %(play)s g at most. Use the fine scale.", { step, play: trimmed(play), part: component.word });
  yield { name: `component-${component.n}-scale-stop`, asks: say("This scale is too coarse"), word: "Stop", kind: "choice", choices: piece.coarse, tells, drops: 4 };
}

// How many shots the pot serves, and that so much of it heats itself.
export function potWords(piece, told) {
  const components = piece.mixes[told.mix];
  const base = components ? massTold(told, `component-${components[0].n}`) : 0;
  if (!base) return [];
  const rest = components.slice(1).map((one) => massTold(told, `component-${one.n}`) || (base * one.ratio) / components[0].ratio);
  const grams = Math.floor(10 * (base + rest.reduce((sum, one) => sum + one, 0)) + 1e-9) / 10;
  const found = [];
  if (piece.shot && piece.makes[told.mix] === "resin-mix") {
    const shots = Math.floor(grams / Number(piece.shot));
    const told = { shots, shot: piece.shot, rest: trimmed(grams - shots * Number(piece.shot)) };
    if (!shots) found.push(say("It is less than one shot of %(shot)s g.", told));
    else if (shots === 1) found.push(say("It serves 1 shot of %(shot)s g; %(rest)s g stay in the cup.", told));
    else found.push(say("It serves %(shots)s shots of %(shot)s g; %(rest)s g stay in the cup.", told));
  }
  const from = piece.heat[told.mix];
  const words = from && grams >= Number(from)
    ? say("%(grams)s g in one cup: the data sheet warns of heat from %(from)s g. Weigh less.", { grams, from })
    : say("%(grams)s g in one cup heats itself. Never leave it covered. The data sheet comes first.", { grams });
  return [...found, words];
}
