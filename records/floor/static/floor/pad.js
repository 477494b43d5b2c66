// The number pad of a floor screen: it presses for the field behind it, and the gauge and the word follow what is typed.
// A secret is written in several fields: there it presses for the one that was touched last.
import { number, side } from "./numbers.js";
import { decimalMark, say } from "./say.js";

let field = null;

function press(sign) {
  if (field.value.length >= Number(field.dataset.digits ?? Infinity)) return;
  if (sign === "-") field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
  else if (sign !== ".") field.value += sign;
  else if (!/[.,]/.test(field.value)) field.value += decimalMark();
  show();
}

function show() {
  if (!field.dataset.unit) return;
  const value = number(field.value);
  const says = side(field.value, field.dataset.low, field.dataset.high);
  for (const word of document.querySelectorAll("[data-says]")) word.hidden = word.dataset.says !== says;
  const gauge = document.querySelector(".gauge");
  if (gauge) {
    const { origin, start, perUnit } = gauge.dataset;
    const dot = gauge.querySelector(".dot");
    const place = value === null ? -40 : Number(start) + (value - Number(origin)) * Number(perUnit);
    dot.setAttribute("cx", value === null ? place : Math.min(Math.max(place, 15), 765));
    dot.classList.toggle("bad", says === "low" || says === "high");
  }
  const bar = document.querySelector("[data-says-answer]");
  if (bar) {
    bar.dataset.rest ??= bar.textContent;
    const told = { value: field.value.trim(), unit: field.dataset.unit };
    const taken = bar.dataset.verb === "keep" ? bar.dataset.rest : bar.dataset.verb ? say("Log %(value)s %(unit)s", told) : say("Take %(value)s %(unit)s", told);
    bar.textContent = value === null ? bar.dataset.rest : taken;
  }
}

export function startPad() {
  const several = [...document.querySelectorAll("[data-digits]")];
  field = document.querySelector("#answer[data-unit]") ?? several.find((one) => one === document.activeElement) ?? several[0];
  const pad = document.querySelector("[data-pad-of]");
  if (!field || !pad) return;
  // A phone keeps its own keyboard: beside it there is no room for ours.
  pad.hidden = !matchMedia("(min-width: 901px)").matches;
  const mark = pad.querySelector('[data-sign="."]');
  if (mark) mark.textContent = decimalMark();
  if (!pad.hidden) for (const one of [field, ...several]) one.inputMode = "none"; // the tablet's own keyboard would cover the screen
  field.addEventListener("input", show);
  if (several.length) pressFor(several, pad);
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    if (!key) return;
    if (key.hasAttribute("data-next-field")) several[(several.indexOf(field) + 1) % several.length].focus();
    else if (key.hasAttribute("data-rub")) field.value = field.value.slice(0, -1);
    else press(key.dataset.sign);
    show();
  });
  show();
}

// The field in hand keeps the focus while its keys are pressed, so that it is seen which one it is.
function pressFor(several, pad) {
  for (const one of several) one.addEventListener("focus", () => { field = one; });
  pad.addEventListener("mousedown", (event) => event.preventDefault());
  field.focus();
}
