// Short sounds of the floor: a scan was taken, it was the same again, it was the wrong one. A hall is loud: tones lie far apart.
let context = null;

function tone(pitch, length, from = 0, shape = "sine") {
  context ??= new AudioContext();
  const [source, volume] = [context.createOscillator(), context.createGain()];
  const start = context.currentTime + from;
  Object.assign(source, { type: shape });
  source.frequency.value = pitch;
  volume.gain.setValueAtTime(0.2, start);
  volume.gain.exponentialRampToValueAtTime(0.001, start + length);
  source.connect(volume).connect(context.destination);
  source.start(start);
  source.stop(start + length);
}

function sound(...tones) {
  document.dispatchEvent(new CustomEvent("sounded", { detail: tones.length }));
  try {
    for (const one of tones) tone(...one);
  } catch {
    // a tablet without sound says the same in words
  }
}

export const tick = () => sound([1400, 0.03]);
export const taken = () => sound([880, 0.09], [1320, 0.12, 0.09]);
export const watch = () => sound([660, 0.25], [660, 0.25, 0.4]);
export const wrong = () => sound([196, 0.18, 0, "square"], [147, 0.32, 0.2, "square"]);
