// @ts-check
// One bar at every level: what else it could be is heard without leaving the page, and keys
// go from bar to bar.
import { does } from "./keys.js";
import { gone } from "./keep.js";

for (const what of ["next-bar", "last-bar"]) {
  const link = document.querySelector(`a[data-key="${what}"]`);
  if (link instanceof HTMLAnchorElement) does(what, () => { location.href = link.href; });
}

// The bar's notes: a press on one says which it is and why it is there; a finger is dragged
// onto one, which sends the form of fingers.
const figure = document.getElementById("bar-notes"), chips = document.querySelector(".finger-chips");
const which = document.getElementById("note");
if (figure && chips instanceof HTMLElement && which instanceof HTMLSelectElement) {
  const said = /** @type {HTMLElement} */ (chips.querySelector(".note-said"));
  const shown = figure.querySelector("img");
  if (shown) {
    fetch(shown.src).then((r) => r.ok ? r.text() : Promise.reject(new Error(String(r.status)))).then((text) => {
      const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
      if (svg.nodeName !== "svg") return;
      svg.setAttribute("role", "img");
      svg.setAttribute("aria-label", shown.alt);
      for (const name of ["aria-labelledby", "aria-describedby", "color"]) svg.removeAttribute(name);
      svg.querySelectorAll("title, desc").forEach((e) => e.remove());
      shown.replaceWith(document.importNode(svg, true));
      figure.removeAttribute("data-drawing");
      for (const el of document.querySelectorAll(".finger-chips, .finger-list .with-script")) if (el instanceof HTMLElement) el.hidden = false;
    }).catch(() => {});
  }

  /** The option of a note of the picture. @param {Element} note */
  const optionOf = (note) => [...which.options].find((o) => o.dataset.note === note.id);

  /** The note that a pointer is at, or nearest to, within a finger's breadth. @param {number} x @param {number} y */
  const noteAt = (x, y) => {
    /** @type {Element | undefined} */
    let best;
    let by = 28;
    for (const note of figure.querySelectorAll("g.note[id]")) {
      const r = (note.querySelector(".notehead") ?? note).getBoundingClientRect();
      const far = Math.hypot(x - (r.left + r.right) / 2, y - (r.top + r.bottom) / 2);
      if (far < by && optionOf(note)) [best, by] = [note, far];
    }
    return best;
  };

  figure.addEventListener("click", (ev) => {
    const note = noteAt(ev.clientX, ev.clientY), option = note && optionOf(note);
    if (!option) return;
    which.value = option.value;
    if (finger) return send(option);
    const why = document.createElement("a");
    why.href = option.dataset.why ?? "";
    why.textContent = chips.dataset.why ?? "";
    said.replaceChildren(option.text + " ", why);
  });
  let finger = "";
  /** Sends the form of fingers. @param {HTMLOptionElement} option */
  const send = (option) => {
    const field = document.getElementById("finger"), form = which.form;
    const button = form?.querySelector('button[value="finger"]');
    if (!form || !(field instanceof HTMLSelectElement) || !(button instanceof HTMLButtonElement)) return;
    which.value = option.value;
    field.value = finger;
    form.requestSubmit(button);
  };
  /** Takes up a finger, or lays it down. @param {string} which */
  const hold = (which) => {
    finger = which;
    for (const b of chips.querySelectorAll("button")) b.setAttribute("aria-pressed", String(which !== "" && b.closest("li")?.dataset.finger === which));
    said.textContent = which === "none" ? chips.dataset.none ?? "" : which && (chips.dataset.held ?? "").replace("0", which);
  };
  chips.addEventListener("click", (ev) => {
    const button = ev.target instanceof Element ? ev.target.closest("button") : null;
    const li = button?.closest("li");
    if (!button || !li) return;
    const held = button.getAttribute("aria-pressed") === "true";
    hold(held ? "" : li.dataset.finger ?? "");
  });
  document.addEventListener("keydown", (ev) => { if (ev.key === "Escape" && finger) hold(""); });
  chips.addEventListener("dragstart", (ev) => {
    const chip = ev.target instanceof Element ? ev.target.closest("[data-finger]") : null;
    finger = chip instanceof HTMLElement ? chip.dataset.finger ?? "" : "";
    ev.dataTransfer?.setData("text/plain", finger);
  });
  chips.addEventListener("dragend", () => { finger = ""; });
  figure.addEventListener("dragover", (ev) => {
    const note = finger ? noteAt(ev.clientX, ev.clientY) : undefined;
    for (const el of figure.querySelectorAll(".target")) el.classList.remove("target");
    if (!note) return;
    ev.preventDefault();
    note.classList.add("target");
  });
  figure.addEventListener("drop", (ev) => {
    const note = noteAt(ev.clientX, ev.clientY), option = note && optionOf(note);
    if (!finger || !option) return;
    ev.preventDefault();
    send(option);
  });
}

const heard = new Audio();
/** @type {HTMLAnchorElement | undefined} */
let by;

function quiet() {
  by?.removeAttribute("aria-current");
  by = undefined;
}

heard.addEventListener("ended", quiet);
heard.addEventListener("error", () => { if (by) { quiet(); gone(); } });
document.addEventListener("click", (ev) => {
  const link = ev.target instanceof Element ? ev.target.closest("a[data-sound]") : null;
  if (!(link instanceof HTMLAnchorElement) || ev.ctrlKey || ev.metaKey) return;
  ev.preventDefault();
  const again = link === by;
  heard.pause();
  quiet();
  if (again) return;
  by = link;
  link.setAttribute("aria-current", "true");
  heard.src = link.href;
  heard.play().catch(() => quiet());
});
