// The door of a tablet of the works: whoever has been here comes in by badge and PIN; a password always opens too.
import { whenBadge } from "./dialogs.js";
import { applySize } from "./fitting.js";
import { startGoing } from "./going.js";
import { say, speak } from "./say.js";
import { draw } from "./screens.js";
import { askWho, changeTo, isRegistered } from "./who.js";

const form = document.querySelector("form.ask");

function inside(person) {
  const next = form.elements.next.value;
  if (person) location.assign(next.startsWith("/floor/") ? next : "/floor/");
}

async function begin() {
  if (!form) return;
  startGoing(); // a password that gets no answer says so, on every browser
  await speak(document.documentElement.lang);
  if (!(await isRegistered())) return;
  applySize();
  const key = draw("button", { class: "key solid", type: "button" }, say("Come in by badge and PIN"));
  key.onclick = () => askWho().then(inside);
  form.before(draw("p", { class: "presses door-key" }, key));
  whenBadge((code) => changeTo(code, { scanned: true }).then(inside));
  // A scanner that types into the field ends with Enter: a badge without a password is a badge scanned.
  form.addEventListener("submit", (event) => {
    const badge = form.elements.username.value.trim();
    if (!badge || form.elements.password.value) return;
    event.preventDefault();
    changeTo(badge, { scanned: true }).then(inside);
  });
}

begin().catch(() => {});
