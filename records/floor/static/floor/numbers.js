// Numbers that are read: doubted where they look like a slip, and outside their band the three ways on. The same rules
// as records/floor/numbers.py and slips.py have.
import { say } from "./say.js";

const TENS = [0.1, 0.01, 0.001, 10];
const INCH = 25.4;
const FAR_WIDTHS = 2;
// Steps in one of a unit, as plant/quantities.py has them: what is finer can't be kept. A test lays the two side by side.
export const STEPS = { mm: 1e6, um: 1e3, "µm": 1e3, nm: 1, cm: 1e7, m: 1e9, g: 1e6, kg: 1e9, mg: 1e3, ug: 1, t: 1e12, min: 60_000, s: 1000, ms: 1, h: 3_600_000, d: 86_400_000, degC: 1000, "°C": 1000, C: 1000, K: 1000, mbar: 100, bar: 100_000, Pa: 1, hPa: 100, kPa: 1000, deg: 1e6, "°": 1e6, N: 1000, kN: 1e6, mN: 1, pcs: 1, pc: 1, "%": 1e7, phr: 1e7, 1: 1e9, ppb: 1 };
const CELSIUS = ["degC", "°C", "C"];
const CELSIUS_OFFSET_MK = 273_150;

export const trimmed = (value) => String(Number(value.toFixed(6)));
const limits = (band) => ["low", "high"].map((name) => (band?.[name] === undefined || band[name] === "" ? null : Number(band[name])));

const plainly = (text) => text.trim().replace(",", ".").replace("−", "-");

