// The emergency sheet that lies at a station: named where this tablet can't log.
import { recall } from "./outbox.js";
import { say } from "./say.js";

const here = () => decodeURIComponent(location.pathname.match(/^\/floor\/at\/([^/]+)/)?.[1] ?? "");

// The sheet to take at the station of this page, else of this tablet; the newest of those that are out there.
export async function sheetHere() {
  const snapshot = await recall("snapshot").catch(() => null);
  return snapshot?.sheets_out?.[here() || snapshot?.tablet?.station]?.[0] ?? "";
}

// What to do on paper, as a sentence.
export async function sheetWords() {
  const sheet = await sheetHere();
  return sheet ? say("Use sheet %(sheet)s of this station.", { sheet }) : say("Ask your lead for a sheet.");
}
