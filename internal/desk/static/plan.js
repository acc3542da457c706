// @ts-check
// The plan: a texture, a sign or a density is dragged onto a section, which then sends the
// form that stands in it. Who does not drag has the form.

const palette = document.querySelector(".palette");
if (palette instanceof HTMLElement) {
  palette.hidden = false;
  /** @type {DOMStringMap | undefined} */
  let held;
  palette.addEventListener("dragstart", (ev) => {
    const chip = ev.target;
    if (!(chip instanceof HTMLElement) || !ev.dataTransfer) return;
    held = chip.dataset;
    ev.dataTransfer.effectAllowed = "copy";
    ev.dataTransfer.setData("text/plain", chip.textContent ?? "");
  });
  palette.addEventListener("dragend", () => { held = undefined; });

  /** The select of a section that a chip fills; null: it needs none.
   * @param {HTMLFormElement} form @param {DOMStringMap} chip */
  const fits = (form, chip) => {
    for (const name of ["texture", "dynamic"]) {
      const value = chip[name];
      const select = form.elements.namedItem(name);
      if (value) return select instanceof HTMLSelectElement && [...select.options].some((o) => o.value === value) ? name : "";
    }
    return chip.do ?? "";
  };

  for (const part of document.querySelectorAll(".part")) {
    const form = part.querySelector("form");
    if (!form) continue;
    part.addEventListener("dragover", (ev) => {
      if (!held || !fits(form, held)) return;
      ev.preventDefault();
      part.classList.add("dropping");
    });
    part.addEventListener("dragleave", () => part.classList.remove("dropping"));
    part.addEventListener("drop", (ev) => {
      part.classList.remove("dropping");
      const what = held && fits(form, held);
      if (!what || !held) return;
      ev.preventDefault();
      const select = form.elements.namedItem(what);
      if (select instanceof HTMLSelectElement) select.value = held[what] ?? "";
      const button = form.querySelector(`button[value="${what}"]`);
      if (button instanceof HTMLButtonElement) form.requestSubmit(button);
    });
  }
}
