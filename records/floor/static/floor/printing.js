// The label of a pot prints by itself once its clock has started; how that went stands on the next screen, and nothing waits for it.
//
// A pot mixed without a link has no number until its entry is taken. Its label then does not print by itself: whoever holds
// the pot may stand at another station by now, and a label that nobody fetches ends on another pot. This tablet says that it
// waits, and one press prints it where the tablet stands. It asks no longer than the pot may be used: a fresh label on a pot
// that is dead would say that it is good.
import { madeAt } from "./clocks.js";
import { entries, recall, remember } from "./outbox.js";
import { post, state, whenChanged } from "./link.js";
import { endOf, rules } from "./rules.js";
import { say } from "./say.js";
import { clockAt, draw, note, sayFirst } from "./screens.js";

const NAME = "label";
const WAITING = "labels-waiting";
const EVERY_MS = 10_000;
const START = /^\/floor\/(?:at\/([^/]+)\/)?$/;
const GONE = new Set(["refused", "conflict", "aside"]);

// What the next screen is to print, of an entry that was just logged.
export function labelDue(entry) {
  if (!["mix", "meter"].includes(entry.kind)) return null;
  return { key: entry.key, code: entry.made ?? "", station: entry.payload.station ?? "", kept: entry.state === "waiting" };
}

const tell = (tone, words) => words && sayFirst(note(tone, words));

export async function printDue() {
  const due = JSON.parse(sessionStorage.getItem(NAME) ?? "null");
  sessionStorage.removeItem(NAME);
  if (!due) return null;
  if (due.kept || !due.code) {
    await wait(due);
    return tell("watch", say("No link: its label can’t be printed now. Write on the pot when its clock started. Once there is a link, this tablet asks for the label."));
  }
  try {
    const answer = await post("/floor/labels/first/", due);
    return tell(answer.tone, answer.words);
  } catch {
    await wait(due);
    return tell("watch", say("The label of %(code)s did not print: no link. Write its code on the pot. Once there is a link, this tablet asks for the label.", due));
  }
}

async function wait({ key, station }) {
  await remember(WAITING, [...((await recall(WAITING)) ?? []), { key, station }]);
}

// Labels that wait still: of pots that stand by what is known here and may be used, each with its code once that is known.
async function waitingNow() {
  const waiting = (await recall(WAITING)) ?? [];
  const known = waiting.length ? await rules() : null;
  if (!known) return [];
  const all = await entries();
  const undone = new Set(all.filter((one) => one.kind === "undo").map((one) => one.payload.of));
  const still = waiting.flatMap((one) => {
    const entry = all.find((other) => other.key === one.key);
    const ends = entry ? endOf(known, entry.payload.mix, madeAt(entry)) : "";
    const stands = entry && !GONE.has(entry.state) && !undone.has(one.key) && Date.parse(ends) > known.now();
    return stands ? [{ ...one, code: entry.made ?? "", ends }] : [];
  });
  if (still.length !== waiting.length) await remember(WAITING, still.map(({ key, station }) => ({ key, station })));
  return still;
}

async function look() {
  const page = location.pathname.match(START);
  const main = document.querySelector("main");
  if (!page || !main) return;
  const labels = (await state()).is === "linked" ? (await waitingNow()).filter((one) => one.code) : [];
  const shown = [...main.querySelectorAll("[data-label-waits]")];
  for (const key of shown) if (!labels.some((one) => one.code === key.dataset.labelWaits)) key.remove();
  for (const one of labels) if (!shown.some((key) => key.dataset.labelWaits === one.code)) sayFirst(keyOf(one, decodeURIComponent(page[1] ?? "")));
}

function keyOf(one, here) {
  const told = { code: one.code, at: clockAt(one.ends) };
  const words = draw("span", {}, say("Print the label of %(code)s", told), draw("small", {}, say("It was mixed without a link, and may be used until %(at)s.", told)));
  const key = draw("button", { type: "button", class: "key key--label", "data-label-waits": one.code }, words);
  key.onclick = async () => {
    key.disabled = true;
    try {
      const answer = await post("/floor/labels/first/", { code: one.code, station: here || one.station });
      await remember(WAITING, ((await recall(WAITING)) ?? []).filter((other) => other.key !== one.key));
      key.replaceWith(note(answer.tone, answer.words || say("%(code)s has its label already.", one)));
    } catch {
      key.disabled = false; // it waits on
    }
  };
  return key;
}

export async function startLabels() {
  whenChanged(() => look().catch(() => {}));
  await look().catch(() => {});
  setInterval(() => look().catch(() => {}), EVERY_MS);
}
