// The screen of a list that is scanned: count, lines, what stays here, who takes them, and the press.
import { isReady, missing, toolOf } from "./lists.js";
import { say } from "./say.js";
import { readCode } from "./scans.js";
import { draw, note, shapeOf, telling, when } from "./screens.js";

const SHOWN = 6;
let on = null;

// Draw the list anew; `on` holds what is known, the list, its state, and what its keys do.
export function drawList(list_) {
  on = list_;
  const { main, list, state } = on;
  const n = state.lines.length;
  document.title = `${list.ask()}, Floor, Framethread`;
  const count = draw("output", { class: "count", "aria-label": say("%(n)s on the list", { n }) }, String(n));
  const head = draw("div", { class: "manyhead" }, count, draw("div", {}, telling("h1", list.ask()), draw("p", { class: "hint", "data-many-said": "yes", role: "status" }, lead())));
  const newest = [...state.lines].reverse();
  const shown = state.all ? newest : newest.slice(0, SHOWN);
  const rest = n - shown.length;
  const more = rest ? pressing(say("%(n)s more, show them", { n: rest }), () => { state.all = true; drawList(on); }) : null;
  const left = draw("section", { class: "ask-side" }, head, draw("ol", { class: "scanned" }, shown.map(row)), more, on.isTyping ? typing() : null, draw("div", { class: "low" }, on.call, on.isTyping ? null : pressing(say("Type a code"), () => { on.isTyping = true; drawList(on); document.querySelector("#typed").focus(); }), draw("a", { class: "key", href: `/floor/at/${encodeURIComponent(on.station.code)}/` }, say("Leave it"))));
  main.querySelector(".work")?.remove();
  main.querySelector("[data-soon]")?.remove();
  main.querySelector("[data-many]")?.remove(); // its frame: an empty one would push the press off the screen
  main.prepend(draw("div", { class: "work work--many" }, left, side(), foot()));
}

function lead() {
  const { known, list, state } = on;
  const kind = toolOf(known, list);
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
  return draw("li", {}, shapeOf("done"), draw("span", {}, draw("b", { class: "code" }, line.code), draw("small", {}, line.what)), amount, pressing(say("Take out"), () => on.takeOut(line.code), say("Take %(code)s out", { code: line.code })));
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
  const parts = [];
  if (state.held.length) {
    const rows = state.held.map((one) => draw("li", {}, draw("b", { class: "code" }, one.code), draw("small", {}, say("Held since %(since)s: %(why)s. Put it on the red shelf.", { since: when(one.at), why: one.why }))));
    const words = state.held.length === 1 ? say("1 is held and stays here") : say("%(n)s are held and stay here", { n: state.held.length });
    parts.push(draw("h2", { class: "stays" }, shapeOf("held"), words), draw("ol", { class: "heldones" }, rows));
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
  const entries = list.one ? say("1 entry with all of them") : say("%(n)s entries, one for each", { n });
  button.querySelector("small").textContent = state.held.length ? say("%(n)s go, %(held)s stay here", { n, held: state.held.length }) : entries;
}

