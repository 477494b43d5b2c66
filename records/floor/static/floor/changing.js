// Another badge changes the person at once; the name in the bar does, with tiles and PIN, on a tablet of the works.
import { isAsking, whenBadge } from "./dialogs.js";
import { post } from "./link.js";
import { isHere } from "./still.js";
import { askWho, changeTo, isRegistered, needsLink } from "./who.js";

function again(person) {
  if (!person) return;
  isHere();
  // The page may be none of theirs; what is worked on at a station is everybody's.
  if (location.pathname.startsWith("/floor/at/")) location.reload();
  else location.assign("/floor/");
}

async function onChange(event) {
  const form = event.target;
  if (!form.matches?.("form.who")) return;
  event.preventDefault();
  if (await isRegistered()) {
    again(await askWho());
    return;
  }
  try {
    const { ok } = await post(form.action, {}); // another browser signs out, and in by password
    if (ok) location.assign("/sign/in/");
    else form.submit();
  } catch {
    await needsLink();
  }
}

export function startWho() {
  whenBadge((code) => isAsking() || changeTo(code, { scanned: true }).then(again));
  document.addEventListener("submit", onChange);
  document.querySelector("[data-who] button")?.addEventListener("click", () => askWho().then(again));
}