export function number(text) {
  const plain = plainly(text);
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

// What is wrong with a written number, as the server says it; empty where it can be taken.
export function wrongNumber(text, { unit, isAmount }) {
  const value = number(text);
  const told = { text: text.trim(), unit };
  if (value === null) return say("“%(text)s” can't be read as a number. Read it again.", told);
  const [whole, decimals = ""] = plainly(text).replace("+", "").split(".");
  const [steps, ten] = [BigInt(whole + decimals) * BigInt(STEPS[unit] ?? 1), 10n ** BigInt(decimals.length)];
  if (STEPS[unit] && steps % ten) return say("%(text)s %(unit)s has more decimals than can be kept. Leave the last off.", told);
  const kept = Number(steps / ten) + (CELSIUS.includes(unit) ? CELSIUS_OFFSET_MK : 0);
  if (CELSIUS.includes(unit) && kept < 0) return say("%(text)s %(unit)s is below absolute zero. Read it again.", told);
  if (Math.abs(kept) > Number.MAX_SAFE_INTEGER) return say("%(text)s %(unit)s is more than can be true. Read it again.", told);
  return isAmount && value <= 0 ? say("An amount lies above nought. Read it again.") : "";
}

// How far a number lies outside its band, "52.6 °C is 2.4 °C below the band."; empty inside.
function outsideBand(text, band, unit) {
  const value = number(text);
  const [low, high] = limits(band);
  const limit = low !== null && value < low ? low : high !== null && value > high ? high : null;
  if (limit === null) return "";
  return outsideWords({ value: text, unit, away: trimmed(Math.abs(value - limit)) }, value < limit);
}

export function outsideWords(told, isBelow) {
  return isBelow ? say("%(value)s %(unit)s is %(away)s %(unit)s below the band.", told) : say("%(value)s %(unit)s is %(away)s %(unit)s above the band.", told);
}

function isFar(value, band) {
  const [low, high] = limits(band);
  const limit = low !== null && value < low ? low : high;
  if (limit === null) return false;
  const width = low !== null && high !== null ? high - low : Math.abs(limit);
  return width > 0 && Math.abs(value - limit) > FAR_WIDTHS * width * (1 + 1e-12);
}

const decimalsOf = (text) => (String(text).split(".")[1] ?? "").length;

// What a value outside may have been meant to be; nothing where no slip explains it.
export function meant(value, band) {
  const [low, high] = limits(band);
  if ((low === null || high === null) && !isFar(value, band)) return null;
  const finest = Math.max(...[band.low, band.high].filter((limit) => limit !== undefined && limit !== "").map(decimalsOf));
  const tried = TENS.map((ten) => Number(trimmed(value * ten)));
  if (band.kind === "length") tried.push(...[value * INCH, value / INCH].map((one) => Number(one.toFixed(finest))));
  const found = tried.find((one) => (low === null || one >= low) && (high === null || one <= high));
  return found === undefined ? null : trimmed(found);
}

function slipOf(question, text) {
  const { band, unit } = question;
  const value = number(text);
  const likely = meant(value, band);
  if (likely === null && !isFar(value, band)) return null;
  const told = { value: text, unit };
  const choices = likely === null ? [] : [[likely, `${likely} ${unit}`, say("That is what it reads."), question.name]];
  choices.push(["again", say("Read it again"), say("Nothing is kept.")], ["as", say("It reads %(value)s %(unit)s", told), say("It is taken as it stands.")]);
  const asks = likely === null ? say("Is it %(value)s %(unit)s?", told) : say("Did you mean %(value)s?", { value: likely });
  return { name: `${question.name}-slip`, asks, word: "Slip", kind: "choice", choices, tells: say("%(value)s %(unit)s lies far outside. The band is %(band)s.", { ...told, band: band.words }) };
}

function outside(minutes) {
  const keys = [["again", say("Read it again"), say("Mistyped, or the gauge has not settled. Nothing is kept.")]];
  if (minutes >= 1) keys.push(["wait", say("Wait %(minutes)s min, then measure again", { minutes }), say("It is kept; the step stays locked until then.")]);
  return [...keys, ["keep", say("Keep it and hold the unit"), say("Review decides. Put it on the red shelf.")]];
}

const notRead = () => [["cannot-reach", say("Can’t get at it")], ["no-gauge", say("No gauge to hand")], ["gauge-doubtful", say("Gauge is doubtful")], ["surface-not-ready", say("Surface not ready")]];

export function* askNumber(told, question, waitMin) {
  yield question;
  const text = told[question.name];
  if (text === "") {
    yield { name: `${question.name}-why`, asks: say("Why can’t it be read?"), word: question.word, kind: "choice", choices: notRead() };
    return;
  }
  const value = number(text ?? "");
  const off = value === null || !question.band ? "" : outsideBand(text, question.band, question.unit);
  if (!off) return;
  const slip = slipOf(question, text);
  if (slip) yield slip;
  yield { name: `${question.name}-outside`, asks: off, word: "Outside", kind: "choice", choices: outside(waitMin), tells: say("The band is %(band)s. What is to be done?", { band: question.band.words }), drops: slip ? 2 : 1, wait_min: waitMin };
}

// The side of its band on which what is typed lies; "go-on" while more digits may bring it inside.
export function side(text, low, high) {
  const value = number(text);
  if (value === null || (low === "" && high === "")) return "";
  const [least, most] = [low === "" ? -Infinity : Number(low), high === "" ? Infinity : Number(high)];
  if (value >= least && value <= most) return "within";
  if (mayComeInside(plainly(text), least, most)) return "go-on";
  return value < least ? "low" : "high";
}

// Whether digits typed behind these may still make a number inside.
function mayComeInside(typed, least, most) {
  const [whole, decimals] = typed.split(".");
  const sign = whole.startsWith("-") ? -1 : 1;
  const from = Math.abs(Number(typed));
  const spans = decimals === undefined ? [0, 1, 2, 3, 4, 5].map((n) => [from * 10 ** n, (from + 1) * 10 ** n]) : [[from, from + 10 ** -decimals.length]];
  return spans.some(([low, high]) => (sign > 0 ? low <= most && high > least : -low >= least && -high < most));
}
