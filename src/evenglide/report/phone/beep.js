// The mark after a stated time: 3, 2, 1, beep; release on the beep; a second beep when the time is over.
// Both beeps are placed on the clock of the sound card, so whatever delays the one delays the other.

const LEAD_S = 3, STEADY_S = 0.01;

/** @param {AudioContext} context @param {number} at @param {number} pitch @param {number} length */
function tone(context, at, pitch, length) {
  const source = context.createOscillator(), loud = context.createGain();
  source.frequency.value = pitch;
  loud.gain.setValueAtTime(0.0001, at);
  loud.gain.exponentialRampToValueAtTime(0.9, at + 0.008);
  loud.gain.setValueAtTime(0.9, at + length - 0.02);
  loud.gain.exponentialRampToValueAtTime(0.0001, at + length);
  source.connect(loud).connect(context.destination);
  source.start(at);
  source.stop(at + length);
}

/**
 * Count down, beep for the release, beep again after a time.
 * @param {number} afterS
 * @param {{released: () => void, over: (errorS: number) => void, tick: (left: number) => void}} told
 * @returns {() => void} Stops it.
 */
export function countDown(afterS, told) {
  const context = new AudioContext();
  const begin = context.currentTime + 0.1, release = begin + LEAD_S;
  for (let second = 0; second < LEAD_S; second += 1) tone(context, begin + second, 660, 0.12);
  tone(context, release, 990, 0.4);
  tone(context, release + afterS, 1320, 0.7);
  const startedAt = performance.now(), audioAt = context.currentTime;
  let stage = 0, stopped = false;
  const watch = () => {
    if (stopped) return;
    const passed = context.currentTime - release;
    if (stage === 0) told.tick(Math.max(0, Math.ceil(-passed)));
    if (stage === 0 && passed >= 0) { stage = 1; told.released(); }
    if (stage === 1) told.tick(Math.max(0, afterS - passed));
    if (stage === 1 && passed >= afterS) {
      navigator.vibrate?.([300, 100, 300]);
      const bySystem = (performance.now() - startedAt) / 1000, bySound = context.currentTime - audioAt;
      told.over(Math.max(STEADY_S, Math.abs(bySystem - bySound)));
      setTimeout(() => context.close(), 1000);
      return;
    }
    setTimeout(watch, 20);
  };
  context.resume().then(watch);
  return () => { stopped = true; context.close(); };
}

/** An alarm that is heard with gloves on: for the end of a waiting time. */
export function alarm() {
  navigator.vibrate?.([400, 150, 400, 150, 400]);
  const context = new AudioContext();
  for (let at = 0; at < 3; at += 1) tone(context, context.currentTime + 0.05 + at * 0.5, 880, 0.3);
  setTimeout(() => context.close(), 2500);
}

/** Say something aloud, where the phone can. @param {string} words */
export function say(words) {
  if (!("speechSynthesis" in window)) return;
  speechSynthesis.cancel();
  const spoken = new SpeechSynthesisUtterance(words);
  spoken.lang = "en";
  speechSynthesis.speak(spoken);
}
