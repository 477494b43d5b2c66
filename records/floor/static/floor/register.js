// The page on which a tablet is registered: it makes its key, and takes up the number that the works gives it.
import { canSign, tabletKey } from "./keys.js";
import { device, remember } from "./outbox.js";
import { takeAlong } from "./link.js";
import { say } from "./say.js";

export async function startRegister() {
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
