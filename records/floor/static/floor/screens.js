// Pieces of a screen, drawn by script where the server can't: the same markup as the templates of the floor.
import { drawGauge } from "./gauge.js";
import { state, whenChanged } from "./link.js";
import { dayWords, say, word as spokenWord } from "./say.js";

const SVG = "http://www.w3.org/2000/svg";

export function telling(tag, text) {
  return Object.assign(document.createElement(tag), { textContent: text });
}

// An element with attributes and children; a child that is text stays text.
export function draw(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== undefined && value !== "") element.setAttribute(name, value);
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return element;
}

export function shapeOf(name) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("class", "sh");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(SVG, "use");
  use.setAttribute("href", `#s-${name}`);
  svg.append(use);
  return svg;
}

export function note(tone, words, role = "status") {
  return draw("p", { class: `note ${tone}`, role }, shapeOf(tone === "good" ? "done" : "signal"), telling("span", words));
}

// What is said before the screen itself stands together, side by side where the screen is wide.
export function sayFirst(...said) {
  const main = document.querySelector("main");
  const first = main?.querySelector(":scope > [data-said-first]") ?? draw("div", { class: "said-first", "data-said-first": "yes" });
  if (!first.isConnected) main?.prepend(first);
  first.prepend(...said);
}

export function link(address, words, look = "key") {
  return draw("a", { class: look, href: address }, words);
}

// A screen of lines that are turned where they do not fit it (leaves.js), with keys at its foot.
export function leafed(head, told, lines, keys) {
  const turning = document.querySelector("[data-turning-keys]").content.firstElementChild.cloneNode(true);
  return draw("div", { class: "leafed" }, draw("div", { class: "uline" }, head), told, draw("div", { class: "leaves", "data-leaves": "yes", tabindex: "-1" }, lines), draw("div", { class: "foot-row" }, turning, draw("div", { class: "low" }, keys)));
}

// How long ago, in words that stay short: "12 min old", "3 h old".
export function age(moment) {
  const minutes = Math.max(0, Math.round((Date.now() - Date.parse(moment)) / 60_000));
  if (minutes < 1) return say("under a minute old");
  return minutes < 120 ? say("%(minutes)s min old", { minutes }) : say("%(hours)s h old", { hours: Math.round(minutes / 60) });
}

// Times stand as the clocks of the works show them, whatever zone this tablet is set to.
let zone;
export const showTimesIn = (name) => { zone = name; };

function inZone(moment, shape) {
  return new Date(moment).toLocaleString("en-GB", { timeZone: zone, ...shape });
}

export const clockAt = (moment) => inZone(moment, { hour: "2-digit", minute: "2-digit" });
export const when = (moment) => `${dayWords(Number(inZone(moment, { day: "numeric" })), Number(inZone(moment, { month: "numeric" })))} ${clockAt(moment)}`;

// A gauge as the server drew it, which came along with the snapshot; one of a band that is worked out here is drawn here.
export function gaugeOf(band) {
  if (!band?.gauge) return band?.low && band.high ? drawGauge(band) : null;
  return document.importNode(new DOMParser().parseFromString(band.gauge, "text/html").querySelector("svg"), true);
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);

export function listTold(rows, look) {
  if (!rows.length) return null;
  return draw("dl", { class: look }, rows.map(([word, value]) => draw("div", {},
    draw("dt", {}, shapeOf("done"), capital(spokenWord(word))), draw("dd", {}, value))));
}

export function pad(minus) {
  const keys = [..."123456789", ".", "0"].map((sign) => draw("button", { type: "button", class: "key", "data-sign": sign, "aria-label": sign === "." ? say("Decimal mark") : "" }, sign));
  keys.push(draw("button", { type: "button", class: "key w", "data-rub": "yes" }, say("Rub out")));
  if (minus) keys.push(draw("button", { type: "button", class: "key", "data-sign": "-", "aria-label": say("Minus") }, "−"));
  return draw("section", { class: "pad", "aria-label": say("Number pad"), "data-pad-of": "answer", hidden: "hidden" }, keys);
}

export function hidden(told) {
  return told.map(([name, value]) => draw("input", { type: "hidden", name, value: String(value) }));
}

export function care(caution, everywhere, folded = false) {
  if (caution && folded) return draw("details", { class: "care" }, draw("summary", {}, telling("b", say("Take care: what can hurt here"))), ` ${caution} ${everywhere}`);
  return caution ? draw("aside", { class: "care", "aria-label": say("Take care") }, telling("b", say("Take care.")), ` ${caution} ${everywhere}`) : null;
}

// Of when a screen is that was drawn without a link.
export function asOf(known, sheet = "") {
  const rules = say("No link. Rules, holds and lots as of %(at)s.", { at: clockAt(known.as_of) });
  const paper = sheet ? say("If this tablet fails too: sheet %(sheet)s.", { sheet }) : "";
  return draw("p", { class: "hint as-of" }, `${rules} ${paper}`.trim());
}

// The bar tells of a link again: the line above the screen must not deny it, nor pass old lists for those of now.
export function tellBack(known) {
  whenChanged(async () => {
    const line = document.querySelector("main .as-of");
    if (line && (await state()).is === "linked") line.textContent = say("Drawn without a link, as of %(at)s.", { at: clockAt(known.as_of) });
  });
}
