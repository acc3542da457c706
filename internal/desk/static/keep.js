// @ts-check
// What is typed is kept in the browser until the desk has taken it, so that neither a
// closed window nor a desk that does not answer loses it.

const away = document.getElementById("away"), line = document.getElementById("kept");

/** @param {HTMLTextAreaElement} t */
const nameOf = (t) => "desk-typed " + location.pathname + " " + t.dataset.keep;

for (const t of document.querySelectorAll("textarea[data-keep]")) {
  if (!(t instanceof HTMLTextAreaElement)) continue;
  const served = t.value, kept = localStorage.getItem(nameOf(t));
  if (kept !== null && kept !== served) {
    const { from, text, sent } = JSON.parse(kept);
    if (from === served && !sent) { // typed on top of what stands here
      t.value = text;
      if (line) line.textContent = line.dataset.typed ?? "";
    }
    else localStorage.removeItem(nameOf(t));
  }
  t.addEventListener("input", () => localStorage.setItem(nameOf(t), JSON.stringify({ from: served, text: t.value })));
}

// One line, always in its place, says whether what stands here is kept. A form that acts at a
// press of its own button has nothing to keep; one with a field that waits for it has.
/** @param {EventTarget | null} field */
const waits = (field) => field instanceof HTMLElement && field.closest("form")?.classList.contains("keeps");
for (const what of ["input", "change"]) document.addEventListener(what, (ev) => { if (line && waits(ev.target)) line.textContent = line.dataset.typed ?? ""; });

/** Whether the desk answers. */
export async function answers() {
  try {
    await fetch(new URL("icon.svg", import.meta.url), { method: "HEAD", cache: "no-store" });
    return true;
  } catch {
    return false;
  }
}

let waiting = false;

/** Says that the desk does not answer, until it does. */
export async function gone() {
  if (waiting || !away) return;
  waiting = true;
  away.hidden = false;
  while (!(await answers())) await new Promise((done) => setTimeout(done, 1000));
  away.hidden = true;
  waiting = false;
}

// A form is not sent to a desk that is gone: the browser's own page of trouble would take
// the place of what was typed.
document.addEventListener("submit", async (ev) => {
  const form = ev.target;
  if (!(form instanceof HTMLFormElement) || form.method !== "post" || form.dataset.sent || ev.defaultPrevented) return;
  ev.preventDefault();
  const by = ev.submitter;
  if (await answers()) {
    form.dataset.sent = "1";
    for (const t of form.querySelectorAll("textarea[data-keep]")) {
      if (t instanceof HTMLTextAreaElement) localStorage.setItem(nameOf(t), JSON.stringify({ from: t.defaultValue, text: t.value, sent: true }));
    }
    form.requestSubmit(by);
    delete form.dataset.sent;
  } else {
    gone();
  }
});
