// The screen of a list that is scanned: count, lines, what stays here, who takes them, and the press.
import { carrierWord } from "./copies.js";
import { halfOf, isReady, missing, toolOf } from "./lists.js";
import { state as linkState } from "./link.js";
import { say } from "./say.js";
import { readCode } from "./scans.js";
import { clockAt, draw, note, shapeOf, telling, when } from "./screens.js";

const SHOWN = 6;
let on = null;

// Draw the list anew; `on` holds what is known, the list, its state, and what its keys do.
export function drawList(list_) {
  on = list_;
  const { main, list, state } = on;
  const n = state.lines.length;
  document.title = `${asks()}, Floor, Framethread`;
  const count = draw("output", { class: "count", "aria-label": say("%(n)s on the list", { n }) }, String(n));
  const head = draw("div", { class: "manyhead" }, count, draw("div", {}, telling("h1", asks()), draw("p", { class: "hint", "data-many-said": "yes", role: "status" }, lead())));
  const newest = [...state.lines].reverse();
  const shown = state.all ? newest : newest.slice(0, SHOWN);
  const rest = n - shown.length;
  const more = rest ? pressing(say("%(n)s more, show them", { n: rest }), () => { state.all = true; drawList(on); }) : null;
  const left = draw("section", { class: "ask-side" }, head, draw("ol", { class: "scanned" }, shown.map(row)), more, on.isTyping ? typing() : null, draw("div", { class: "low" }, on.call, on.isTyping ? null : pressing(say("Type a code"), () => { on.isTyping = true; drawList(on); document.querySelector("#typed").focus(); }), draw("a", { class: "key", href: `/floor/at/${encodeURIComponent(on.station.code)}/` }, say("Leave it"))));
  main.querySelector(".work")?.remove();
  main.querySelector("[data-soon]")?.remove();
  main.querySelector("[data-many]")?.remove(); // its frame: an empty one would push the press off the screen
  main.append(draw("div", { class: "work work--many" }, left, side(), foot()));
}

// What is scanned next: a unit, or what was just put on the last one.
function asks() {
  const half = halfOf(on.state);
  return half ? say("Scan the %(thing)s of %(code)s", { thing: carrierWord(half.needs), code: half.code }) : on.list.ask();
}

function lead() {
  const { known, list, state } = on;
  const kind = toolOf(known, list);
  if (halfOf(state)) return say("Put it on first: the scan shows that it can be read.");
  if (kind && !state.tool) return say("Scan the %(kind)s too.", { kind });
  return state.lines.length ? say("The newest stands first.") : say("Nothing is logged before the press.");
}

function row(line) {
  const amount = line.unit ? draw("label", { class: "found" }, draw("input", { inputmode: "decimal", autocomplete: "off", value: line.amount, "data-amount": line.code, "aria-label": say("How much of %(code)s?", { code: line.code }) }), line.unit) : null;
  amount?.querySelector("input").addEventListener("input", (event) => {
    Object.assign(line, { amount: event.target.value.trim() });
    on.state.key = crypto.randomUUID();
    on.keep().then(press);
  });
  const isHalf = line === halfOf(on.state);
  const bare = isHalf ? pressing(say("It has none yet"), () => on.leaveBare(line.code)) : null;
  const what = line.needs && !isHalf ? `${line.what}, ${line.carrier ? say("%(thing)s scanned", { thing: carrierWord(line.needs) }) : say("It has none yet")}` : line.what;
  return draw("li", {}, shapeOf(isHalf ? "waiting" : "done"), draw("span", {}, draw("b", { class: "code" }, line.code), draw("small", {}, what)), amount ?? bare, pressing(say("Take out"), () => on.takeOut(line.code), say("Take %(code)s out", { code: line.code })));
}

function pressing(words, act, name = "") {
  const key = draw("button", { class: "key", type: "button", "aria-label": name }, words);
  key.onclick = act;
  return key;
}

