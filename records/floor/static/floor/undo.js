// Undo: for ten seconds after Log one press withdraws what was logged, as a mis-tap. Nothing is erased: the withdrawal is
// an entry of its own, which follows the first one from the outbox where that has not gone up yet.
import { recall } from "./outbox.js";
import { noop, say } from "./say.js";
import { draw, shapeOf, telling } from "./screens.js";

const LASTS_MS = 10_000;
const UNDONE = ["step", "measure", "tank-charge", "tank-draw", "wind", "mould", "bond", "mix", "meter", "hold", "move", "carrier"];
// What no press takes back, and what to do then: as the server says it too (`undoing.py`).
const INSTEAD = {
  step: noop("What went in can't be undone by a press. Correct it on the page of the unit."),
  "tank-clean": noop("This can't be undone by a press. Tell your lead at once: what was in the tank is in doubt."),
  "send-out": noop("This can't be undone by a press. Take them back in where they did not leave."),
  "come-back": noop("This can't be undone by a press. Send them out again where they did not come."),
  ship: noop("This can't be undone by a press. Tell Review at once."),
  count: noop("This can't be undone by a press. Count once more: the last count stands."),
  "hand-over": noop("This can't be undone by a press. Hand over once more: the last page stands."),
  wait: noop("This can't be undone by a press. Measure it when its time has come."),
};

// What was logged in short: the one number of an entry, else the word of its task.
function whatOf({ kind, payload, label }) {
  if (kind === "hold") return payload.item ?? "";
  if (kind === "carrier") return payload.unit;
  const readings = (payload.readings ?? []).filter((one) => one.value).map((one) => `${one.value} ${one.unit}`);
  const lines = (payload.lines ?? []).flatMap((line) => line.readings ?? []);
  const numbers = [...readings, ...lines];
  return numbers.length === 1 ? numbers[0].trim() : label ?? "";
}

// What the next page says of entries logged by one press: that they may be undone, or what to do instead.
export function undoOf(entries, told = "") {
  const [first] = entries;
  const until = Date.now() + LASTS_MS;
  if (UNDONE.includes(first?.kind) && !first.payload.shots?.length) return { keys: entries.map((entry) => entry.key), told, what: whatOf(first), by: first.by, until };
  return INSTEAD[first?.kind] ? { instead: INSTEAD[first.kind], told, what: whatOf(first), until } : null;
}

// What stands on the screen tells of what was undone: it is drawn anew, and says what became of it.
function drawnAnew(told) {
  sessionStorage.setItem("undo", JSON.stringify({ said: told, until: Date.now() + LASTS_MS }));
  location.replace(location.pathname);
}

export function drawUndo(undo, log) {
  const left = (undo?.until ?? 0) - Date.now();
  if (left <= 0) return;
  const told = undo.said || undo.told || (undo.what ? say("Logged %(what)s.", undo) : say("Logged."));
  const key = undo.instead || undo.said ? null : draw("button", { type: "button", class: "key" }, say("Undo"));
  const words = telling("span", undo.instead ? `${told} ${say(undo.instead)}` : told);
  const toast = draw("div", { class: "toast", role: "status" }, shapeOf("done"), words, key);
  document.querySelector("main").append(toast);
  const away = setTimeout(() => toast.remove(), left);
  if (key) key.onclick = async () => {
    clearTimeout(away);
    key.remove();
    const sitting = ((await recall("sittings")) ?? {})[undo.by];
    const entry = { kind: "undo", done: true, by: undo.by, sitting, label: say("Undo") };
    try {
      // One withdrawal for each entry: the first answer that is another than the rest is the one to read.
      const made = undo.keys.map((of) => ({ ...entry, key: crypto.randomUUID(), payload: { of }, depends_on: [of] }));
      const answers = await log(made);
      const answer = answers.find((one) => one.state !== answers[0].state && one.state !== "taken") ?? answers[0];
      const states = { taken: say("Undone. Both stay readable."), waiting: say("Undone on this tablet. It goes up when there is a link.") };
      words.textContent = states[answer.state] ?? answer.words ?? say("It could not be undone. Correct it on its page.");
      if (states[answer.state]) drawnAnew(words.textContent);
    } catch {
      words.textContent = say("It could not be undone. Correct it on its page.");
    }
    setTimeout(() => toast.remove(), LASTS_MS);
  };
}
