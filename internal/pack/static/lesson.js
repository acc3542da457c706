// The page of a level: plays its recordings, shows what sounds on the score and
// on the keys. One classic script, so that it runs from a folder. Without it the
// page still has its score, its words and plain players.
"use strict";
(function () {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const svgNS = "http://www.w3.org/2000/svg";
  document.documentElement.classList.add("scripted");
  $("player").hidden = false;
  $("dock").hidden = false;

  // A link into the page as it was when all of a level stood on one: what it led to has a
  // page of its own.
  const moved = { bring: "learn", new: "learn", chords: "chords", drills: "drills", plan: "practice", changes: "practice" };
  const anchor = location.hash.slice(1), kind = moved[anchor] || (/^chord\d+$/.test(anchor) ? "chords" : "");
  const there = kind && document.querySelector('.within a[href$="-' + kind + '.html"]');
  if (there) { location.replace(there.href + "#" + anchor); return; }

  // The controls lie at the foot of the window, and the page leaves room for them.
  const dock = $("dock"), low = matchMedia("(max-height: 26rem)");
  function room() { document.documentElement.style.setProperty("--dock", (low.matches ? 0 : dock.offsetHeight) + "px"); }
  new ResizeObserver(room).observe(dock);

  // said returns a message of the page with its gaps filled.
  function said(key, parts) { return data.words[key].replace(/\{(\w+)\}/g, (_, name) => parts[name]); }

  // ---- positions and times -------------------------------------------------

  // between finds the last i with list[i][k] <= v, at least 0, at most n - 2.
  function between(list, k, v) {
    let lo = 0, hi = list.length - 1;
    while (lo < hi) {
      const mid = (lo + hi + 1) >> 1;
      if (list[mid][k] <= v) lo = mid; else hi = mid - 1;
    }
    return Math.max(0, Math.min(lo, list.length - 2));
  }
  function seconds(timing, at) {
    const p = timing.points, i = between(p, 0, at), a = p[i], b = p[i + 1];
    return a[1] + (b[1] - a[1]) * (at - a[0]) / (b[0] - a[0]);
  }
  function position(timing, s) {
    const p = timing.points, i = between(p, 1, s), a = p[i], b = p[i + 1];
    return a[0] + (b[0] - a[0]) * (s - a[1]) / (b[1] - a[1]);
  }
  // clocked is a position as minutes and seconds of the full tempo, whatever tempo sounds:
  // so the teacher's page has it.
  const full = data.timings[data.takes.find((t) => t.percent === 100).timing];
  const bars = data.bars, first = bars[0], last = bars[bars.length - 1];
  const since0 = (at) => seconds(full, at) - seconds(full, first.at);
  function clocked(at) {
    const s = Math.floor(since0(at) + 1e-6);
    return Math.floor(s / 60) + ":" + String(s % 60).padStart(2, "0");
  }
  function barAt(at) {
    let i = bars.length - 1;
    while (i > 0 && bars[i].at > at) i--;
    return i;
  }
  // The sound a little before a bar's first note belongs to it.
  const early = 0.03;

  // ---- what plays --------------------------------------------------------------

  const silent = !data.takes[0].src;
  const clock = silent ? window.toneClock(struck) : window.recordingClock(() => trouble(said("no-sound")));
  // struck tells what the tones of the page are, from one time to another.
  function struck(strike) {
    const t = timing();
    if (state.counting !== null) { // a bar of beats before the first note, as recordings have it
      const b = bars[0], beat = seconds(t, b.at + b.beat) - t.start;
      for (let s = t.start - beat; s > -1e-6; s -= beat) strike(s, s + 0.05, 96, 90);
    }
    if (state.counting === null || state.counting === first.at) {
      for (const n of notes) if (n.at < bars[state.to].end && heard(n)) strike(seconds(t, n.at), seconds(t, n.end), n.k, n.t ? 84 : 64);
    }
  }
  function trouble(text) { $("trouble").textContent = text; }

  // ---- state -----------------------------------------------------------------

  const state = {
    hands: data.takes[0].hands,
    percent: 100,
    take: data.takes[0],
    playing: false,
    counting: null,      // position to begin at after the count-in
    from: 0, to: bars.length - 1, // indexes of the bars that are played
    looped: false,
    zoom: 100,           // of the score, in percent
    cursor: 0,           // bar in the score's focus
    anchor: 0,
  };
  const timing = () => data.timings[state.take.timing];
  const startOf = (i) => seconds(timing(), bars[i].at);
  const endOf = (i) => seconds(timing(), bars[i].end);

  // chooseTake takes the slowest recording of these hands that need not be
  // slowed down further, else the slowest there is.
  function chooseTake() {
    const mine = data.takes.filter((t) => t.hands === state.hands).sort((a, b) => a.percent - b.percent);
    let best = mine[0];
    for (const t of mine) if (t.percent <= state.percent) best = t;
    return best;
  }
  function setTake() {
    const here = now();
    const before = state.take;
    state.take = chooseTake();
    const go = () => {
      clock.rate(state.percent / state.take.percent);
      if (state.playing) clock.play().catch(() => { /* it was stopped meanwhile */ });
    };
    if (state.take !== before) {
      clock.load(state.take.src, seconds(timing(), here));
      state.counting = null;
    }
    go();
  }
  // now is the position that sounds.
  function now() { return position(timing(), clock.time()); }

  // play begins where the page is, after a bar of count-in where that is asked for; with
  // counted it is, or is not, whatever is ticked.
  let since = 0;
  function play(counted) {
    trouble("");
    const at = now();
    const begin = bars[state.from].at, end = bars[state.to].end;
    let from = at < begin - 1 || at >= end - 1 ? begin : at;
    if (counted === undefined || typeof counted !== "boolean" ? $("count-in").checked : counted) {
      state.counting = from;
      clock.load(state.take.src, 0);
    } else {
      state.counting = null;
      clock.load(state.take.src, seconds(timing(), from));
    }
    clock.rate(state.percent / state.take.percent);
    state.playing = true;
    since = performance.now();
    $("play").textContent = said("pause");
    clock.play().catch((e) => { if (e.name !== "AbortError") { pause(); trouble(said("no-start", { reason: e.message })); } });
    frame();
  }
  function pause() {
    if (state.playing) plan.practised(performance.now() - since);
    state.playing = false;
    clock.pause();
    if (state.counting !== null) { clock.seek(seconds(timing(), state.counting)); state.counting = null; }
    $("play").textContent = said("play");
    show();
  }
  function toggle() { if (state.playing) pause(); else play(); }
  function go(at) {
    state.counting = null;
    clock.load(state.take.src, seconds(timing(), at));
    show();
  }

  // ---- what is shown ---------------------------------------------------------

  const notes = data.notes.slice().sort((a, b) => a.at - b.at || a.k - b.k);
  function heard(n) {
    switch (state.hands) {
      case "left": return n.h === "L";
      case "right": return n.h === "R";
      case "without-tune": return !n.t;
    }
    return true;
  }
  function sounding(at) { return notes.filter((n) => n.at <= at && at < n.end && heard(n)); }
  function make(name, attributes, parent) {
    const e = document.createElementNS(svgNS, name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    if (parent) parent.appendChild(e);
    return e;
  }

  // Each part of the score gets a layer under its notes: for bars, and for bands behind
  // what sounds. Nothing lies over a note.
  const layouts = [];
  document.querySelectorAll(".sheets").forEach((sheets) => {
    const boxes = data.boxes[sheets.dataset.layout];
    const layers = [...sheets.querySelectorAll("svg.music")].map((svg) => {
      const under = make("g", { class: "bars" }), bands = make("g", { class: "bands" });
      svg.insertBefore(under, svg.querySelector("title").nextSibling);
      under.after(bands);
      return { svg, under, bands };
    });
    const zones = bars.map((b, i) => {
      const box = boxes[b.id];
      if (!box) return null;
      // As high as the whole system: its edge crosses no fingering and no chord symbol.
      const view = layers[box[0]].svg.viewBox.baseVal;
      return make("rect", { class: "barzone", x: box[1], y: view.y + 0.4, width: box[3], height: view.height - 0.8, rx: 1, "data-bar": i }, layers[box[0]].under);
    });
    layouts.push({ sheets, boxes, layers, zones });
  });
  const shown = () => layouts.find((l) => l.sheets.offsetParent !== null) || layouts[0];

  let lastIds = "", lastBar = -1;
  // marks colours the heads of what sounds, and lays behind each hand's notes of one
  // moment a band: round for the right hand, square for the left.
  let lit = [];
  function marks(now) {
    for (const e of lit) e.classList.remove("sounding", "R", "L");
    lit = [];
    for (const l of layouts) {
      const groups = new Map();
      for (const n of now) {
        const b = l.boxes[n.id];
        if (!b) continue;
        const head = document.getElementById(l.sheets.dataset.layout + "-" + n.id);
        if (head) { head.classList.add("sounding", n.h); lit.push(head); }
        const key = [b[0], n.h, n.at].join(" "), g = groups.get(key);
        if (!g) { groups.set(key, { h: n.h, part: b[0], x: b[1], y: b[2], r: b[1] + b[3], z: b[2] + b[4], ids: [n.id] }); continue; }
        g.x = Math.min(g.x, b[1]); g.y = Math.min(g.y, b[2]); g.r = Math.max(g.r, b[1] + b[3]); g.z = Math.max(g.z, b[2] + b[4]); g.ids.push(n.id);
      }
      const pad = 1.1;
      for (const y of l.layers) y.bands.replaceChildren();
      for (const g of groups.values()) {
        make("rect", { class: "band " + g.h, x: g.x - pad, y: g.y - pad, width: g.r - g.x + 2 * pad, height: g.z - g.y + 2 * pad, rx: g.h === "R" ? 2 : 0, "data-notes": g.ids.join(" ") }, l.layers[g.part].bands);
      }
    }
  }
  function keys(now) {
    const g = $("key-marks"), what = $("labels").value;
    g.replaceChildren();
    const seen = new Set();
    for (const n of now) {
      const key = $("key-" + n.k);
      if (!key || seen.has(n.k)) continue;
      seen.add(n.k);
      const x = +key.getAttribute("x") + key.getAttribute("width") / 2;
      const y = +key.getAttribute("height") - (key.classList.contains("black") ? 14 : 18);
      let text = String(what === "f" ? (n.f || "") : what === "d" ? n.d : what === "n" ? n.n : "");
      if (text.length * letter * 0.56 > 27) text = ""; // it would lie over the next key
      const half = Math.max(9, text.length * letter * 0.28 + 3), tall = Math.max(9.2, letter * 0.66);
      if (n.h === "R") make("ellipse", { class: "keymark R", cx: x, cy: y, rx: half, ry: tall, "data-key": n.k }, g);
      else make("rect", { class: "keymark L", x: x - half, y: y - tall, width: 2 * half, height: 2 * tall, "data-key": n.k }, g);
      if (text !== "") make("text", { class: "keylabel", x, y: y + letter * 0.345 }, g).textContent = text;
    }
  }
  // In a narrow window the keyboard shows those keys alone that the line of the score uses,
  // so that both hands are in view and the keys can be read.
  const board = $("keyboard"), entire = board.getAttribute("viewBox").split(" ").map(Number);
  const twoOctaves = 14 * 24; // in the widths of sitekeys.go
  let letter = 14; // size of what stands on a key, in the same: at least 11 pixels
  function fitKeys(i) {
    let x = entire[0], w = entire[2];
    const box = board.getBoundingClientRect();
    const fitting = (box.height - 11) / 99; // pixels of a unit that leave room for the names of the octaves
    if (box.width > 0 && box.width < w * 0.6) {
      const least = Math.max(twoOctaves, box.width / fitting); // as wide as its height lets it be
      const lineOf = (b) => (data.boxes.n[b.id] || [-1])[0], own = lineOf(bars[i]);
      const line = bars.filter((b) => lineOf(b) === own);
      const used = notes.filter((n) => line.some((b) => n.at < b.end && n.end > b.at)).map((n) => $("key-" + n.k));
      if (used.length > 0) {
        const ends = used.flatMap((k) => [+k.getAttribute("x"), +k.getAttribute("x") + +k.getAttribute("width")]);
        let a = Math.min(...ends) - 13, z = Math.max(...ends) + 13;
        const more = Math.max(0, least - (z - a)) / 2;
        a = Math.max(x, a - more);
        z = Math.min(x + w, z + more);
        x = a;
        w = z - a;
      }
    }
    const scale = box.width > 0 ? Math.min(box.width / w, fitting) : 1;
    const least11 = Math.max(11, 11 / scale), high = 99 + least11;
    if (letter !== Math.max(14, least11)) { letter = Math.max(14, least11); lastIds = ""; }
    board.style.setProperty("--letter", letter + "px");
    board.style.setProperty("--octave", least11 + "px");
    board.querySelectorAll(".octave").forEach((e) => e.setAttribute("y", 97 + least11 * 0.8));
    board.setAttribute("viewBox", [x, entire[1], w, high].join(" "));
  }
  addEventListener("resize", () => fitKeys(Math.max(lastBar, 0)));
  function named(b) { return b.name || said("bar", { n: b.l }); }
  function place(at) {
    const i = barAt(at), b = bars[i];
    const beat = Math.floor((at - b.at + b.off) / b.beat) + 1;
    let chord = "";
    for (const c of data.chords) if (c.at <= at) chord = c.text;
    const text = said(b.p > 1 ? "place-again" : "place", { bar: named(b), beat, time: b.p });
    return chord ? said("place-chord", { place: text, chord }) : text;
  }
  function show() {
    const counting = state.counting !== null;
    const at = counting ? state.counting : Math.max(first.at, Math.min(now(), last.end - 1));
    const on = counting ? [] : sounding(at + 1);
    const ids = on.map((n) => n.id).join(" ") + $("labels").value;
    if (ids !== lastIds) {
      lastIds = ids;
      marks(on);
      keys(on);
    }
    const where = counting && state.playing ? said("count-in") : place(at);
    $("where").textContent = where;
    $("clock").textContent = said("of-total", { time: clocked(at), total: clocked(last.end) });
    if (document.activeElement !== $("seek") || state.playing) $("seek").value = Math.floor(since0(at) + 1e-6);
    $("seek").setAttribute("aria-valuetext", where);
    const i = barAt(at);
    if (i !== lastBar) {
      lastBar = i;
      fitKeys(i);
      if (!focused) state.cursor = i;
      mark();
      if (state.playing && $("follow").checked) follow(i);
    }
  }
  function mark() {
    for (const l of layouts) l.zones.forEach((z, i) => {
      if (!z) return;
      z.classList.toggle("chosen", state.looped && i >= state.from && i <= state.to);
      z.classList.toggle("current", i === (focused ? state.cursor : lastBar));
    });
  }
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  function follow(i) {
    const z = shown().zones[i];
    if (!z) return;
    const r = z.getBoundingClientRect(), sheets = shown().sheets, s = sheets.getBoundingClientRect();
    const floor = innerHeight - (low.matches ? 0 : dock.offsetHeight), how = calm.matches ? "auto" : "smooth";
    if (r.top < 0 || r.bottom > floor) scrollBy({ top: r.top - 40, behavior: how });
    if (r.left < s.left || r.right > s.right) sheets.scrollBy({ left: r.left - s.left - 20, behavior: how });
  }

  function frame() {
    if (!state.playing) return;
    const t = clock.time(), tm = timing();
    if (state.counting !== null) {
      if (t >= tm.start - early) {
        const at = state.counting;
        state.counting = null;
        if (at > first.at) clock.seek(seconds(tm, at));
      }
    } else if (state.looped && t >= endOf(state.to) - early) {
      loops++;
      if ($("count-each").checked) { plan.practised(performance.now() - since); state.playing = false; go(bars[state.from].at); play(true); return; }
      clock.seek(startOf(state.from));
    } else if ($("again").checked && !state.looped && (t >= tm.end || clock.ended())) {
      loops++;
      plan.practised(performance.now() - since);
      state.playing = false;
      go(first.at);
      play($("count-each").checked);
      return;
    } else if (t >= tm.end || clock.ended()) {
      const whole = clock.ended() || t >= tm.end + 1.5 || silent;
      if (whole) { pause(); go(bars[state.from].at); return; }
    }
    show();
    requestAnimationFrame(frame);
  }
  let loops = 0;

  // ---- choosing bars ---------------------------------------------------------

  function choose(a, b) {
    state.from = Math.min(a, b);
    state.to = Math.max(a, b);
    state.looped = state.from > 0 || state.to < bars.length - 1;
    $("from").value = printed(state.from);
    $("to").value = printed(state.to);
    const at = now();
    if (state.looped && (at < bars[state.from].at - 1 || at >= bars[state.to].end)) go(bars[state.from].at);
    mark();
  }
  function whole() { choose(0, bars.length - 1); state.looped = false; mark(); }
  // What is printed once and played again stands once in the lists, and is chosen for the
  // first time through. A last bar before the first is taken for both.
  function printed(i) { return bars.findIndex((b) => b.n === bars[i].n); }
  bars.forEach((b, i) => {
    if (printed(i) !== i) return;
    for (const list of [$("from"), $("to")]) list.add(new Option(b.l, i));
  });
  function fields(e) {
    let a = +$("from").value, z = +$("to").value;
    if (z < a) { if (e.target.id === "from") z = a; else a = z; }
    while (z + 1 < bars.length && bars[z + 1].n === bars[z].n) z++;
    choose(a, z);
  }

  // Two taps choose bars, the first and the last, once that is asked for.
  let picking = false, firstTap = -1;
  function pick(on) {
    picking = on;
    firstTap = -1;
    $("pick").setAttribute("aria-pressed", String(on));
    $("told").textContent = on ? said("pick-first") : "";
  }
  $("more").addEventListener("click", () => {
    $("settings").hidden = !$("settings").hidden;
    $("more").setAttribute("aria-expanded", String(!$("settings").hidden));
    dock.classList.toggle("opened", !$("settings").hidden);
  });
  $("pick").addEventListener("click", () => pick(!picking));
  function tapped(i, note) {
    if (picking && firstTap < 0) {
      firstTap = i;
      choose(i, i);
      $("told").textContent = said("pick-last");
    } else if (picking) {
      choose(firstTap, i);
      pick(false);
      $("told").textContent = said("repeats", { place: place(bars[state.from].at), from: named(bars[state.from]), to: named(bars[state.to]) });
    } else if (note) {
      tell(note);
    } else {
      tell(null);
      go(bars[i].at);
    }
  }
  // tell says of a note what it is, which finger plays it and why it is there.
  let told = null;
  function tell(n) {
    told = n;
    for (const l of layouts) {
      for (const y of l.layers) y.svg.querySelectorAll(".picked").forEach((e) => e.remove());
      const b = n && l.boxes[n.id];
      if (b) make("rect", { class: "picked", x: b[1] - 1.2, y: b[2] - 1.2, width: b[3] + 2.4, height: b[4] + 2.4, rx: 1 }, l.layers[b[0]].under);
    }
    if (!n) { $("told").textContent = ""; return; }
    const text = [said("note", { note: n.n, hand: said(n.h === "R" ? "right-hand" : "left-hand") })];
    if (n.f) text.push(said("finger", { n: n.f }));
    const why = n.w >= 0 ? data.whys[n.w] : "";
    if (n.c >= 0 && !why.includes(data.tones[n.c])) text.push(data.tones[n.c]); // not twice
    $("told").textContent = text.join(", ") + ". " + why;
    if (!state.playing) go(n.at);
  }
  // Notes one after another, from where the page is.
  function nextNote(by) {
    let i = told ? notes.indexOf(told) + by : notes.findIndex((n) => n.at >= now() - 1);
    i = Math.max(0, Math.min(i, notes.length - 1));
    tell(notes[i]);
    follow(barAt(notes[i].at));
  }

  let drag = null, focused = false;
  for (const l of layouts) {
    const barUnder = (e) => {
      for (const y of l.layers) {
        const r = y.svg.getBoundingClientRect();
        if (e.clientY < r.top || e.clientY > r.bottom) continue;
        // The nearest bar in the system under the pointer.
        let best = -1, far = Infinity;
        const near = drag ? drag.at : barAt(now()); // of a bar that is played again, the time that is next to this
        l.zones.forEach((z, i) => {
          if (!z || z.parentNode !== y.under) return;
          const q = z.getBoundingClientRect();
          const dy = Math.max(q.top - e.clientY, 0, e.clientY - q.bottom), dx = Math.max(q.left - e.clientX, 0, e.clientX - q.right);
          const off = dy * 10 + dx;
          if (off < far || off === far && Math.abs(i - near) < Math.abs(best - near)) { far = off; best = i; }
        });
        return best;
      }
      return -1;
    };
    // The note whose head is under the pointer, or near enough for a finger.
    const noteUnder = (e) => {
      let best = null, far = 1.6; // mm of the score, beyond the head
      for (const y of l.layers) {
        const m = y.svg.getScreenCTM();
        if (!m) continue;
        const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m.inverse());
        for (const n of notes) {
          const b = l.boxes[n.id];
          if (!b || l.layers[b[0]] !== y) continue;
          const off = Math.hypot(Math.max(b[1] - p.x, 0, p.x - b[1] - b[3]), Math.max(b[2] - p.y, 0, p.y - b[2] - b[4]));
          if (off < far) { far = off; best = n; }
        }
      }
      return best;
    };
    l.sheets.addEventListener("pointerdown", (e) => {
      if (e.button !== 0) return;
      const i = barUnder(e);
      if (i < 0) return;
      drag = { at: i, moved: false, x: e.clientX, y: e.clientY, id: e.pointerId };
    });
    l.sheets.addEventListener("pointermove", (e) => {
      if (!drag || e.pointerId !== drag.id) return;
      const i = barUnder(e);
      if (state.zoom > 100 && e.pointerType === "touch") return; // there a finger moves the score
      if (!drag.moved && Math.hypot(e.clientX - drag.x, e.clientY - drag.y) < 8) return;
      if (!drag.moved) { drag.moved = true; l.sheets.setPointerCapture(e.pointerId); getSelection().removeAllRanges(); }
      if (i >= 0) choose(drag.at, i);
    });
    l.sheets.addEventListener("pointerup", (e) => {
      if (drag && !drag.moved) tapped(drag.at, noteUnder(e));
      drag = null;
    });
    l.sheets.addEventListener("pointercancel", () => { drag = null; });
    l.sheets.addEventListener("dragstart", (e) => e.preventDefault());

    l.sheets.tabIndex = 0;
    l.sheets.setAttribute("role", "group");
    l.sheets.setAttribute("aria-label", said("score"));
    l.sheets.addEventListener("focus", () => { focused = true; state.cursor = state.anchor = Math.max(lastBar, 0); mark(); });
    l.sheets.addEventListener("blur", () => { focused = false; mark(); });
    l.sheets.addEventListener("keydown", (e) => {
      if (e.ctrlKey || e.altKey || e.metaKey) return;
      let to = state.cursor;
      switch (e.key) {
        case "ArrowRight": case "ArrowDown": to++; break;
        case "ArrowLeft": case "ArrowUp": to--; break;
        case "Home": to = 0; break;
        case "End": to = bars.length - 1; break;
        case "Enter": go(bars[state.cursor].at); if (!state.playing) play(); e.preventDefault(); return;
        case "Escape": whole(); return;
        default: return;
      }
      e.preventDefault();
      to = Math.max(0, Math.min(to, bars.length - 1));
      state.cursor = to;
      if (e.shiftKey) choose(state.anchor, to);
      else { state.anchor = to; if (!state.playing) go(bars[to].at); }
      mark();
      follow(to);
      const text = place(bars[to].at);
      say(state.looped && e.shiftKey ? said("repeats", { place: text, from: named(bars[state.from]), to: named(bars[state.to]) }) : text);
    });
  }
  const voice = document.createElement("p");
  voice.className = "unseen";
  voice.setAttribute("role", "status");
  $("player").appendChild(voice);
  function say(text) { voice.textContent = text; }

  // ---- controls --------------------------------------------------------------

  const hands = [...new Map(data.takes.map((t) => [t.hands, t.label])).entries()];
  if (silent) {
    // Nothing sounds, but one may still watch one hand.
    hands.splice(0, hands.length, ...["both", "right", "left", "without-tune"].map((h) => [h, said(h)]));
    data.takes = hands.map(([h, label]) => ({ ...data.takes[0], hands: h, label }));
    state.take = data.takes[0];
  }
  for (const [value, label] of hands) {
    const o = document.createElement("option");
    o.value = value;
    o.textContent = label;
    $("take").appendChild(o);
  }
  function setHands(h) { state.hands = h; $("take").value = h; setTake(); lastIds = ""; show(); }
  function setTempo(p) {
    state.percent = Math.max(40, Math.min(120, p));
    $("tempo").value = state.percent;
    const speed = data.perMinute ? ", " + data.beat + " = " + Math.round(data.perMinute * state.percent / 100) : "";
    const beats = document.createElement("span");
    beats.className = "word";
    beats.textContent = speed;
    $("tempo-out").replaceChildren(state.percent + " %", beats);
    $("tempo").setAttribute("aria-valuetext", $("tempo-out").textContent);
    setTake();
  }
  $("play").addEventListener("click", () => toggle());
  $("to-start").addEventListener("click", () => go(bars[state.from].at));
  $("seek").max = Math.floor(since0(last.end));
  $("seek").addEventListener("input", (e) => {
    const at = position(full, +e.target.value + seconds(full, first.at));
    go(Math.max(first.at, Math.min(at, last.end - 1)));
  });
  $("take").addEventListener("change", (e) => setHands(e.target.value));
  $("tempo").addEventListener("input", (e) => setTempo(+e.target.value));
  $("from").addEventListener("change", fields);
  $("to").addEventListener("change", fields);
  $("whole").addEventListener("click", whole);
  $("labels").addEventListener("change", () => { lastIds = ""; show(); });

  // A step of the plan sets bars, tempo and hands and repeats them.
  // setUp has bars repeated at a tempo, by hands.
  function setUp(a, z, percent, who) {
    setHands(hands.some((h) => h[0] === who) ? who : "both");
    setTempo(+percent || 100);
    choose(a, z);
    state.looped = true;
    mark();
    go(bars[a].at);
    follow(a);
  }
  const plan = window.practicePlan(said, {
    setUp, setTempo, say,
    percent: () => state.percent,
    has: (i) => bars[i] !== undefined,
    playOn() { if (!state.playing) play(); },
    repeated: (a) => said("repeats", { place: place(bars[a].at), from: named(bars[state.from]), to: named(bars[state.to]) }),
  });

  // Single keys, for hands that lie on the piano: where they do what keys of the desk do,
  // they are the same. They leave fields alone, and to what has the focus the keys that it
  // has itself; they can be turned off (WCAG 2.2, 2.1.4).
  function stop() { if (state.playing) pause(); go(bars[state.from].at); }
  function taken(e) {
    if (e.key === " ") return e.target.closest("a, button, summary, input, audio");
    return e.key.startsWith("Arrow") && e.target.closest("audio, input, [tabindex='0']");
  }
  document.addEventListener("keydown", (e) => {
    const held = (e.ctrlKey || e.altKey || e.metaKey) && !e.getModifierState("AltGraph"); // some keyboards have + there
    const typing = e.target.closest("select, textarea, [contenteditable], input:not([type=checkbox], [type=range])");
    if (!$("keys-on").checked || held || typing || taken(e)) return;
    switch (e.key) {
      case " ": toggle(); break;
      case said("key-stop"): stop(); break;
      case "ArrowLeft": go(bars[Math.max(0, barAt(now()) - 1)].at); break;
      case "ArrowRight": go(bars[Math.min(bars.length - 1, barAt(now()) + 1)].at); break;
      case "-": setTempo(state.percent - 5); break;
      case "+": case "=": setTempo(state.percent + 5); break;
      case "r": if (state.looped) whole(); else { const i = barAt(now()); choose(i, i); } break;
      case "h": { const i = hands.findIndex((x) => x[0] === state.hands); setHands(hands[(i + 1) % hands.length][0]); break; }
      case "n": nextNote(1); break;
      case "N": nextNote(-1); break;
      case "c": $("count-in").checked = !$("count-in").checked; break;
      case said("key-help"): $("commands").open = !$("commands").open; if ($("commands").open) $("commands").scrollIntoView({ block: "center" }); break;
      default: return;
    }
    e.preventDefault();
  });

  // The keyboard folds away, and stays so.
  function fold(away) {
    $("keys-box").hidden = away;
    $("fold").setAttribute("aria-expanded", String(!away));
    if (!away) { fitKeys(Math.max(lastBar, 0)); lastIds = ""; show(); }
  }
  $("fold").addEventListener("click", () => {
    fold(!$("keys-box").hidden);
    try { localStorage.setItem("keyboard", $("keys-box").hidden ? "away" : "shown"); } catch { /* as above */ }
  });

  clock.load(state.take.src, seconds(timing(), first.at));
  setTempo(100);
  function size(percent) {
    state.zoom = percent;
    $("zoom").value = percent;
    $("zoom-out").textContent = percent + " %";
    $("sheet").style.setProperty("--zoom", percent / 100);
    $("sheet").classList.toggle("zoomed", percent > 100);
    fitKeys(Math.max(lastBar, 0));
  }
  $("zoom").addEventListener("input", (e) => {
    size(+e.target.value);
    try { localStorage.setItem("score size", e.target.value); } catch { /* as above */ }
  });
  let sized = 100;
  try { sized = +localStorage.getItem("score size") || 100; } catch { /* as above */ }
  size(Math.max(80, Math.min(200, sized)));

  $("from").value = 0;
  $("to").value = printed(bars.length - 1);
  let kept = null;
  try { kept = localStorage.getItem("keyboard"); } catch { /* as above */ }
  fold(kept === "away" || kept === null && innerHeight < 540); // where there is no room for both
  room();
  show();
  plan.asked();

  // For tests: what the page believes.
  window.lesson = { state, data, now, sounding, seconds, position, loops: () => loops, time: () => clock.time(), go };
})();
