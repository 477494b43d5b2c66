// Short sounds of the floor: a scan or an entry was taken, it was the same again, it was the wrong one, it is held. A hall is
// loud: tones lie far apart. How loud they are belongs to the tablet; what is held is always heard.
const USUAL = 0.5;
const LEAST_HELD = 0.5;
let context = null;

// How loud this tablet is, between nought and one.
function volume() {
  try {
    return Number(localStorage.getItem("volume") ?? USUAL);
  } catch {
    return USUAL;
  }
}

function tone(loud, pitch, length, from = 0, shape = "sine") {
  context ??= new AudioContext();
  const [source, gain] = [context.createOscillator(), context.createGain()];
  const start = context.currentTime + from;
  Object.assign(source, { type: shape });
  source.frequency.value = pitch;
  gain.gain.setValueAtTime(0.4 * loud, start);
  gain.gain.exponentialRampToValueAtTime(0.001, start + length);
  source.connect(gain).connect(context.destination);
  source.start(start);
  source.stop(start + length);
}

function sound(...tones) {
  soundAt(volume(), ...tones);
}

function soundAt(loud, ...tones) {
  document.dispatchEvent(new CustomEvent("sounded", { detail: tones.length }));
  if (!(loud > 0)) return;
  try {
    for (const one of tones) tone(loud, ...one);
  } catch {
    // a tablet without sound says the same in words
  }
}

export const tick = () => sound([1400, 0.03]);
export const taken = () => sound([880, 0.09], [1320, 0.12, 0.09]);
export const watch = () => sound([660, 0.25], [660, 0.25, 0.4]);
export const wrong = () => sound([196, 0.18, 0, "square"], [147, 0.32, 0.2, "square"]);
// What became of an entry, told before its words are read: taken is one short high, kept but marked two low ones, held one long.
export const logged = () => sound([1180, 0.12]);
export const marked = () => sound([247, 0.16], [247, 0.16, 0.24]);
export const held = () => soundAt(Math.max(volume(), LEAST_HELD), [330, 1.1, 0, "triangle"]);
