// Whether the person who is active still stands here: after a stand-still the next entry asks; reading never does.
import { askBadge, askOne } from "./dialogs.js";
import { recall } from "./outbox.js";
import { say } from "./say.js";
import { hidden } from "./screens.js";
import { changeTo, isRegistered, personOf, prove } from "./who.js";

const USUAL = { asks_s: 240, badge_s: 900 };

function noted(still) {
  const now = Date.now();
  const gap = now - Number(localStorage.getItem("touched") ?? now);
  if (gap >= still.badge_s * 1000) localStorage.setItem("still", "badge");
  else if (gap >= still.asks_s * 1000 && !localStorage.getItem("still")) localStorage.setItem("still", "ask");
  localStorage.setItem("touched", String(now));
}

export const isHere = () => localStorage.removeItem("still");

export async function watchStill() {
  const still = (await recall("snapshot"))?.still ?? USUAL;
  for (const name of ["pointerdown", "keydown"]) addEventListener(name, () => noted(still), { capture: true, passive: true });
}

// Before an entry is kept. True where the same person goes on; where somebody else does, the page is drawn again.
export async function stillHere() {
  const asks = localStorage.getItem("still");
  if (!asks) return true;
  const snapshot = await recall("snapshot");
  const badge = await recall("active");
  const name = snapshot?.people.find((one) => one.badge === badge)?.name ?? badge;
  if (asks === "ask") return stillThem(name, badge);
  if (!(await isRegistered())) return againByPassword(name, badge);
  const told = await askBadge(say("Nobody touched this for a while. Scan your badge."), say("It was %(name)s. Nothing typed is lost.", { name }), snapshot.people.filter((one) => one.badge === badge));
  return told ? goesOn(told, badge) : false;
}

async function stillThem(name, badge) {
  const answers = [{ code: "yes", word: say("Yes, %(name)s", { name }) }, { code: "other", word: say("Somebody else") }];
  const told = await askOne(say("Still %(name)s?", { name }), "", answers, (code) => ({ badge: code, scanned: true }));
  if (told === "yes") {
    isHere();
    return true;
  }
  if (told === "other") document.querySelector(".who button")?.click();
  return told?.badge ? goesOn(told, badge) : false;
}

async function goesOn(told, badge) {
  const person = await personOf(told.badge);
  if (person?.badge === badge) {
    if (!(await prove(person, told))) return false;
    isHere();
    return true;
  }
  if (await changeTo(told.badge, told)) {
    isHere();
    location.reload();
  }
  return false;
}

// In a browser that is no tablet of the works the password is asked for again; the answers so far wait in the address.
async function againByPassword(name, badge) {
  const out = document.querySelector("form.who");
  if (!out) return stillThem(name, badge); // without a link nobody can check a password
  const told = await askOne(say("Nobody touched this for a while. Sign in again."), "", [{ code: "again", word: say("Sign in again") }]);
  if (told !== "again") return false;
  isHere();
  out.append(...hidden([["next", `/sign/in/?next=${encodeURIComponent(location.pathname + location.search)}`]]));
  out.dataset.out = "yes";
  out.submit();
  return false;
}
