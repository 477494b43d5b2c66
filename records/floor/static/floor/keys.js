// Keys that are made on this tablet and can't leave it: the tablet's own, and one of each person who signs in here.
import { canonical, signedText } from "./canonical.js";
import { asSent, change, entries, recall, remember } from "./outbox.js";

const CURVE = { name: "ECDSA", namedCurve: "P-256" };
const SIGNS = { name: "ECDSA", hash: "SHA-256" };
const subtle = globalThis.crypto?.subtle; // a page of plain http has none

export const canSign = () => Boolean(subtle);

function told(bytes) {
  return btoa(String.fromCharCode(...new Uint8Array(bytes))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

// The private half is not extractable: no script reads it, it only signs.
async function newKey() {
  const pair = await subtle.generateKey(CURVE, false, ["sign", "verify"]);
  return { private: pair.privateKey, public: told(await subtle.exportKey("raw", pair.publicKey)) };
}

async function signature(key, text) {
  return told(await subtle.sign(SIGNS, key.private, new TextEncoder().encode(text)));
}

// The key of this tablet; made when it is asked for the first time.
export async function tabletKey() {
  const kept = await recall("tablet-key");
  if (kept) return kept;
  const key = await newKey();
  await remember("tablet-key", key);
  return key;
}

// What the tablet signs when somebody comes in here; with the person's key where no PIN is given.
export async function proofOf(badge, device, line, withKey) {
  const text = canonical({ badge, device, line, what: "sign-in" });
  const proof = await signature(await tabletKey(), text);
  const own = withKey ? (await recall("keys"))?.[badge] : null;
  return own ? { proof, signer: own.public, signature: await signature(own, text) } : { proof };
}

export async function hasKey(badge) {
  return Boolean((await recall("keys"))?.[badge]);
}

// A key of whoever has just signed in here; the server takes its public half before anything is signed by it. One at a
// time, however many pages ask: the second would take the place of the first.
export function makeOwnKey(badge, tell) {
  const make = async () => {
    if (!canSign() || (await hasKey(badge))) return;
    const untold = (await recall("keys-untold")) ?? {}; // made, and the page was left before the server had answered
    const key = untold[badge] ?? (await newKey());
    await remember("keys-untold", { ...untold, [badge]: key });
    if (await tell(key.public)) await remember("keys", { ...(await recall("keys")), [badge]: key });
  };
  return navigator.locks ? navigator.locks.request("framethread-keys", make) : make();
}

// What is still to be signed goes up only afterwards.
export const isUnsigned = ({ signer, signature: signed, second }) => Boolean((signer && !signed) || (second?.signer && !second.signature));

// Sign what waits: by its maker, and by the second person. Where a key is gone the entry goes without its signature.
export async function signWaiting() {
  const keys = (await recall("keys")) ?? {};
  for (const entry of (await entries("waiting")).filter(isUnsigned)) {
    const { by, second } = entry;
    if (keys[by]?.public !== entry.signer) entry.signer = "";
    if (second && keys[second.by]?.public !== second.signer) second.signer = "";
    const text = signedText(asSent(entry));
    const what = { signer: entry.signer, second };
    if (entry.signer) what.signature = await signature(keys[by], text);
    if (second?.signer) what.second = { ...second, signature: await signature(keys[second.by], text) };
    await change(entry.key, what);
  }
}
