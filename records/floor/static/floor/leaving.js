// The unsent entries as codes on this screen, for another tablet to read: the same file as is saved, deflated, in pieces of
// one symbol each. The form of a line stands in records/floor/codes.py.
import { say } from "./say.js";
import { draw, note, telling } from "./screens.js";

const MARK = "FTC";
const SIGNS = "0123456789ABCDEFGHJKLMNPQRSTUVWX"; // none that keyboard layouts swap or eyes mistake
const PIECE = 640; // signs; with its head a symbol of some 90 by 90 modules, large enough on a tablet's screen
const BY_ITSELF_MS = 2_500;

async function deflated(text) {
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

function signsOf(bytes) {
  let [text, held, bits] = ["", 0, 0];
  for (const byte of bytes) {
    held = (held << 8) | byte;
    bits += 8;
    while (bits >= 5) {
      bits -= 5;
      text += SIGNS[(held >> bits) & 31];
    }
    held &= (1 << bits) - 1;
  }
  return bits ? text + SIGNS[(held << (5 - bits)) & 31] : text;
}

async function sumOf(text, signs) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)));
  return [...hash].map((byte) => byte.toString(16).padStart(2, "0")).join("").slice(0, signs).toUpperCase();
}

// Lines of a file, one a symbol.
async function linesOf(file) {
  const whole = signsOf(await deflated(file));
  const of = await sumOf(whole, 8);
  const pieces = whole.match(new RegExp(`.{1,${PIECE}}`, "g"));
  return Promise.all(pieces.map(async (piece, index) => [MARK, of, index + 1, pieces.length, await sumOf(piece, 4), piece].join(".")));
}

// Show the symbols one after the other, by hand or by themselves.
export async function showCodes(main, { text, photos }, done) {
  const { correction, generate, mode } = await import("../vendor/lean-qr/index.mjs");
  const lines = await linesOf(text);
  const canvas = draw("canvas", { class: "symbol", role: "img" });
  const count = telling("output", "");
  let [at, running] = [0, null];
  const show = (n) => {
    at = (n + lines.length) % lines.length;
    generate(mode.alphaNumeric(lines[at]), { minCorrectionLevel: correction.M }).toCanvas(canvas);
    count.textContent = say("Code %(n)s of %(many)s", { n: at + 1, many: lines.length });
    canvas.setAttribute("aria-label", count.textContent);
  };
  const stopRunning = () => { clearInterval(running); running = null; };
  const key = (words, act) => {
    const made = draw("button", { class: "key", type: "button" }, words);
    made.onclick = act;
    return made;
  };
  const step = (by) => () => { stopRunning(); show(at + by); };
  const run = () => { stopRunning(); running = setInterval(() => (canvas.isConnected ? show(at + 1) : stopRunning()), BY_ITSELF_MS); };
  const keys = draw("div", { class: "low" }, key(say("The one before"), step(-1)), key(say("Next code"), step(1)), key(say("Run through by itself"), run), key(say("Back to what is kept"), () => { stopRunning(); done(); }));
  const says = draw("p", { class: "hint" }, say("On the other tablet open Floor, Read another tablet’s codes, and scan each. What was taken is taken once; it stays here too until it has gone up."));
  const some = photos === 1 ? say("1 photo stays on this tablet: codes carry none. Its entry waits for it.") : say("%(count)s photos stay on this tablet: codes carry none. Their entries wait for them.", { count: photos });
  const left = photos ? note("watch", `${some} ${say("Save to a file takes photos along.")}`) : "";
  main.replaceChildren(telling("h1", say("Let another tablet read these")), says, left, draw("div", { class: "symbols" }, canvas, draw("div", {}, count, keys)));
  show(0);
}
