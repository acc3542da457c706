// @ts-check
// Listening: the sound comes from the desk as it is asked for. Of a long stretch the first
// bars are asked for by themselves, so that something sounds at once; the whole takes over
// at a bar line. What sounds is marked in the music.
import { does } from "./keys.js";
import { gone } from "./keep.js";
import { draw, press as pressKeys } from "./pianokeys.js";

/** @typedef {{start: number, end: number, bars: {bar: number, at: number}[], notes: {id: string, key: number, left?: boolean, from: number, to: number}[]}} Timing */
/** @typedef {{buffer: AudioBuffer, timing: Timing}} Sound */

const form = document.querySelector("form.player");
if (form instanceof HTMLFormElement) {
  const button = /** @type {HTMLButtonElement} */ (form.querySelector(".play"));
  const stopper = /** @type {HTMLButtonElement} */ (form.querySelector(".stop"));
  const swapper = /** @type {HTMLButtonElement} */ (form.querySelector(".swap"));
  const state = /** @type {HTMLElement} */ (form.querySelector(".player-state"));
  const keyboard = /** @type {SVGSVGElement} */ (form.querySelector(".sounding-keys"));
  const now = form.dataset.now ?? "", before = form.dataset.before;

  /** @type {AudioContext | undefined} */
  let audio;
  /** @type {{source: AudioBufferSourceNode, gain: GainNode, sound: Sound, began: number} | undefined} */
  let playing;
  let asked = 0, frame = 0, at = "";
  /** @type {Map<string, Promise<Sound>>} */
  const loaded = new Map();

  stopper.hidden = false;
  if (document.querySelector(".strips")) draw(keyboard, [41, 79]); // its place is kept before something sounds
  swapper.hidden = before === undefined;

  /** @param {Record<string, string>} change */
  const query = (change) => {
    const q = new URLSearchParams();
    for (const [k, v] of new FormData(form)) q.set(k, String(v));
    if (!q.has("at")) q.set("at", now);
    for (const [k, v] of Object.entries(change)) q.set(k, v);
    return q.toString();
  };

  /** @param {string} q @returns {Promise<Sound>} */
  const load = (q) => {
    let p = loaded.get(q);
    if (!p) {
      const base = `/tunes/${form.dataset.tune}/`;
      p = Promise.all([
        fetch(base + "sound.wav?" + q).then((r) => { if (!r.ok) throw new Error(String(r.status)); return r.arrayBuffer(); }).then((b) => /** @type {AudioContext} */ (audio).decodeAudioData(b)),
        fetch(base + "timing.json?" + q).then((r) => r.json()),
      ]).then(([buffer, timing]) => ({ buffer, timing }));
      p.catch(() => loaded.delete(q));
      if (loaded.size > 8) loaded.clear();
      loaded.set(q, p);
    }
    return p;
  };

  /** Begins a sound, or goes on with it, at a place of it. @param {Sound} sound @param {number} from @param {number} delay */
  const begin = (sound, from, delay) => {
    const ctx = /** @type {AudioContext} */ (audio);
    const when = ctx.currentTime + delay;
    const gain = ctx.createGain(), source = ctx.createBufferSource();
    source.buffer = sound.buffer;
    source.connect(gain).connect(ctx.destination);
    if (playing) {
      playing.gain.gain.setTargetAtTime(0, when, 0.02);
      playing.source.onended = null;
      playing.source.stop(when + 0.2);
    }
    source.start(when, from);
    source.onended = () => finish();
    playing = { source, gain, sound, began: when - from };
    draw(keyboard, sound.timing.notes.map((n) => n.key));
    cancelAnimationFrame(frame);
    frame = requestAnimationFrame(mark);
  };

  const finish = () => {
    if (playing) {
      playing.source.onended = null;
      playing.source.stop();
    }
    playing = undefined;
    cancelAnimationFrame(frame);
    for (const el of document.querySelectorAll(".sounding")) silent(el);
    pressKeys(keyboard, []);
    down = "";
    button.textContent = form.dataset.play ?? "";
    state.textContent = "";
    form.dataset.playing = "";
  };

  /** A note that sounds has a box behind it: a colour alone is no mark. @param {Element} el */
  const sounds = (el) => {
    if (el.classList.contains("sounding") || !(el instanceof SVGGraphicsElement)) return;
    const head = el.querySelector(".notehead"), { x, y, width, height } = (head instanceof SVGGraphicsElement ? head : el).getBBox();
    const box = document.createElementNS("http://www.w3.org/2000/svg", "rect"), room = height / 2;
    for (const [k, v] of Object.entries({ class: "spot", x: x - room, y: y - room, width: width + 2 * room, height: height + 2 * room, rx: room })) box.setAttribute(k, String(v));
    el.prepend(box);
    el.classList.add("sounding");
  };

  /** @param {Element} el */
  const silent = (el) => {
    el.classList.remove("sounding");
    el.querySelector(".spot")?.remove();
  };

  let told = "", down = "";
  const mark = () => {
    if (!playing || !audio) return;
    const t = audio.currentTime - playing.began - (audio.outputLatency || 0);
    const { notes, bars } = playing.sound.timing;
    const sounding = notes.filter((n) => n.from <= t && t < n.to), on = new Set(sounding.map((n) => n.id));
    const keys = sounding.map((n) => n.key + (n.left ? "l" : "r")).join(" ");
    if (keys !== down) {
      down = keys;
      pressKeys(keyboard, sounding);
    }
    for (const el of document.querySelectorAll(".sounding")) if (!on.has(/** @type {HTMLElement} */ (el).dataset.note ?? "")) silent(el);
    for (const id of on) for (const el of document.querySelectorAll(`[data-note="${CSS.escape(id)}"]`)) sounds(el);
    const bar = bars.findLast((b) => b.at <= t);
    const text = bar && t >= playing.sound.timing.start ? (bar.bar === 0 ? form.dataset.pickup ?? "" : (form.dataset.bar ?? "").replace("0", String(bar.bar))) + (before === undefined ? "" : " · " + (at === before ? form.dataset.was : form.dataset.is)) : "";
    if (text !== told) {
      told = text;
      state.setAttribute("aria-live", "off"); // a bar a second is too much to be read out
      state.textContent = text;
      for (const el of document.querySelectorAll(".strip.here")) el.classList.remove("here");
      const here = document.querySelector(".strip .sounding")?.closest(".strip");
      here?.classList.add("here");
      if (here && !matchMedia("(prefers-reduced-motion: reduce)").matches) here.scrollIntoView({ block: "nearest" });
    }
    frame = requestAnimationFrame(mark);
  };

  /** Puts pictures into the page, so that notes in them can be marked. */
  const inline = async () => {
    for (const fig of document.querySelectorAll("figure.strip[data-ids]")) {
      const img = fig.querySelector("img");
      if (!img || !(fig instanceof HTMLElement) || !fig.offsetParent) continue; // it is for a window of another width
      const svg = new DOMParser().parseFromString(await (await fetch(img.src)).text(), "image/svg+xml").documentElement;
      if (svg.nodeName !== "svg" || !img.isConnected) continue;
      svg.setAttribute("role", "img");
      svg.setAttribute("aria-label", img.alt);
      svg.removeAttribute("aria-labelledby");
      svg.removeAttribute("aria-describedby");
      svg.removeAttribute("color");
      const ids = fig.dataset.ids ?? "";
      for (const g of svg.querySelectorAll("g.note[id]")) g.setAttribute("data-note", g.id.slice(ids.length));
      img.replaceWith(document.importNode(svg, true));
      fig.classList.add("inline");
    }
  };

  /** @param {string} version @param {number} from */
  const play = async (version, from) => {
    audio ??= new AudioContext();
    audio.resume();
    const turn = ++asked, pressed = performance.now();
    at = version;
    state.textContent = form.dataset.wait ?? "";
    inline();
    const q = new URLSearchParams(query({ at: version }));
    const first = Number(q.get("from")), last = Number(q.get("to")), short = first + 1;
    const whole = load(q.toString());
    const long = from === 0 && last > short && !(Number(q.get("loop")) > 1);
    try {
      if (long) {
        q.set("to", String(short));
        const sound = await Promise.race([load(q.toString()), whole]);
        if (turn !== asked) return;
        begin(sound, 0, 0);
        performance.measure("first-sound", { start: pressed, end: performance.now() });
        form.dataset.playing = "1";
        button.textContent = form.dataset.pause ?? "";
        const all = await whole;
        if (turn !== asked || !playing || !audio) return;
        if (playing.sound !== all) {
          const here = audio.currentTime - playing.began;
          const bar = all.timing.bars.find((b) => b.at > here + 0.05);
          if (bar) begin(all, bar.at, bar.at - here);
        }
        return;
      }
      const sound = await whole;
      if (turn !== asked) return;
      begin(sound, from, 0);
      performance.measure("first-sound", { start: pressed, end: performance.now() });
      form.dataset.playing = "1";
      button.textContent = form.dataset.pause ?? "";
    } catch {
      if (turn === asked) finish();
      gone();
    }
  };

  const press = () => {
    if (!playing || !audio) {
      play(new URLSearchParams(query({})).get("at") ?? now, 0);
    } else if (audio.state === "running") {
      audio.suspend();
      button.textContent = form.dataset.play ?? "";
    } else {
      audio.resume();
      button.textContent = form.dataset.pause ?? "";
    }
  };
  const stop = () => { asked++; finish(); };
  const swap = () => {
    if (before === undefined) return;
    const from = playing && audio ? audio.currentTime - playing.began : 0;
    play(at === before ? now : before, Math.max(0, from));
  };

  form.addEventListener("submit", (ev) => { ev.preventDefault(); press(); });
  stopper.addEventListener("click", stop);
  swapper.addEventListener("click", swap);
  does("play", press);
  does("stop", stop);
  does("compare", swap);
  const printed = /** @type {HTMLAnchorElement | null} */ (form.querySelector("a[href$='.pdf']"));
  form.addEventListener("change", () => {
    stop();
    if (printed) printed.textContent = (printed.textContent ?? "").replace(/\d+/, String(new FormData(form).get("level")));
    if (printed) printed.href = `/tunes/${form.dataset.tune}/print/${new FormData(form).get("level")}.pdf`;
    if (document.querySelector(".strips") && !(document.activeElement instanceof HTMLInputElement && document.activeElement.type === "checkbox")) {
      // What is shown follows what is heard.
      const shown = new URLSearchParams(location.search), wants = new URLSearchParams(query({}));
      if (["level", "from", "to", "at"].some((k) => shown.get(k) !== wants.get(k))) location.search = wants.toString();
    }
  });
}
