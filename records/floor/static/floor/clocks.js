// What time it is by this tablet, and whether its clock can be believed: far off at last contact, or put on or back since.
const FAR_MS = 10 * 60_000; // interface.md 3.7, common practice

// When an entry was made, by the clock of the works; what was typed from paper and is no time stands as it is.
export function madeAt({ made_at, offset_ms = 0 }) {
  const at = Date.parse(made_at) + offset_ms;
  return Number.isNaN(at) ? made_at : new Date(at).toISOString();
}

const drift = () => Date.now() - (performance.timeOrigin + performance.now());

// What is noted with the offset at each contact, so that a jump before it counts no more.
export const clockNow = () => ({ origin: performance.timeOrigin, drift: drift() });

// The clock against the one that no setting moves, since this page began or last contact; and against the last entry kept.
export function isUnsure(clock, lastMadeAt) {
  const before = clock.origin === performance.timeOrigin ? clock.drift : 0;
  const jumped = Math.abs(drift() - before) > FAR_MS;
  const wentBack = lastMadeAt && Date.parse(lastMadeAt) - Date.now() > FAR_MS;
  return Boolean(Math.abs(clock.offset_ms) > FAR_MS || jumped || wentBack);
}
