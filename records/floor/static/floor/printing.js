// The label of a pot prints by itself once its clock has started; how that went stands on the next screen, and nothing waits for it.
import { post } from "./link.js";
import { say } from "./say.js";
import { note } from "./screens.js";

const NAME = "label";

// What the next screen is to print, of an entry that was just logged.
export function labelDue(entry) {
  if (entry.kind !== "mix") return null;
  return { code: entry.made ?? "", station: entry.payload.station ?? "", kept: entry.state === "waiting" };
}

const tell = (tone, words) => words && document.querySelector("main")?.prepend(note(tone, words));

export async function printDue() {
  const due = JSON.parse(sessionStorage.getItem(NAME) ?? "null");
  sessionStorage.removeItem(NAME);
  if (!due) return null;
  if (due.kept || !due.code) return tell("watch", say("No link: its label can’t be printed now. Write on the pot when its clock started; print the label once there is a link."));
  try {
    const answer = await post("/floor/labels/first/", due);
    return tell(answer.tone, answer.words);
  } catch {
    return tell("watch", say("The label of %(code)s did not print: no link. Write its code on the pot; print the label once there is a link.", due));
  }
}
