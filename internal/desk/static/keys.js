// @ts-check
// Keys: those of the list that the page holds. They rest while something is typed, and are
// off for who has turned them off.

const off = "desk-keys-off";

/** @type {Map<string, (ev: KeyboardEvent) => void>} */
const doers = new Map();

/** Says what a key of the list does on this page.
 * @param {string} what
 * @param {(ev: KeyboardEvent) => void} f */
export function does(what, f) { doers.set(what, f); }

/** @param {EventTarget | null} el */
function typing(el) {
  return el instanceof HTMLElement && (el.isContentEditable || el.matches("textarea, select, input:not([type=checkbox], [type=radio], [type=button])"));
}

/** Whether something has the focus to which a key means something already: space presses
 * what can be pressed, arrows scroll what scrolls sideways.
 * @param {EventTarget | null} el @param {string} key */
function taken(el, key) {
  if (!(el instanceof Element)) return false;
  if (key === " ") return el.closest("a, button, summary, input, audio") !== null;
  return key.startsWith("Arrow") && el.closest("audio, input, [tabindex='0']") !== null;
}

const dialog = document.getElementById("keys");
const rows = [...document.querySelectorAll("#keys .keylist div")];

function help() { if (dialog instanceof HTMLDialogElement && !dialog.open) dialog.showModal(); }

does("help", help);
does("search", (ev) => {
  const q = document.getElementById("q");
  if (q) { ev.preventDefault(); q.focus(); } else { location.href = "/"; }
});
for (const what of ["undo", "redo"]) {
  does(what, () => {
    const b = document.querySelector(`[data-key="${what}"]`);
    if (b instanceof HTMLButtonElement && !b.disabled) b.click();
  });
}

for (const link of document.querySelectorAll("a.open-keys")) {
  link.addEventListener("click", (ev) => {
    if (dialog instanceof HTMLDialogElement) { ev.preventDefault(); help(); }
  });
}
for (const box of document.querySelectorAll("[data-keys-off]")) {
  if (!(box instanceof HTMLInputElement)) continue;
  const around = box.closest(".with-script");
  if (around instanceof HTMLElement) around.hidden = false;
  box.checked = localStorage.getItem(off) === "1";
  box.addEventListener("change", () => localStorage.setItem(off, box.checked ? "1" : "0"));
}
document.addEventListener("keydown", (ev) => {
  if (ev.ctrlKey || ev.altKey || ev.metaKey || typing(ev.target) || document.querySelector("dialog[open]")) return;
  if (localStorage.getItem(off) === "1") return;
  for (const row of rows) {
    const kbd = row.querySelector("kbd");
    if (!kbd || kbd.dataset.press !== ev.key || taken(ev.target, ev.key)) continue;
    const f = doers.get(row.querySelector("dd")?.dataset.do ?? "");
    if (f) { ev.preventDefault(); f(ev); }
  }
});
