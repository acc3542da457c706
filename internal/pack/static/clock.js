// What the player of a level follows: a clock plays, and its time is in seconds of a recording.
"use strict";
// recordingClock is a recording; failed is told of one that cannot be had.
window.recordingClock = (failed) => {
  const audio = new Audio();
  audio.preload = "none"; // nothing of sound is fetched before it is asked for
  audio.id = "sound";
  audio.hidden = true;
  document.body.appendChild(audio);
  audio.preservesPitch = true;
  let want = null; // where to go once the file is known
  let file = "", begun = false;
  const fetchIt = () => { if (audio.getAttribute("src") !== file) { audio.preload = "auto"; audio.src = file; audio.load(); } };
  audio.addEventListener("loadedmetadata", () => { if (want !== null) { audio.currentTime = want; want = null; } });
  audio.addEventListener("error", failed);
  return {
    load(src, at) {
      const other = src !== file;
      file = src;
      if (other && audio.hasAttribute("src")) audio.removeAttribute("src");
      if (begun) fetchIt();
      this.seek(at);
    },
    seek(at) { if (audio.hasAttribute("src") && audio.readyState > 0) { audio.currentTime = at; want = null; } else { want = at; } },
    time() { return want !== null ? want : audio.currentTime; },
    rate(r) { audio.defaultPlaybackRate = audio.playbackRate = r; audio.preservesPitch = true; },
    play() { begun = true; fetchIt(); return audio.play(); },
    pause() { audio.pause(); },
    ended() { return audio.ended; },
  };
};
// toneClock keeps the same time without one and makes plain tones: struck calls what it is
// given with the times, key and velocity of each.
window.toneClock = (struck) => {
  let at = 0, since = 0, rate = 1, on = false;
  const now = () => performance.now() / 1000;
  const time = () => on ? at + (now() - since) * rate : at;
  // What begins within the next moment is made ready now, each once: a page is drawn less
  // often than music needs.
  const ahead = 0.25;
  let context = null, out = null, ready = 0;
  const hush = () => { out?.disconnect(); out = null; ready = time(); };
  const more = () => {
    if (!on) return;
    if (context.state === "running") {
      if (!out) { out = context.createGain(); out.connect(context.destination); }
      const t = time(), until = t + ahead * rate;
      struck((s, e, key, velocity) => { if (s >= ready - 1e-6 && s > t - 0.1 && s < until) window.plainTone(context, out, key, velocity, context.currentTime + Math.max(0, (s - t) / rate), context.currentTime + (e - t) / rate); });
      ready = Math.max(ready, until);
    }
    setTimeout(more, 60);
  };
  return {
    load(_, t) { this.seek(t); },
    seek(t) { at = t; since = now(); hush(); },
    time,
    rate(r) { at = time(); since = now(); rate = r; hush(); },
    play() {
      context ??= new AudioContext();
      context.resume();
      at = time(); since = now();
      hush();
      if (!on) { on = true; more(); }
      return Promise.resolve();
    },
    pause() { at = time(); on = false; hush(); },
    ended() { return false; },
  };
};
