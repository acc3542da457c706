// @ts-check
// Notes from keys: those on the screen, the computer's, and a keyboard that speaks MIDI, one
// after another or in time with a click. They are written into the text of the sheet, as
// ABC (standard 2.1): what stands there is what is kept, and can be typed on as well.

/** What the text says of itself, up to a place of it.
 * @param {string} text */
export function headOf(text) {
  const field = (/** @type {string} */ name) => [...text.matchAll(new RegExp(`^${name}: *([^%\\n]*)`, "gm"))].pop()?.[1].trim() ?? "";
  const [over, under] = (field("M") === "C" ? "4/4" : field("M") === "C|" ? "2/2" : field("M") || "4/4").split("/").map(Number);
  const bar = over / under || 1;
  const unit = field("L") ? Number(field("L").split("/")[0]) / Number(field("L").split("/")[1] ?? 1) : bar < 0.75 ? 1 / 16 : 1 / 8; // 2.1, 3.1.7
  const tempo = /(\d+)\/(\d+) *= *(\d+)/.exec(field("Q"));
  return { bar, unit, sharps: sharpsOf(field("K")), quarters: tempo ? Number(tempo[3]) * 4 * Number(tempo[1]) / Number(tempo[2]) : 100 };
}

/** Signs of a key as fifths up from C: −1 is F major or D minor.
 * @param {string} key */
