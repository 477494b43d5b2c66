// On the pages of whoever answers: calls that ring, looked for every ten seconds, with a sound for each new one.
const POLL_MS = 10_000;
const strip = document.querySelector("[data-calls]");
const heard = new Set(JSON.parse(sessionStorage.getItem("heard") ?? "[]"));

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

function draw(calls) {
  const rows = calls.map((call) => {
    const row = document.createElement("a");
    row.href = call.address;
    row.textContent = call.words;
    return row;
  });
  if (strip.dataset.shown === JSON.stringify(calls)) return;
  strip.dataset.shown = JSON.stringify(calls);
  strip.replaceChildren(...rows);
}

async function look() {
  if (!document.hidden) {
    try {
      const answer = await fetch(strip.dataset.calls, { signal: AbortSignal.timeout(POLL_MS) });
      if (answer.ok && !answer.redirected) {
        const { calls } = await answer.json();
        draw(calls);
        const fresh = calls.filter((call) => !heard.has(call.key));
        fresh.forEach((call) => heard.add(call.key));
        sessionStorage.setItem("heard", JSON.stringify([...heard]));
        if (fresh.length) ring();
      }
    } catch { /* no link: it is looked for again */ }
  }
  setTimeout(look, POLL_MS);
}

if (strip) look();
