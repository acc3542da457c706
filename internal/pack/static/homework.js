// The boxes of a sheet of homework: what is ticked stays in this browser, and the week in which
// a box was ticked last stands first.
"use strict";
(() => {
  const shelf = "homework " + location.pathname.split("/").slice(-2).join("/");
  const boxes = [...document.querySelectorAll("[data-box]")], weeks = [...document.querySelectorAll(".week")];
  let ticked = [];
  try { ticked = JSON.parse(localStorage.getItem(shelf)) || []; } catch { ticked = []; }
  for (const b of boxes) {
    b.checked = ticked.includes(b.dataset.box);
    b.addEventListener("change", () => {
      ticked = boxes.filter((x) => x.checked).map((x) => x.dataset.box);
      try { localStorage.setItem(shelf, JSON.stringify(ticked)); } catch { /* private window: it lasts as long as the page */ }
    });
  }
  const now = weeks.findLast((w) => w.querySelector(":checked")) || weeks[0];
  if (!now) return;
  if (now !== weeks[0]) weeks[0].before(now);
  now.classList.add("now");
  now.querySelector(".this-week").hidden = false;
})();