// A code typed by hand: as good as a scan.
function typing() {
  const field = draw("input", { id: "typed", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", "aria-label": say("Type a code") });
  const form = draw("form", { class: "scan typed" }, field, draw("button", { class: "key" }, say("Take it")));
  form.onsubmit = (event) => {
    event.preventDefault();
    on.isTyping = false;
    if (field.value.trim()) on.add(field.value, readCode(field.value));
    else drawList(on);
  };
  return form;
}

function side() {
  const { known, list, state } = on;
  const asOf = draw("p", { class: "hint as-of" });
  tellAsOf(asOf);
  const parts = [asOf];
  if (state.held.length) {
    const [full, rest] = [state.held.slice(-1), state.held.slice(0, -1)]; // each was told as it was scanned
    const rows = full.map((one) => draw("li", {}, draw("b", { class: "code" }, one.code), draw("small", {}, one.words ?? say("Held since %(since)s: %(why)s. Put it on the red shelf.", { since: when(one.at), why: one.why }))));
    const words = staying(state.held);
    parts.push(draw("h2", { class: "stays" }, shapeOf("held"), words), draw("ol", { class: "heldones" }, rows, rest.length ? draw("li", {}, draw("b", { class: "code" }, rest.map((one) => one.code).join(", "))) : null));
  }
  if (list.name === "back") {
    for (const one of missing(known, state.lines.map((line) => line.code))) {
      const all = { back: one.back, of: one.units.length, code: one.code, missing: one.missing.join(", ") };
      parts.push(note(one.missing.length ? "watch" : "good", one.missing.length ? say("%(code)s: %(back)s of %(of)s are back. Missing: %(missing)s.", all) : say("%(code)s: all %(of)s are back.", all)));
    }
  }
  if (list.to) parts.push(...receivers());
  return draw("section", { class: "side" }, parts);
}

// How many stay here, in words.
export function staying(left) {
  const n = left.length;
  if (left.some((one) => one.words)) return n === 1 ? say("1 stays here") : say("%(n)s stay here", { n });
  return n === 1 ? say("1 is held and stays here") : say("%(n)s are held and stay here", { n });
}

// Without a link everything is judged by what was known at the last contact: its time stands with the list.
async function tellAsOf(line) {
  if ((await linkState()).is !== "linked") line.textContent = say("No link. Rules, holds and lots as of %(at)s.", { at: clockAt(on.known.as_of) });
}

function receivers() {
  const { known, state } = on;
  const set = (to) => { Object.assign(state, { to, key: crypto.randomUUID() }); on.keep().then(press); };
  const field = draw("input", { id: "to", autocomplete: "off", value: state.to, maxlength: "120" });
  field.addEventListener("input", () => set(field.value.trim()));
  const keys = known.snapshot.many.parties[on.list.name].slice(0, 4).map((name) => pressing(name, () => { set(name); field.value = name; }));
  return [draw("label", { for: "to" }, telling("h2", say("Who takes them?"))), draw("div", { class: "scan" }, field), draw("div", { class: "takers" }, keys)];
}

function foot() {
  const bar = draw("form", { class: "logrow", "data-many-press": "yes" }, draw("button", { class: "log" }, shapeOf("released"), draw("span", {}), draw("small", {})));
  bar.onsubmit = (event) => { event.preventDefault(); on.log(); };
  queueMicrotask(press);
  return bar;
}

function press() {
  const { list, state } = on;
  const button = document.querySelector("[data-many-press] button");
  if (!button) return;
  button.disabled = !isReady(on);
  const n = state.lines.length;
  button.querySelector("span").textContent = list.press(n, state.to, list.told);
  const half = halfOf(state);
  if (half) {
    button.querySelector("small").textContent = say("The %(thing)s of %(code)s is not scanned yet.", { thing: carrierWord(half.needs), code: half.code });
    return;
  }
  const entries = list.one ? say("1 entry with all of them") : say("%(n)s entries, one for each", { n });
  button.querySelector("small").textContent = state.held.length ? say("%(n)s go, %(held)s stay here", { n, held: state.held.length }) : entries;
}

