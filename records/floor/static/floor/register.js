// The page on which a tablet is registered: it makes its key, and takes up the number that the works gives it.
import { canSign, tabletKey } from "./keys.js";
import { device, remember } from "./outbox.js";
import { takeAlong } from "./link.js";
import { say } from "./say.js";

const OWN = ["data_matrix", "qr_code"];

const LOOK_AGAIN_MS = 2_000;

// Whether the camera reads symbols without a link: by the browser itself, or by the decoder that the worker keeps.
async function tellCamera() {
  const line = document.querySelector("[data-decoder]");
  if (!line || !globalThis.caches) return;
  const own = "BarcodeDetector" in globalThis ? await BarcodeDetector.getSupportedFormats().catch(() => []) : [];
  const kept = await Promise.all(line.dataset.decoder.split(" ").map((address) => caches.match(address)));
  const isHere = OWN.every((format) => own.includes(format)) || kept.every(Boolean);
  line.textContent = isHere ? say("The camera of this tablet reads symbols without a link too.") : say("The camera reads symbols only with a link yet: what it needs comes by itself while there is one.");
  if (!isHere) setTimeout(tellCamera, LOOK_AGAIN_MS);
}

export async function startRegister() {
  tellCamera().catch(() => {});
  const [named, form] = [document.querySelector("[data-tablet]"), document.querySelector("form[data-register]")];
  if (!(named || form) || !canSign()) return;
  const { public: own } = await tabletKey();
  if (named?.dataset.key === own) {
    await remember("device", named.dataset.tablet);
    await takeAlong(true);
  }
  if (!form) return;
  form.elements.public_key.value = own;
  const [from, told] = [await device(), document.querySelector("[data-is-tablet]")];
  told.hidden = !from.startsWith("TB-");
  told.querySelector("span").textContent = say("This tablet is %(code)s already.", { code: from });
}
