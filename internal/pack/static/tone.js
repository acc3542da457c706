// A plain tone, for lessons without recordings: it is made where it sounds and nothing is fetched.
"use strict";
// plainTone lets a key (as MIDI counts them) sound from one time of an audio context to another,
// as loud as a velocity of 1 to 127, and dying away as a struck string does.
window.plainTone = (context, out, key, velocity, from, to) => {
  const source = context.createOscillator(), gain = context.createGain();
  source.type = "triangle";
  source.frequency.value = 440 * 2 ** ((key - 69) / 12);
  const loud = 0.3 * (velocity / 127) ** 1.5 * 2 ** ((60 - key) / 36); // high ones are heard better
  gain.gain.setValueAtTime(0, from);
  gain.gain.linearRampToValueAtTime(loud, from + 0.008);
  gain.gain.setTargetAtTime(loud / 4, from + 0.008, 0.6);
  gain.gain.setTargetAtTime(0, Math.max(to, from + 0.05), 0.04);
  source.connect(gain).connect(out);
  source.start(from);
  source.stop(Math.max(to, from + 0.05) + 0.3);
};
