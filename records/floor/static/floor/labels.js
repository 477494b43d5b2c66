// A label is scanned back once it is stuck on: the first scan of one that waits for it is noted, by whoever scans it.
import { signWaiting } from "./keys.js";
import { send } from "./link.js";
import { entries, put, recall } from "./outbox.js";
import { say } from "./say.js";
import { readScan } from "./scans.js";

function scanOf(text) {
  try {
    return readScan(text);
  } catch {
    return null;
  }
}

// Note that a label was read back where the house waits for it; nothing else comes of it.
export async function noteLabel(text) {
  const scan = scanOf(text);
  if (!scan?.copy) return;
  const snapshot = await recall("snapshot");
  const waits = snapshot?.labels?.some(([code, copy]) => code.toUpperCase() === scan.code && copy === scan.copy);
  const before = waits && (await entries()).some((entry) => entry.kind === "label" && entry.payload.symbol === text);
  if (!waits || before) return;
  const by = (await recall("active")) ?? snapshot.you.badge;
  if (!snapshot.people.find((one) => one.badge === by)?.acts.includes("label checked")) return;
  const sitting = ((await recall("sittings")) ?? {})[by];
  await put([{ key: crypto.randomUUID(), kind: "label", payload: { symbol: text }, by, sitting, done: true, label: say("Label of %(code)s read back", { code: scan.code }) }]);
  await signWaiting();
  send();
}
