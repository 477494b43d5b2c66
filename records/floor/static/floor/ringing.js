// On the pages of whoever is told: calls that ring and things that are held, looked for every ten seconds, with a sound
// for each new one. What stood here while the page was in front has been seen, and whoever called is told so.
const POLL_MS = 10_000;
const strip = document.querySelector("[data-calls]");
const kept = (name) => `${name} ${strip.dataset.reader}`;
const recalled = (name) => JSON.parse(sessionStorage.getItem(kept(name)) ?? "[]");
const keep = (name, told) => sessionStorage.setItem(kept(name), JSON.stringify(told));

// Two short tones, low and high; a page that nobody has touched yet may not sound, its words stand all the same.
function ring() {
  const sound = new AudioContext();
  [660, 880].forEach((pitch, n) => {
    const tone = new OscillatorNode(sound, { frequency: pitch });
    tone.connect(new GainNode(sound, { gain: 0.25 })).connect(sound.destination);
    tone.start(sound.currentTime + n * 0.22);
    tone.stop(sound.currentTime + n * 0.22 + 0.18);
  });
}

function draw(rows) {
  if (strip.dataset.shown === JSON.stringify(rows)) return;
  strip.dataset.shown = JSON.stringify(rows);
  strip.replaceChildren(...rows.map((row) => {
    const line = document.createElement("a");
    line.href = row.address;
    line.textContent = row.words;
    line.className = `told-${row.kind}`;
    // What is held stays until it is opened: to have seen it is not yet to have done something about it.
    if (row.kind === "hold") line.onclick = () => keep("held", recalled("held").filter((one) => one.key !== row.key));
    return line;
  }));
}

// The server tells of a hold until it was seen; from then on this window keeps it.
function withHeld(told) {
  const held = [...recalled("held"), ...told.filter((row) => row.kind === "hold")];
  const once = [...new Map(held.map((row) => [row.key, row])).values()];
  keep("held", once);
  return [...told.filter((row) => row.kind === "call"), ...once];
}

async function look() {
  if (!document.hidden) {
    try {
      const answer = await fetch(strip.dataset.calls, { signal: AbortSignal.timeout(POLL_MS) });
      if (answer.ok && !answer.redirected) {
        const { calls } = await answer.json();
        draw(withHeld(calls));
        const heard = new Set(recalled("heard"));
        const fresh = calls.filter((row) => !heard.has(row.key));
        if (fresh.length) await tellSeen(fresh, heard);
      }
    } catch { /* no link: it is looked for again */ }
  }
  setTimeout(look, POLL_MS);
}

async function tellSeen(fresh, heard) {
  ring();
  const headers = { "Content-Type": "application/json", "X-CSRFToken": strip.dataset.token };
  const body = JSON.stringify({ keys: fresh.map((row) => row.key) });
  const told = await fetch(strip.dataset.seen, { method: "POST", headers, body, signal: AbortSignal.timeout(POLL_MS) });
  if (told.ok) keep("heard", [...heard, ...fresh.map((row) => row.key)]);
}

if (strip) look();