export function sharpsOf(key) {
  const m = /^([A-G])([#b]?) *(maj|mix|min|m|dor|phr|lyd|loc|aeo|ion)?/i.exec(key);
  if (!m) return 0;
  const modes = { maj: 0, ion: 0, lyd: 1, mix: -1, dor: -2, min: -3, m: -3, aeo: -3, phr: -4, loc: -5 };
  const by = modes[/** @type {keyof typeof modes} */ ((m[3] ?? "maj").toLowerCase())] ?? 0;
  return "FCGDAEB".indexOf(m[1].toUpperCase()) - 1 + (m[2] === "#" ? 7 : m[2] === "b" ? -7 : 0) + by;
}

const steps = "CDEFGAB", halves = [0, 2, 4, 5, 7, 9, 11];

/** How a signature alters a step. @param {string} step @param {number} sharps */
const signed = (step, sharps) => {
  const at = "FCGDAEB".indexOf(step);
  return sharps > 0 && at < sharps ? 1 : sharps < 0 && 6 - at < -sharps ? -1 : 0;
};

/** A key of the piano as a step with its alteration: as the signature has it, else plain,
 * else sharp or flat after the signature's kind.
 * @param {number} midi @param {number} sharps */
export function spelled(midi, sharps) {
  const fits = (/** @type {(step: string) => number} */ alter) => {
    for (const [i, step] of [...steps].entries()) {
      const rest = midi - halves[i] - alter(step);
      if (rest % 12 === 0) return { step, alter: alter(step), octave: rest / 12 - 1 };
    }
    return undefined;
  };
  return fits((s) => signed(s, sharps)) ?? fits(() => 0) ?? /** @type {{step: string, alter: number, octave: number}} */ (fits(() => sharps < 0 ? -1 : 1));
}

/** A length in units: "", "2", "/2", "3/2". @param {number} whole of a whole note @param {number} unit */
export function lengthText(whole, unit) {
  let over = Math.round(whole / unit * 48), under = 48;
  for (let n = over, d = under; ;) { // their greatest common divisor
    if (n === 0) { over /= d; under /= d; break; }
    [n, d] = [d % n, n];
  }
  return (over === 1 ? "" : String(over)) + (under === 1 ? "" : "/" + under);
}

/** The bar that a text ends in: what was altered in it, and how full it is.
 * @param {string} text @param {number} unit */
export function barSoFar(text, unit) {
  const body = text.slice(text.lastIndexOf("|") + 1).split("\n").filter((l) => !/^([A-Za-z]:|%)/.test(l)).join(" ").replace(/"[^"]*"|![^!]*!|\{[^}]*\}/g, " ");
  const altered = new Set();
  let full = 0;
  for (const m of body.matchAll(/([\^_=]*)([A-Ga-gxz])[,']*(\d*)(\/*)(\d*)/g)) {
    if (m[1]) altered.add(m[2].toUpperCase());
    full += unit * (m[3] ? Number(m[3]) : 1) / (m[4] ? (m[5] ? Number(m[5]) : 2 ** m[4].length) : 1);
  }
  return { altered, full, tuplets: /\(\d/.test(body) };
}

/** A note, or with −1 a rest, as it is written after a text.
 * @param {string} before @param {number} midi @param {number} whole */
export function written(before, midi, whole) {
  const { bar, unit, sharps } = headOf(before);
  const { altered, full, tuplets } = barSoFar(before, unit);
  const line = !tuplets && full > 0 && full >= bar - 1e-6 ? "|" : "";
  const gap = line || /[\s|"]$/.test(before) || before === "" ? "" : " ";
  if (midi < 0) return line + gap + "z" + lengthText(whole, unit);
  const n = spelled(midi, sharps);
  let text = n.alter !== signed(n.step, sharps) || !line && altered.has(n.step) ? { "-1": "_", 0: "=", 1: "^" }[n.alter] ?? "" : "";
  text += n.octave >= 5 ? n.step.toLowerCase() + "'".repeat(n.octave - 5) : n.step + ",".repeat(4 - n.octave);
  return line + gap + text + lengthText(whole, unit);
}

/** What was played in time, as notes and rests one after another on a grid. A note that
 * begins while another sounds ends it. Beginnings go to the nearest place of the grid; what
 * is shorter than a place of it gets one.
 * @param {{midi: number, from: number, to: number}[]} played seconds from the first beat
 * @param {number} grid of a whole note @param {number} whole seconds of a whole note
 * @returns {{midi: number, whole: number}[]} midi −1: a rest */
export function quantised(played, grid, whole) {
  const at = (/** @type {number} */ s) => Math.max(0, Math.round(s / whole / grid));
  const notes = played.map((n) => ({ midi: n.midi, from: at(n.from), to: Math.max(at(n.from) + 1, at(n.to)) })).sort((a, b) => a.from - b.from || b.midi - a.midi);
  /** @type {{midi: number, whole: number}[]} */
  const out = [];
  let now = 0;
  for (const [i, n] of notes.entries()) {
    if (i > 0 && notes[i - 1].from === n.from) continue; // struck together: the highest is the tune's
    const next = notes.slice(i + 1).find((x) => x.from > n.from);
    const to = next ? Math.min(n.to, next.from) : n.to;
    if (n.from > now) out.push({ midi: -1, whole: (n.from - now) * grid });
    out.push({ midi: n.midi, whole: (to - n.from) * grid });
    now = to;
  }
  return out;
}

const entry = document.getElementById("entry");
const area = document.getElementById("text");
if (entry instanceof HTMLElement && area instanceof HTMLTextAreaElement) {
  const $ = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById("entry-" + id));
  const said = /** @type {HTMLElement} */ ($("said"));
  entry.hidden = false;
  /** What the text was before each note. @type {{text: string, at: number}[]} */
  const was = [];
  let octave = 5, last = -1;
  /** @type {AudioContext | undefined} */
  let audio;

  const whole = () => {
    const of = Number(/** @type {HTMLSelectElement} */ ($("length")).value);
    return (/** @type {HTMLInputElement} */ ($("dot")).checked ? 1.5 : 1) / of;
  };

  /** Where notes go: the caret, or the end where it stands in the head. */
  const place = () => {
    const body = /^K:.*(\n|$)/m.exec(area.value);
    const from = body ? body.index + body[0].length : 0;
    let end = area.value.length;
    while (end > from && /\s/.test(area.value[end - 1])) end--;
    return area.selectionEnd < from || area.selectionEnd > end ? end : area.selectionEnd;
  };

  /** @type {string[]} */
  const names = JSON.parse(entry.dataset.names ?? "[]");
  /** Says a length in words; "": it has none. @param {number} long of a whole note */
  const lengthSaid = (long) => {
    for (const o of /** @type {HTMLSelectElement} */ ($("length")).options) {
      if (Math.abs(long * Number(o.value) - 1) < 1e-6) return o.text;
      if (Math.abs(long * Number(o.value) - 1.5) < 1e-6) return o.dataset.dotted ?? "";
    }
    return "";
  };

  /** @param {string} text @param {number} at @param {string} says what was written, in words */
  const put = (text, at, says) => {
    was.push({ text: area.value, at });
    if (at > 0 && /^K:[^\n]*$/m.test(area.value.slice(area.value.lastIndexOf("\n", at - 1) + 1, at))) text = "\n" + text.trimStart();
    area.value = area.value.slice(0, at) + text + area.value.slice(at);
    area.setSelectionRange(at + text.length, at + text.length);
    area.dispatchEvent(new Event("input"));
    said.textContent = says;
  };

  /** @param {number} midi @param {number} [length] */
  const note = (midi, length = whole()) => {
    const at = place(), before = area.value.slice(0, at);
    const n = midi < 0 ? undefined : spelled(midi, headOf(before).sharps);
    const name = n ? names[3 * steps.indexOf(n.step) + n.alter + 1] : $("rest").textContent;
    put(written(before, midi, length), at, [name, lengthSaid(length)].filter(Boolean).join(", "));
    if (midi >= 0) last = midi;
  };

  const back = () => {
    const before = was.pop();
    if (!before) return;
    area.value = before.text;
    area.setSelectionRange(before.at, before.at);
    area.dispatchEvent(new Event("input"));
    said.textContent = "";
  };

  /** @param {number} hertz @param {number} when @param {number} long */
  const tone = (hertz, when, long) => {
    audio ??= new AudioContext();
    audio.resume();
    const osc = audio.createOscillator(), gain = audio.createGain();
    const at = Math.max(when, audio.currentTime);
    osc.type = "triangle";
    osc.frequency.value = hertz;
    gain.gain.setValueAtTime(0.25, at);
    gain.gain.exponentialRampToValueAtTime(0.001, at + long);
    osc.connect(gain).connect(audio.destination);
    osc.start(at);
    osc.stop(at + long);
    return osc;
  };
  const sounds = (/** @type {number} */ midi) => { tone(440 * 2 ** ((midi - 69) / 12), 0, 0.5); };

  // Playing in time: a bar of clicks, then what is played until it is ended.
  /** @type {{began: number, held: Map<number, number>, played: {midi: number, from: number, to: number}[], clicks: OscillatorNode[]} | undefined} */
  let take;
  const record = /** @type {HTMLButtonElement} */ ($("record"));
  const begin = () => {
    const { bar, quarters } = headOf(area.value), beat = 60 / quarters;
    audio ??= new AudioContext();
    audio.resume();
    const count = Math.max(1, Math.round(bar * 4)), start = audio.currentTime + 0.1;
    take = { began: performance.now() + (0.1 + count * beat) * 1000, held: new Map(), played: [], clicks: [] };
    for (let i = 0; i < 64 * count; i++) take.clicks.push(tone(i % count ? 900 : 1300, start + i * beat, 0.05));
    record.textContent = record.dataset.end ?? "";
  };
  const end = () => {
    if (!take) return;
    for (const c of take.clicks) c.stop();
    for (const [midi, from] of take.held) take.played.push({ midi, from, to: (performance.now() - take.began) / 1000 });
    const played = take.played, { quarters } = headOf(area.value);
    take = undefined;
    record.textContent = record.dataset.begin ?? "";
    for (const n of quantised(played, 1 / Number(/** @type {HTMLSelectElement} */ ($("grid")).value), 240 / quarters)) note(n.midi, n.whole);
  };
  record.addEventListener("click", () => { if (take) end(); else begin(); });

  /** A key goes down, or up. @param {number} midi @param {boolean} down @param {number} when */
  const key = (midi, down, when) => {
    if (!take) {
      if (down) note(midi);
      return;
    }
    const s = (when - take.began) / 1000, from = take.held.get(midi);
    if (down) take.held.set(midi, s);
    else if (from !== undefined) {
      take.held.delete(midi);
      take.played.push({ midi, from, to: s });
    }
  };

  const piano = $("piano");
  piano.addEventListener("pointerdown", (ev) => {
    const k = ev.target instanceof Element ? ev.target.closest("button[data-midi]") : null;
    if (!(k instanceof HTMLElement)) return;
    const midi = Number(k.dataset.midi);
    sounds(midi);
    key(midi, true, performance.now());
    if (take) addEventListener("pointerup", () => key(midi, false, performance.now()), { once: true });
  });
  piano.addEventListener("click", (ev) => { // by what is no pointer: a switch, a screen reader
    const k = ev.target instanceof Element ? ev.target.closest("button[data-midi]") : null;
    if (k instanceof HTMLElement && ev.detail === 0) { sounds(Number(k.dataset.midi)); note(Number(k.dataset.midi)); }
  });
  $("rest").addEventListener("click", () => note(-1));
  const barLine = () => put("|", place(), $("bar").textContent ?? "");
  $("bar").addEventListener("click", barLine);
  $("back").addEventListener("click", back);

  // The computer's keys: letters are notes, digits lengths.
  piano.addEventListener("keydown", (ev) => {
    if (ev.ctrlKey || ev.altKey || ev.metaKey) return;
    const step = steps.indexOf(ev.key.toUpperCase());
    const lengths = /** @type {HTMLSelectElement} */ ($("length"));
    if (step >= 0 && ev.key.length === 1) {
      // The letter as the signature has it, in the octave that is nearest to the last note.
      const n = halves[step] + signed(steps[step], headOf(area.value.slice(0, place())).sharps);
      let midi = n + 12 * octave;
      if (last >= 0) midi = n + 12 * Math.round((last - n) / 12);
      sounds(midi);
      note(midi);
    } else if ("1248".includes(ev.key)) lengths.value = ev.key;
    else if (ev.key === "6") lengths.value = "16";
    else if (ev.key === ".") $("dot").click();
    else if (ev.key === "|") barLine();
    else if (ev.key === " ") note(-1);
    else if (ev.key === "Backspace") back();
    else if (ev.key === "ArrowUp" || ev.key === "ArrowDown") {
      if (last < 0) { octave += ev.key === "ArrowUp" ? 1 : -1; return; }
      const midi = last + (ev.key === "ArrowUp" ? 12 : -12), { at, text } = was[was.length - 1] ?? { at: 0, text: "" };
      if (!text || midi < 21 || midi > 108) return;
      back();
      area.setSelectionRange(at, at);
      sounds(midi);
      note(midi);
    } else return;
    ev.preventDefault();
    ev.stopPropagation(); // the keys of the desk rest here
  });

  // A keyboard that speaks MIDI (Web MIDI API, W3C): a note on, or off by a velocity of 0.
  const midi = /** @type {HTMLButtonElement} */ ($("midi"));
  if (!("requestMIDIAccess" in navigator)) midi.hidden = true;
  midi.addEventListener("click", async () => {
    try {
      const access = await navigator.requestMIDIAccess();
      const listen = () => {
        for (const input of access.inputs.values()) {
          input.onmidimessage = (ev) => {
            const [status, number, velocity] = ev.data ?? [];
            const on = (status & 0xf0) === 0x90 && velocity > 0, off = (status & 0xf0) === 0x80 || (status & 0xf0) === 0x90 && velocity === 0;
            if (on || off) key(number, on, ev.timeStamp || performance.now());
          };
        }
        said.textContent = access.inputs.size ? midi.dataset.heard ?? "" : midi.dataset.none ?? "";
      };
      access.onstatechange = listen;
      listen();
    } catch {
      said.textContent = midi.dataset.refused ?? "";
    }
  });
}
