// Another tablet's codes, read one after the other: which were read, which are missing, and taken in once all are there.
// They are kept on this tablet as they come, so that a reload or a time without a link loses none.
import { recall, remember } from "./outbox.js";
import { say } from "./say.js";
import { taken, tick, wrong } from "./sounds.js";

const LINE = /^FTC\.([0-9A-F]{8})\.(\d{1,4})\.(\d{1,4})\.([0-9A-F]{4})\.[0-9A-HJ-NP-X]+$/;
const KEPT = "codes read";

function partsOf(line) {
  const match = LINE.exec(line);
  return match && { of: match[1], n: Number(match[2]), many: Number(match[3]) };
}

function draw(form, lines, said = "") {
  form.elements.lines.value = lines.join("\n");
  const first = lines.length ? partsOf(lines[0]) : null;
  const read = new Set(lines.map((line) => partsOf(line).n));
  const missing = first ? Array.from({ length: first.many }, (_, index) => index + 1).filter((n) => !read.has(n)) : [];
  const told = first ? say("%(read)s of %(many)s are read.", { read: read.size, many: first.many }) : say("None is read yet.");
  const lacks = first && missing.length ? say("Missing: %(missing)s.", { missing: missing.slice(0, 12).join(", ") }) : "";
  document.querySelector("[data-codes-told]").textContent = [said, told, lacks].filter(Boolean).join(" ");
  return Boolean(first) && !missing.length;
}

// It listens at once: whoever scans while the page is still looking at what it keeps is heard, one after the other.
export function startCodes() {
  const form = document.querySelector("form[data-codes]");
  if (!form) return;
  let lines = [];
  const look = async () => {
    if (form.dataset.codes === "taken") await remember(KEPT, []);
    lines = (await recall(KEPT)) ?? [];
    draw(form, lines);
  };
  let turn = look().catch(() => {});
  const take = async (text) => {
    const line = text.replace(/\s+/g, "").toUpperCase();
    const parts = partsOf(line);
    if (!parts) return wrong();
    const before = lines.length ? partsOf(lines[0]) : null;
    const isNew = before && before.of !== parts.of;
    if (lines.includes(line)) return tick();
    lines = isNew ? [line] : [...lines, line];
    await remember(KEPT, lines);
    taken();
    if (draw(form, lines, isNew ? say("These are other codes: what was read before was left.") : "")) form.requestSubmit();
    return null;
  };
  document.addEventListener("scanned", (event) => {
    event.preventDefault();
    turn = turn.then(() => take(event.detail.text)).catch(() => {});
  });
  form.querySelector("[data-begin-again]").onclick = async () => {
    lines = [];
    await remember(KEPT, lines);
    draw(form, lines);
  };
}
