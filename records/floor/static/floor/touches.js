// How few touches a step takes: scans and presses are counted from its first one to the log and told with its entry.
// Digits are left out, as are the bar and the call for the lead. It tells of the screens, never of a person.
const KEPT = "touches";
const NOT_COUNTED = ".pad, .fbar, form.call, dialog, .foot";

function touch() {
  const told = JSON.parse(sessionStorage.getItem(KEPT) ?? "null") ?? { touches: 0, at: Date.now() };
  sessionStorage.setItem(KEPT, JSON.stringify({ ...told, touches: told.touches + 1 }));
}

// Taken once: what comes after the log is another step.
export function figuresTold() {
  const told = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
  sessionStorage.removeItem(KEPT);
  return told ? { touches: told.touches, ms: Math.max(0, Date.now() - told.at) } : undefined;
}

export function startTouches() {
  // At the start of a station nothing is begun; a code in its address was scanned for the next screen.
  const isStart = /^\/floor\/at\/[^/]+\/$/.test(location.pathname) && !location.search;
  if (isStart || !location.pathname.startsWith("/floor/at/")) sessionStorage.removeItem(KEPT);
  document.addEventListener("click", (event) => {
    const key = event.target.closest?.("button, a, summary");
    if (key && event.isTrusted && !key.closest(NOT_COUNTED)) touch();
  }, true);
  document.addEventListener("scanned", touch);
}
