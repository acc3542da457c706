// Lets small music sound where it stands: examples, drills, chords, and on the first page
// the levels. Nothing of sound is fetched before a press. One classic script, so that it
// runs from a folder; without it the pages have their music to read.
"use strict";
(function () {
  const data = JSON.parse(document.getElementById("heard").textContent);
  const buttons = [...document.querySelectorAll("button.hear")];
  const told = document.createElement("p");
  told.className = "trouble";
  told.setAttribute("role", "status");

  // ---- the piano ---------------------------------------------------------------

  let context = null, bank = null;
  const dying = 0.07; // seconds in which a damped string falls to a third
  function notes() {
    bank ??= new Promise((done, failed) => {
      window.lessonNotes = (at, mp3) => {
        const bytes = Uint8Array.from(atob(mp3), (c) => c.charCodeAt(0));
        context.decodeAudioData(bytes.buffer).then((sound) => done({ at, sound }), failed);
      };
      const script = document.createElement("script");
      script.src = "sound/notes.js";
      script.onerror = () => failed(new Error(script.src));
      document.head.appendChild(script);
    });
    return bank;
  }
  function strike(b, out, key, velocity, from, to) {
    if (!b) { window.plainTone(context, out, key, velocity, from, to); return; }
    const near = b.at.reduce((a, z) => Math.abs(z[0] - key) < Math.abs(a[0] - key) ? z : a);
    const source = context.createBufferSource(), gain = context.createGain();
    source.buffer = b.sound;
    source.playbackRate.value = 2 ** ((key - near[0]) / 12);
    gain.gain.setValueAtTime((velocity / 80) ** 1.5, from);
    gain.gain.setTargetAtTime(0, to, dying);
    source.connect(gain).connect(out);
    // What was recorded of a note ends before the next one in the file.
    source.start(from, Math.max(0, near[1] - 0.004), 2.4);
    source.stop(Math.max(to, from) + 8 * dying);
  }

  // ---- playing -----------------------------------------------------------------

  let playing = null; // what sounds: its button, and how it is ended
  const audio = new Audio();
  audio.preload = "none";
  function label(button, key) { button.querySelector(".do").textContent = button.dataset.say && key === "hear" ? button.dataset.say : data.words[key]; }
  function stop() {
    if (!playing) return;
    const { button, end } = playing;
    playing = null;
    end();
    label(button, "hear");
    button.removeAttribute("aria-pressed");
  }
  function begin(button, end) {
    stop();
    told.remove();
    playing = { button, end };
    button.setAttribute("aria-pressed", "true");
    label(button, "hear-wait");
    return playing;
  }
  function failed(button) {
    stop();
    told.textContent = data.words["no-sound"];
    button.after(told);
  }
  function recording(button) {
    const mine = begin(button, () => audio.pause());
    audio.src = button.dataset.src;
    audio.onended = stop;
    audio.play().then(() => { if (playing === mine) label(button, "hear-stop"); }, (e) => { if (playing === mine && e.name !== "AbortError") failed(button); });
  }
  async function music(button) {
    const list = data.notes[button.dataset.of], rate = (+button.dataset.percent || data.tempo[button.dataset.of] || 100) / 100;
    context ??= new AudioContext();
    const lit = [];
    let out = null, over = false;
    const mine = begin(button, () => { over = true; out?.disconnect(); lit.splice(0).forEach((e) => e.classList.remove("sounding", "R", "L")); });
    try {
      await context.resume();
      const b = window.plainTone ? null : await notes();
      if (playing !== mine) return;
      out = context.createGain();
      out.gain.value = 0.8;
      out.connect(context.destination);
      const begins = context.currentTime + 0.08 - list[0][0] / rate;
      for (const [from, to, key, velocity] of list) strike(b, out, key, velocity, begins + from / rate, begins + to / rate);
      label(button, "hear-stop");
      const last = Math.max(...list.map((n) => n[1]));
      const frame = () => {
        if (over) return;
        const at = (context.currentTime - begins) * rate;
        lit.splice(0).forEach((e) => e.classList.remove("sounding", "R", "L"));
        for (const [from, to, , , id, hand] of list) {
          const e = id && from <= at && at < to ? document.getElementById(id) : null;
          if (e) { e.classList.add("sounding", hand); lit.push(e); }
        }
        if (at > last + 0.4 * rate) { if (playing === mine) stop(); return; }
        requestAnimationFrame(frame);
      };
      frame();
    } catch {
      if (playing === mine) failed(button);
    }
  }
  for (const b of buttons) {
    if (b.dataset.of && !data.notes[b.dataset.of]) continue;
    b.hidden = b.disabled = false;
    b.addEventListener("click", () => {
      if (playing?.button === b) stop();
      else if (b.dataset.src) recording(b);
      else music(b);
    });
  }

  // For tests: what the page believes.
  window.hearing = { data, playing: () => playing !== null, context: () => context };
})();
