// Leaves: what does not fit the screen is turned, not scrolled. The lines flow in columns beside each other, and a turn
// goes on by as many columns as stand on the glass.
import { say } from "./say.js";

function turnBy(leaves, keys, step) {
  const gap = parseFloat(getComputedStyle(leaves).columnGap) || 0;
  const width = leaves.clientWidth + gap;
  const count = Math.max(1, Math.round((leaves.scrollWidth + gap) / width));
  const now = Math.min(count - 1, Math.max(0, Math.round(leaves.scrollLeft / width) + step));
  leaves.scrollLeft = now * width;
  keys.hidden = count < 2;
  keys.querySelector("output").textContent = say("%(n)s of %(count)s", { n: now + 1, count });
  keys.querySelector('[data-turn="-1"]').disabled = now === 0;
  keys.querySelector('[data-turn="1"]').disabled = now === count - 1;
  if (now === count - 1) signable();
}

// Whoever signs has had the last leaf before them.
function signable(is = true) {
  const key = document.querySelector("form.handing[data-entry] button.log");
  if (!key || (key.dataset.read && !is)) return;
  if (is) key.dataset.read = "yes";
  key.disabled = !is;
  key.querySelector("small").textContent = is ? say("Both sign: you, and the lead who takes over.") : say("Read on to the end first.");
}

export function startLeaves() {
  const leaves = document.querySelector("[data-leaves]");
  const keys = document.querySelector("[data-turning]");
  if (!leaves || !keys) return;
  leaves.classList.add("leaves--turned");
  keys.hidden = false; // its height counts before the columns are measured
  for (const key of keys.querySelectorAll("[data-turn]")) key.onclick = () => turnBy(leaves, keys, Number(key.dataset.turn));
  signable(false);
  turnBy(leaves, keys, 0);
  new ResizeObserver(() => turnBy(leaves, keys, 0)).observe(leaves); // a call that rings takes room
}
