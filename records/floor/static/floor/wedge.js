// A hand scanner that types: what it sends is caught at the document, whatever has the focus, and never presses a button.
// Set it up with F9 before the code and Enter behind it: no keyboard layout moves these two. Without the start sign its
// speed tells it from a person: keys under 35 ms apart (interface.md 3.2; settings of the floor, common practice).
const START = "F9";
const ENDS = new Set(["Enter", "Tab"]);
const FAST_MS = 35;
const LEAST_KEYS = 6;
const SILENCE_MS = 120;
// Behind a scan that stopped in the middle, keys within so long are its rest: half a code may be another's whole one.
const REST_MS = 1000;
// Separators as scanners type them with the control key held.
const CONTROL = { "]": "\x1d", "^": "\x1e", 6: "\x1e", d: "\x04", D: "\x04" };

let text = "";
let isStarted = false;
let isBroken = false;
let lastAt = 0;
let before = null; // the field as it stood before the first key
let altDigits = "";

const fieldOf = (target) => (target?.matches?.("input:not([type=checkbox], [type=radio], [type=file]), textarea") ? target : null);

function begin(event, started) {
  const field = fieldOf(event.target);
  before = field && { field, value: field.value };
  [text, isStarted] = ["", started];
}

function forget() {
  [text, isStarted, before, altDigits] = ["", false, null, ""];
}

function swallow(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}

// The sign that a key sends; nothing for a key that sends none.
function signOf(event) {
  if (event.ctrlKey) return CONTROL[event.key] ?? "";
  return [...event.key].length === 1 ? event.key : "";
}

function restore() {
  if (!before || before.field.value === before.value) return;
  before.field.value = before.value;
  before.field.dispatchEvent(new Event("input", { bubbles: true }));
}

function end(event, gap, deliver) {
  const isScan = text && (isStarted || text.length >= LEAST_KEYS);
  // Two keys and Enter within so short a time are a scanner's too: no person presses a button so.
  if (isScan || isStarted || (text.length > 1 && gap < FAST_MS && !fieldOf(event.target))) swallow(event);
  const scan = isScan && gap <= (isStarted ? SILENCE_MS : FAST_MS) ? text : "";
  if (scan) restore();
  forget();
  if (scan) deliver(scan);
}

function take(event, sign, gap) {
  if (!isStarted && (!text || gap > FAST_MS)) begin(event, false);
  text += sign;
  if (isStarted || event.ctrlKey || text.length > LEAST_KEYS || (text.length > 1 && !fieldOf(event.target))) swallow(event);
}

// The rest of a scan that stopped in the middle goes nowhere; at its end that is told.
function passBy(event, broke) {
  swallow(event);
  if (!ENDS.has(event.key)) return;
  isBroken = false;
  broke();
}

function onKey(event, deliver, broke) {
  if (event.isComposing || event.repeat || event.metaKey) return;
  const gap = event.timeStamp - lastAt;
  if (gap > SILENCE_MS) {
    isBroken = gap <= REST_MS && (isBroken || (isStarted && text !== ""));
    forget();
  }
  if (["Shift", "Control", "Alt", "AltGraph", "CapsLock"].includes(event.key)) return;
  if (event.key === START) {
    isBroken = false;
    begin(event, true);
    swallow(event);
  } else if (isBroken) {
    passBy(event, broke);
  } else if (ENDS.has(event.key)) {
    end(event, gap, deliver);
  } else if (event.altKey && /^\d$/.test(event.key) && text) {
    altDigits += event.key; // a sign by its number: Alt and 029
    swallow(event);
  } else {
    const sign = signOf(event);
    if (sign) take(event, sign, gap);
  }
  lastAt = event.timeStamp;
}

function onKeyUp(event) {
  if (event.key !== "Alt" || !altDigits) return;
  text += String.fromCharCode(Number(altDigits));
  [altDigits, lastAt] = ["", event.timeStamp];
}

// Hear a scanner from now on; each scan is handed over as it was typed, and one that broke off is told.
export function startWedge(deliver, broke) {
  document.addEventListener("keydown", (event) => onKey(event, deliver, broke), true);
  document.addEventListener("keyup", onKeyUp, true);
}
