// What a tablet is fitted to once and keeps: the size of a millimetre on its glass, and how loud it is in its hall.
import { decimalMark, say } from "./say.js";
import { marked, taken } from "./sounds.js";

const CARD_MM = 85.6; // width of a bank card, ISO/IEC 7810 ID-1, from memory
const [LEAST, MOST] = [3, 12]; // no tablet has fewer or more dots to the millimetre [px/mm]
const LOUD = [0.25, 0.5, 0.75, 1];

function known(name) {
  try {
    return Number(localStorage.getItem(name)) || 0;
  } catch {
    return 0; // storage may be barred: keys then have the size of the style sheet
  }
}

function keep(name, value) {
  try {
    localStorage.setItem(name, String(value));
  } catch {
    // it holds for this page then
  }
}

// Dots to the millimetre as this tablet was fitted, else as the style sheet has them. [px/mm]
export function dotsPerMm() {
  return known("mm") || parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--mm")) || 3.78;
}

export function applySize() {
  const mm = known("mm");
  if (mm >= LEAST && mm <= MOST) document.documentElement.style.setProperty("--mm", `${mm}px`);
}

// The screen that fits it: the bar is made as long as a card, by keys, since nothing is dragged on the floor.
export function startFitting() {
  const bar = document.querySelector("[data-card]");
  if (!bar) return;
  const told = document.querySelector("[data-card-told]");
  let width = dotsPerMm() * CARD_MM;
  const show = () => {
    bar.style.setProperty("width", `${width}px`);
    const mm = (width / CARD_MM).toFixed(2);
    told.textContent = say("A key is %(key)s mm here, %(mm)s dots to the millimetre.", { key: 21, mm: mm.replace(".", decimalMark()) });
  };
  for (const key of document.querySelectorAll("[data-longer]")) {
    key.onclick = () => {
      width = Math.min(MOST * CARD_MM, Math.max(LEAST * CARD_MM, width + Number(key.dataset.longer)));
      show();
    };
  }
  document.querySelector("[data-fits]").onclick = () => {
    keep("mm", (width / CARD_MM).toFixed(4));
    applySize();
    show();
    document.querySelector("[data-fitted]").hidden = false;
    taken();
  };
  const volumes = [...document.querySelectorAll("[data-volume]")];
  const pressed = () => volumes.forEach((key) => key.setAttribute("aria-pressed", String(Number(key.dataset.volume) === (known("volume") || LOUD[1]))));
  for (const key of volumes) {
    key.onclick = () => {
      keep("volume", key.dataset.volume);
      pressed();
      marked();
    };
  }
  pressed();
  show();
}
