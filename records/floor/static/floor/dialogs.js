// Short asks over a floor screen: who is there, and a PIN. A badge that is scanned meanwhile answers too.
import { say } from "./say.js";
import { draw, note, telling } from "./screens.js";

// The code that a scanner read as a badge, wherever the page stands.
export function whenBadge(listen) {
  const hear = (event) => {
    event.preventDefault(); // somebody listens
    listen(event.detail.badge);
  };
  document.addEventListener("badge-scanned", hear);
  return () => document.removeEventListener("badge-scanned", hear);
}

export const isAsking = () => Boolean(document.querySelector("dialog.asking[open]"));

// Draw a dialog and wait: `fill(answer)` gives its content, and calls `answer` once. Escape and Leave it answer null.
function ask(heading, fill, onBadge) {
  return new Promise((resolve) => {
    const dialog = draw("dialog", { class: "asking", "aria-label": heading });
    const end = (told) => {
      unheard();
      dialog.close();
      dialog.remove();
      resolve(told);
    };
    const unheard = onBadge ? whenBadge((code) => end(onBadge(code))) : () => {};
    dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      end(null);
    });
    const leave = draw("button", { class: "key", type: "button", "data-leave": "yes" }, say("Leave it"));
    leave.onclick = () => end(null);
    dialog.append(telling("h2", heading), ...fill(end), draw("div", { class: "low" }, leave));
    (document.querySelector("main") ?? document.body).append(dialog);
    dialog.showModal();
  });
}

function keyed(words, small, act, look = "key") {
  const key = draw("button", { class: look, type: "button" }, draw("span", {}, words, small ? draw("small", {}, small) : ""));
  key.onclick = act;
  return key;
}

// One of a few answers, each {code, word, small}.
export function askOne(heading, hint, answers, onBadge) {
  return ask(heading, (end) => [
    hint ? draw("p", { class: "hint" }, hint) : "",
    draw("ul", { class: "keys" }, answers.map((one, n) => draw("li", {}, keyed(one.word, one.small, () => end(one.code), n ? "key" : "key solid")))),
  ], onBadge);
}

// A badge: scanned, typed, or by the tile of somebody who has been here. Gives {badge, scanned, tile}.
export function askBadge(heading, hint, people) {
  return ask(heading, (end) => {
    const typed = draw("input", { id: "typed-badge", autocomplete: "off", autocapitalize: "characters", spellcheck: "false" });
    const form = draw("form", { class: "scan" }, draw("label", { for: "typed-badge" }, say("Or type its code")), typed, draw("button", { class: "key" }, say("Take it")));
    form.onsubmit = (event) => {
      event.preventDefault();
      event.stopPropagation();
      if (typed.value.trim()) end({ badge: typed.value.trim(), scanned: false });
    };
    const tiles = people.map((one) => draw("li", {}, keyed(one.name, one.small, () => end({ badge: one.badge, scanned: false, tile: true }))));
    return [draw("p", { class: "hint" }, hint), draw("ul", { class: "keys" }, tiles), form];
  }, (badge) => ({ badge, scanned: true }));
}

const LEAST = 4;
const MOST = 8;

// The PIN of a person, or of a badge, on keys as large as all others here; what is typed is not shown.
export function askPin(name, problem) {
  return ask(say("PIN of %(name)s", { name }), (end) => {
    let pin = "";
    const shown = draw("output", { class: "pin-dots", "aria-live": "polite" });
    const enter = keyed(say("Come in"), "", () => end(pin), "key solid w");
    const show = () => {
      shown.textContent = "●".repeat(pin.length);
      shown.setAttribute("aria-label", say("%(count)s digits typed", { count: pin.length }));
      enter.disabled = pin.length < LEAST;
    };
    const type = (sign) => {
      if (pin.length < MOST) pin += sign;
      show();
    };
    const rub = () => {
      pin = pin.slice(0, -1);
      show();
    };
    const key = (sign) => keyed(sign, "", () => type(sign));
    const last = [keyed(say("Rub out"), "", rub, "key w"), key("0"), enter];
    const pad = draw("section", { class: "pad", "aria-label": say("Number pad") }, [..."123456789"].map(key), last);
    const frame = draw("div", { class: "pin-pad", tabindex: "-1" }, problem ? note("bad", problem, "alert") : "", shown);
    frame.onkeydown = pad.onkeydown = (event) => {
      if (/^\d$/.test(event.key)) type(event.key);
      else if (event.key === "Backspace") rub();
      else if (event.key === "Enter" && pin.length >= LEAST) end(pin);
      else return;
      event.preventDefault();
      event.stopPropagation();
    };
    queueMicrotask(() => frame.focus());
    show();
    return [frame, pad];
  });
}
