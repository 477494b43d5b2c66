// The call for the lead: on every screen, and what became of it in words. It goes the way of every entry.
import { send, whenChanged } from "./link.js";
import { entryOf, put, recall, remember } from "./outbox.js";
import { say } from "./say.js";

const PATIENCE_MS = 6_000;
const POLL_MS = 5_000;
const SHOWN_MS = 30 * 60_000; // so long a call stands on the key
const main = document.querySelector("main");
let asking = null;
let isCalling = false;

// The key stands among the keys of a screen at its left, or at the foot on the left.
function place() {
  if (main.querySelector("[data-leaves]")) return; // lines that are turned have all the screen
  const found = main.querySelector("form.call");
  const low = main.querySelector(".work .low") ?? main.querySelector(".stopped .safe");
  if (found && (!low || low.contains(found))) return;
  const key = found ?? document.querySelector("[data-call-key]")?.content.firstElementChild.cloneNode(true);
  if (!key) return;
  const row = key.parentElement;
  if (low?.classList.contains("low")) low.prepend(key);
  else if (low) low.append(key);
  else {
    const foot = Object.assign(document.createElement("div"), { className: "callrow" });
    foot.append(key);
    main.append(foot);
  }
  if (row?.classList.contains("callrow") && !row.firstElementChild) row.remove();
  show();
}

function tell(words) {
  const line = main.querySelector("[data-call-told]");
  if (line && line.textContent !== words) line.textContent = words;
}

// What is known of the last call: from the tablet while it has not gone up, from the server once it has.
async function show() {
  clearTimeout(asking);
  const call = await recall("call");
  if (!call || Date.now() - call.at > SHOWN_MS) return tell("");
  const entry = await entryOf(call.key);
  if (!entry) return tell("");
  if (entry.state === "waiting") return tell(isCalling ? say("Calling.") : say("Nobody has been told. Call by voice."));
  let { told } = call;
  if (told?.state === "answered" || told?.state === "unheard") return tell(told.words);
  try {
    const answer = await fetch(`/floor/calls/${call.key}/`, { signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.ok && !answer.redirected) told = await answer.json();
  } catch { /* no link: what was known last stands */ }
  if (told) await remember("call", { ...call, told });
  tell(told?.words ?? "");
  if (told?.state !== "answered" && told?.state !== "unheard" && !document.hidden) asking = setTimeout(show, POLL_MS);
  return null;
}

async function press(form) {
  if (isCalling) return; // a second press of the same call
  isCalling = true;
  const by = (await recall("active")) || document.querySelector("[data-badge]")?.dataset.badge || "";
  const sitting = ((await recall("sittings")) ?? {})[by];
  const [, , , here, what, unit] = location.pathname.split("/").map(decodeURIComponent);
  const station = form.dataset.call || (here ?? "");
  const about = form.dataset.about || (what === "unit" ? unit : new URLSearchParams(location.search).get("unit")) || "";
  const key = crypto.randomUUID();
  tell(say("Calling."));
  try {
    await put([{ key, kind: "call", payload: { station, about }, by, sitting, done: true, label: "call the lead" }]);
    await remember("call", { key, at: Date.now() });
    await Promise.race([send(), new Promise((resolve) => setTimeout(resolve, PATIENCE_MS))]);
  } catch {
    tell(say("Nobody has been told. Call by voice."));
  }
  isCalling = false;
  await show();
}

export function startCalls() {
  document.addEventListener("submit", (event) => {
    const form = event.target.closest?.("form.call");
    if (!form) return;
    event.preventDefault();
    press(form);
  });
  place();
  new MutationObserver(place).observe(main, { childList: true, subtree: true });
  whenChanged(show);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) show(); });
  show();
}
