// What was waited for and has come due, on the first page of the floor and of the station where it stands: from the times
// that came along with the snapshot, so that a tablet without a link tells it too. One sound where this tablet stands.
import { recall, remember } from "./outbox.js";
import { restOf } from "./resting.js";
import { rules } from "./rules.js";
import { say } from "./say.js";
import { draw, sayFirst, shapeOf, telling, when } from "./screens.js";
import { watch } from "./sounds.js";

const EVERY_MS = 10_000;
const STANDS_MS = 12 * 3_600_000;
const START = /^\/floor\/(?:at\/([^/]+)\/)?$/;
const station = () => decodeURIComponent(location.pathname.match(/^\/floor\/at\/([^/]+)/)?.[1] ?? "");

function words(one, now) {
  const told = { ...one, at: when(one.ends) };
  if (one.what === "again") return say("%(code)s: read %(name)s again now. It was %(value)s at first.", told);
  if (one.what === "rested") return say("%(code)s: %(name)s may be logged from %(at)s on.", told);
  if (one.what === "thawed") return say("%(code)s is thawed since %(at)s: it may be opened.", told);
  if (one.what === "used-up") return say("%(code)s: %(value)s is left of its release at risk, and it is not accepted yet. Ask Review.", told);
  if (one.what === "risk") return say("%(code)s: its release at risk ends %(at)s and it is not accepted yet. Ask Review.", told);
  if (Date.parse(one.ends) <= now) return say("%(code)s: its time open or out of the freezer ended %(at)s. Do not use it.", told);
  return say("%(code)s: its time open or out of the freezer ends %(at)s. Use it first.", told);
}

function drawDue(rows, now) {
  const start = START.test(location.pathname);
  let list = document.querySelector("[data-due]");
  if (!start || !rows.length) return list?.remove();
  if (!list) {
    list = draw("ul", { class: "due", "data-due": "yes", role: "status" });
    sayFirst(list);
  }
  list.setAttribute("aria-label", say("Due now"));
  const lines = rows.map((one) => words(one, now));
  if (list.dataset.shown === lines.join("\n")) return null;
  list.dataset.shown = lines.join("\n");
  return list.replaceChildren(...lines.map((line) => draw("li", {}, shapeOf("signal"), telling("span", line))));
}

// Units whose rest is over, what was logged here without a link included; told for a shift, as the server does.
function rested(known, now) {
  const told = [...known.units.values()].map((unit) => [unit, restOf(known, unit)]).filter(([, rest]) => rest && Date.parse(rest.until) >= now - STANDS_MS);
  return told.map(([unit, { step, until }]) => ({ what: "rested", code: unit.code, station: unit.station, name: step, at: until, ends: until, value: "" }));
}

async function look() {
  const known = await rules().catch(() => null);
  if (!known?.snapshot.due) return;
  const now = Date.now() + ((await recall("clock"))?.offset_ms ?? 0);
  const here = station();
  const due = [...known.snapshot.due, ...rested(known, now)].filter((one) => Date.parse(one.at) <= now && (!here || one.station === here)).sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  drawDue(due, now);
  if (!here || !due.length) return;
  const heard = (await recall("due-heard")) ?? [];
  const keys = due.map((one) => `${one.what} ${one.code} ${one.name} ${one.ends}`);
  if (keys.every((key) => heard.includes(key))) return;
  await remember("due-heard", [...new Set([...heard, ...keys])].slice(-200));
  watch();
}

export async function startDue() {
  await look().catch(() => {});
  setTimeout(startDue, EVERY_MS);
}
