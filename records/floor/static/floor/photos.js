// Photos: taken with the tablet, made small and bare on it, kept beside the outbox, and sent ahead of their entry.
import { entries, forget, keptNames, recall, remember } from "./outbox.js";
import { say } from "./say.js";
import { draw, note } from "./screens.js";

const LONGEST_SIDE = 1600; // as records/ledger/photographs.py has it [px]
const QUALITY = 0.8;
const MOST = 12;
const UNSETTLED = ["waiting", "refused", "conflict"];
const nameOf = (hash) => `photo ${hash}`;
const listOf = (key) => `photos of ${key}`;

// A JPEG without whatever stands in it beside the picture: the marks of a browser would change its name on the server.
function bare(bytes) {
  const kept = [bytes.subarray(0, 2)];
  for (let at = 2; at + 4 <= bytes.length;) {
    const [marker, length] = [bytes[at + 1], bytes[at + 2] * 256 + bytes[at + 3]];
    if (marker === 0xda) { kept.push(bytes.subarray(at)); break; }
    const isHead = marker === 0xe0 && length === 16;
    if (isHead || !((marker >= 0xe0 && marker <= 0xef) || marker === 0xfe)) kept.push(bytes.subarray(at, at + 2 + length));
    at += 2 + length;
  }
  return new Blob(kept, { type: "image/jpeg" }).arrayBuffer();
}

async function shrunk(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
  const pen = canvas.getContext("2d", { alpha: false });
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  return bare(new Uint8Array(await blob.arrayBuffer()));
}

async function hashOf(bytes) {
  const hash = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(hash)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// Photos taken for an entry before it was logged; its key is known from its first screen on.
export async function photosOf(key) {
  return (await recall(listOf(key))) ?? [];
}

async function keep(key, file) {
  const bytes = await shrunk(file);
  const hash = await hashOf(bytes);
  await remember(nameOf(hash), { bytes, at: Date.now() });
  const list = await photosOf(key);
  if (!list.includes(hash)) await remember(listOf(key), [...list, hash].slice(0, MOST));
  // The photo is found under the key of this screen: the address keeps it, so that it outlives a reload.
  const here = new URL(location.href);
  here.searchParams.set("key", key);
  history.replaceState(null, "", here);
}

async function leaveOut(key, hash) {
  await remember(listOf(key), (await photosOf(key)).filter((one) => one !== hash));
}

export async function bytesOf(hash) {
  return (await recall(nameOf(hash)))?.bytes;
}

// Send the photos of entries that are about to go. One that can't go now keeps its own entry back, and no other.
export async function sendPhotos(batch, post) {
  for (const entry of batch) {
    for (const hash of entry.photos ?? []) {
      const photo = await recall(nameOf(hash));
      if (!photo || (photo.sent && entry.code !== "photo-missing")) continue;
      const isKept = await post(photo.bytes).catch(() => null);
      if (isKept === null) return;
      if (isKept) await remember(nameOf(hash), { ...photo, sent: true });
    }
  }
}

// Photos of an entry that goes as a plain form: those that the server has kept.
export async function sentAhead(key, post) {
  const gone = [];
  for (const hash of await photosOf(key).catch(() => [])) if (await post(await bytesOf(hash)).catch(() => false)) gone.push(hash);
  return gone;
}

// Photos that no entry waits with any more go; one that was taken for an entry still to be logged stays for a day.
export async function sweepPhotos() {
  const needed = new Set((await entries()).filter((one) => UNSETTLED.includes(one.state)).flatMap((one) => one.photos ?? []));
  for (const name of await keptNames(nameOf(""))) {
    const photo = await recall(name);
    if (!needed.has(name.slice(nameOf("").length)) && Date.now() - photo.at > 86_400_000) await forget(name);
  }
  const logged = new Map((await entries()).map((one) => [one.key, one]));
  for (const name of await keptNames(listOf(""))) if (logged.has(name.slice(listOf("").length))) await forget(name);
}

async function thumbnail(hash) {
  const bytes = await bytesOf(hash);
  const blob = new Blob([bytes], { type: "image/jpeg" });
  const address = await new Promise((resolve) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result);
    reader.readAsDataURL(blob);
  });
  return Object.assign(document.createElement("img"), { src: address, alt: say("Photo of this entry") });
}

// The screen before the press that logs has a key that takes a photo, and shows those that were taken.
export async function startPhotos() {
  const form = document.querySelector("form[data-entry]");
  const low = document.querySelector("main .low");
  if (!form || !low || !globalThis.createImageBitmap || !crypto.subtle) return;
  const key = form.elements.key.value;
  const input = draw("input", { type: "file", accept: "image/*", capture: "environment", class: "vh", id: "photo" });
  const taker = draw("label", { class: "key", for: "photo" }, say("Take a photo"));
  const shown = draw("ul", { class: "photos", "aria-label": say("Photos of this entry") });
  low.append(draw("span", { class: "taker" }, input, taker));
  low.before(shown);
  const redraw = async () => {
    const rows = (await photosOf(key)).map(async (hash) => {
      const out = draw("button", { type: "button", class: "key", "aria-label": say("Leave this photo out") }, say("Leave out"));
      out.onclick = () => leaveOut(key, hash).then(redraw);
      return draw("li", {}, await thumbnail(hash), out);
    });
    shown.replaceChildren(...(await Promise.all(rows)));
    taker.textContent = shown.childElementCount ? say("Take another photo") : say("Take a photo");
  };
  input.addEventListener("change", async () => {
    document.querySelector("[data-photo-fault]")?.remove();
    try {
      if (input.files[0]) await keep(key, input.files[0]);
    } catch (failure) {
      const full = failure?.name === "QuotaExceededError";
      const said = note("bad", full ? say("This tablet has no room for a photo. What you log goes without it.") : say("That is no picture. Take the photo once more."), "alert");
      said.dataset.photoFault = "yes";
      shown.before(said);
    }
    input.value = "";
    await redraw();
  });
  await redraw();
}
