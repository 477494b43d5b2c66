// Touches that are none: a palm, a drop of resin, a second touch of the same finger. And the screen stays on meanwhile.
import { dotsPerMm } from "./fitting.js";

const APART_MS = 60; // sooner after another touch it is the same one once more (interface: 3.1)
const WIDEST_MM = 30; // a finger in a glove is narrower
const ignored = new Set();
let last = -Infinity;

// Whether a touch is to be ignored: by how wide it is, and how soon after the one before.
export function isNone({ width, height, at }, before, mm) {
  return Math.max(width, height) > WIDEST_MM * mm || at - before < APART_MS;
}

function onDown(event) {
  if (event.pointerType !== "touch") return;
  const touch = { width: event.width, height: event.height, at: event.timeStamp };
  if (isNone(touch, last, dotsPerMm())) ignored.add(event.pointerId);
  else ignored.delete(event.pointerId);
  last = event.timeStamp;
}

function onClick(event) {
  if (!ignored.has(event.pointerId)) return;
  ignored.delete(event.pointerId);
  event.preventDefault();
  event.stopImmediatePropagation();
}

async function stayOn() {
  if (document.hidden) return;
  await navigator.wakeLock?.request("screen").catch(() => {}); // low battery: the tablet decides
}

export function startTouching() {
  document.addEventListener("pointerdown", onDown, { capture: true, passive: true });
  document.addEventListener("click", onClick, { capture: true });
  document.addEventListener("visibilitychange", stayOn);
  stayOn();
}
