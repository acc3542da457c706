// What was practised, day by day: the minutes, the quickest tempo that was clean, and which
// steps were done. It stays in this browser, and can be saved as text.
"use strict";
// practiceDiary is the diary of a page; said words its lines, shown is told when it changes.
window.practiceDiary = (said, shown) => {
  const $ = (id) => document.getElementById(id);
  const shelf = "practice " + location.pathname.split("/").slice(-2).join("/");
  let days = [];
  try { days = JSON.parse(localStorage.getItem(shelf)) || []; } catch { days = []; }

  const line = (e) => said("log-line", { day: e.day, minutes: Math.round(e.ms / 6000) / 10, done: e.done.length, percent: e.percent });
  function today() {
    const d = new Date(), two = (n) => String(n).padStart(2, "0");
    const day = d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate());
    let e = days.find((x) => x.day === day);
    if (!e) { e = { day, ms: 0, percent: 0, done: [] }; days.push(e); }
    return e;
  }
  function list() {
    if (!$("log")) return;
    $("log").replaceChildren(...days.map((e) => { const li = document.createElement("li"); li.textContent = line(e); return li; }));
    $("log-box").hidden = days.length === 0;
    shown(new Set(days.length ? today().done : []));
  }
  function keep() {
    try { localStorage.setItem(shelf, JSON.stringify(days)); } catch { /* private window: it lasts as long as the page */ }
    list();
  }
  if ($("log")) {
    $("log-save").addEventListener("click", () => {
      const a = document.createElement("a");
      a.href = URL.createObjectURL(new Blob([days.map(line).join("\n") + "\n"], { type: "text/plain" }));
      a.download = "practice.txt";
      a.click();
      URL.revokeObjectURL(a.href);
    });
    list();
  }
  return {
    // practised adds milliseconds to today; less than a second is none.
    practised(ms) {
      if (!(ms > 1000)) return;
      today().ms += ms;
      keep();
    },
    // clean notes a step, or none of them (-1), that went well at a tempo, and whether it is done.
    clean(step, percent, done) {
      const e = today();
      e.percent = Math.max(e.percent, percent);
      if (done && !e.done.includes(step)) e.done.push(step);
      keep();
    },
  };
};
