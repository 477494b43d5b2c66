// Undo: for ten seconds after Log one press withdraws what was logged, as a mis-tap. Nothing is erased: the withdrawal is
// an entry of its own, which follows the first one from the outbox where that has not gone up yet.
import { recall } from "./outbox.js";
import { say } from "./say.js";
import { draw, shapeOf, telling } from "./screens.js";

const LASTS_MS = 10_000;
const UNDONE = ["step", "measure", "tank-charge", "tank-draw"];

// What was logged in short: the one number of an entry, else the word of its task.
function whatOf({ payload, label }) {
  const readings = (payload.readings ?? []).filter((one) => one.value).map((one) => `${one.value} ${one.unit}`);
  const lines = (payload.lines ?? []).flatMap((line) => line.readings ?? []);
  const numbers = [...readings, ...lines];
  return numbers.length === 1 ? numbers[0].trim() : label ?? "";
}

// What the next page says of an entry that may be undone; nothing of one that may not.
export function undoOf(entry) {
  if (!UNDONE.includes(entry.kind) || entry.payload.shots?.length) return null;
  return { key: entry.key, what: whatOf(entry), by: entry.by, until: Date.now() + LASTS_MS };
}

export function drawUndo(undo, log) {
  const left = (undo?.until ?? 0) - Date.now();
  if (left <= 0) return;
  const told = undo.what ? say("Logged %(what)s.", undo) : say("Logged.");
  const key = draw("button", { type: "button", class: "key" }, say("Undo"));
  const words = telling("span", told);
  const toast = draw("div", { class: "toast", role: "status" }, shapeOf("done"), words, key);
  document.querySelector("main").append(toast);
  const away = setTimeout(() => toast.remove(), left);
  key.onclick = async () => {
    clearTimeout(away);
    key.remove();
    const sitting = ((await recall("sittings")) ?? {})[undo.by];
    const entry = { key: crypto.randomUUID(), kind: "undo", payload: { of: undo.key }, done: true, by: undo.by, sitting };
    try {
      const answer = await log([{ ...entry, label: say("Undo"), depends_on: [undo.key] }]);
      const states = { taken: say("Undone. Both stay readable."), waiting: say("Undone on this tablet. It goes up when there is a link.") };
      words.textContent = states[answer.state] ?? answer.words ?? say("It could not be undone. Correct it on its page.");
    } catch {
      words.textContent = say("It could not be undone. Correct it on its page.");
    }
    setTimeout(() => toast.remove(), LASTS_MS);
  };
}
