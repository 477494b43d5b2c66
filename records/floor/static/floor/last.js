// The press that takes the last answer and logs: the entry is asked of the server, or made here where the screen was drawn here.
import { lost } from "./link.js";

const PATIENCE_MS = 4_000;

// The entry of a pressed form; nothing where more is asked first: then that screen is opened.
export async function lastEntry(form, button) {
  const answers = new URLSearchParams(new FormData(form));
  if (button?.name) answers.set(button.name, button.value);
  for (const name of ["csrfmiddlewaretoken", "made_at"]) answers.delete(name);
  const address = `${location.pathname}?${answers}`;
  const entry = form.entryOf ? form.entryOf(Object.fromEntries(answers)) : await asked(address);
  if (!entry) location.assign(address);
  return entry;
}

async function asked(address) {
  try {
    const answer = await fetch(address, { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(PATIENCE_MS) });
    return answer.ok ? (await answer.json()).entry : null;
  } catch {
    await lost(); // the same address is drawn from the tablet
    return null;
  }
}
