// The plan of the day beside the player: its steps, the tempo that climbs, and the bars that
// another page asks for. The diary keeps what was done.
"use strict";
// practicePlan needs of the player: setUp(from, to, percent, hands), setTempo, percent, say,
// has(bar), playOn, and repeated(bar), which says what is repeated.
window.practicePlan = (said, player) => {
  const $ = (id) => document.getElementById(id);
  const steps = [...document.querySelectorAll("#tonight [data-from]")];
  const diary = window.practiceDiary(said, (done) => steps.forEach((b, i) => b.closest("li").classList.toggle("done", done.has(i))));
  let step = -1, clean = 0, slips = 0;
  function begin(i, sounding) {
    const b = steps[i];
    step = i;
    clean = slips = 0;
    player.setUp(+b.dataset.from, +b.dataset.to, b.dataset.percent, b.dataset.hands);
    $("judge").hidden = false;
    steps.forEach((x, k) => x.setAttribute("aria-pressed", String(k === i)));
    begunAt = Date.now();
    offer();
    player.say(b.textContent);
    if (sounding) player.playOn();
  }
  // The first window has the step that is on, or the first one, how long it has lasted, and
  // the next.
  let begunAt = 0;
  function offer() {
    if (!$("step-now")) return;
    const i = Math.max(0, step);
    $("step-now").textContent = steps[i].dataset.label;
    $("step-now").setAttribute("aria-pressed", String(step >= 0));
    const next = step >= 0 && steps[i + 1];
    $("step-next").hidden = !next;
    if (next) $("step-next").textContent = next.dataset.label;
    passed();
  }
  function passed() {
    if (step < 0 || !$("step-clock")) return;
    const s = Math.floor((Date.now() - begunAt) / 1000), two = (n) => String(n).padStart(2, "0");
    $("step-clock").textContent = Math.floor(s / 60) + ":" + two(s % 60) + " / " + steps[step].dataset.minutes + ":00";
  }
  if ($("step-now")) {
    $("step-now").addEventListener("click", () => begin(Math.max(0, step), true));
    $("step-next").addEventListener("click", () => begin(step + 1, true));
    setInterval(passed, 1000);
  }
  steps.forEach((b, i) => b.addEventListener("click", () => begin(i, true)));
  // The page of practice leads to a step; a browser lets nothing sound before a press.
  function asked() {
    const m = /^#step-(\d+)$/.exec(location.hash);
    if (m && steps[+m[1]]) { begin(+m[1], false); $("play").focus({ preventScroll: true }); return; }
    // Any bars, with tempo and hands: "#bars=4-7&tempo=60&hands=left".
    const q = new URLSearchParams(location.hash.slice(1)), range = /^(\d+)-(\d+)$/.exec(q.get("bars") || "");
    if (!range || !player.has(+range[1]) || !player.has(+range[2])) return;
    player.setUp(+range[1], +range[2], q.get("tempo"), q.get("hands"));
    player.say(player.repeated(+range[1]));
    $("play").focus({ preventScroll: true });
  }
  addEventListener("hashchange", asked);
  // To the next step of tempo, up or down, where that is asked for and there is one.
  function change(up) {
    const tempi = $("tonight").dataset.tempi.split(" ").map(Number);
    const to = up ? tempi.find((n) => n > player.percent()) : tempi.findLast((n) => n < player.percent());
    if ($("climb").checked && to) { player.setTempo(to); player.say(said("tempo-is", { percent: to })); }
  }
  if ($("tonight")) {
    $("clean").addEventListener("click", () => {
      slips = 0;
      const done = ++clean >= 3, at = player.percent();
      if (done) {
        clean = 0;
        change(true);
      }
      diary.clean(step, at, done);
      $("clean-out").textContent = said("clean-so-far", { n: clean });
    });
    $("slip").addEventListener("click", () => {
      clean = 0;
      if (++slips >= 2) {
        slips = 0;
        change(false);
      }
      $("clean-out").textContent = said("clean-so-far", { n: clean });
    });
  }

  return { asked, practised: (ms) => diary.practised(ms) };
};
