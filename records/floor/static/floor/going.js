// A press is answered at once: its key shows that it was taken until the next screen is there, and pressed again it does
// nothing: a page asked for anew would have all its patience before it once more. A form whose answer did not come says so.
import { lost } from "./link.js";
import { say } from "./say.js";
import { draw, note } from "./screens.js";

const SAID_MS = 600; // what is there sooner needs no words
const LONGEST_MS = 20_000; // longer than any screen's patience: what took none of the ways from here may be pressed again
const AWAY_MS = 12_000; // the worker has patience with the floor's own pages; the door and the desk have none but this
let pressed = null;
let said = null;
let ends = null;

export function stays() {
  pressed?.removeAttribute("data-going");
  document.querySelector(".going")?.remove();
  clearTimeout(said);
  clearTimeout(ends);
  pressed = null;
}

export function goesOn(key, address = location.href) {
  stays();
  pressed = key;
  key?.setAttribute("data-going", "yes");
  said = setTimeout(() => document.querySelector(".fbar")?.after(draw("p", { class: "going", role: "status" }, say("Pressed. The next screen comes by itself."))), SAID_MS);
  const isAway = !new URL(address, location.href).pathname.startsWith("/floor/");
  ends = isAway ? setTimeout(givenUp, AWAY_MS) : setTimeout(stays, LONGEST_MS);
}

// No answer came from where no worker waits for one: the way is broken off, and this page stays and says so.
function givenUp() {
  window.stop();
  unanswered();
}

// Whether a press leads away from here in this window.
function leads(event, link) {
  const stayHere = event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || link.target || link.hasAttribute("download");
  return !stayHere && new URL(link.href).pathname + new URL(link.href).search !== location.pathname + location.search;
}

function onClick(event) {
  const link = event.target.closest?.("a[href]");
  if (!link || !leads(event, link)) return;
  if (link === pressed) event.preventDefault();
  else goesOn(link, link.href);
}

function onSubmit(event) {
  const key = event.submitter ?? event.target.querySelector("button") ?? document.querySelector(`button[form="${event.target.id}"]`) ?? event.target;
  if (event.defaultPrevented) return;
  if (key === pressed) event.preventDefault();
  else goesOn(key, event.submitter?.getAttribute("formaction") ?? event.target.getAttribute("action") ?? location.href);
}

// The worker got no answer for a form: what was written stays, and its key, so that a second press counts once.
function onUnanswered({ data }) {
  if (data?.unanswered) unanswered();
}

function unanswered() {
  const key = pressed;
  stays();
  lost().catch(() => {});
  document.querySelector("[data-unanswered]")?.remove();
  const told = note("bad", say("No answer came. What is written here stays. Press again: it counts once."), "alert");
  told.dataset.unanswered = "yes";
  const form = key?.form ?? document.querySelector("main form");
  (form ?? document.querySelector("main")).prepend(told);
  told.scrollIntoView({ block: "nearest" });
}

export function startGoing() {
  addEventListener("click", onClick); // after all that a screen does with it
  addEventListener("submit", onSubmit);
  addEventListener("pageshow", (event) => { if (event.persisted) stays(); });
  navigator.serviceWorker?.addEventListener("message", onUnanswered);
}
