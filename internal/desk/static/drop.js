// @ts-check
// Files that are dropped on the page of tunes go into its form.

const form = document.getElementById("drop");
const input = document.getElementById("file");
if (form instanceof HTMLFormElement && input instanceof HTMLInputElement) {
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, (ev) => {
      ev.preventDefault();
      form.classList.add("dropping");
    });
  }
  document.addEventListener("dragleave", () => form.classList.remove("dropping"));
  document.addEventListener("drop", (ev) => {
    ev.preventDefault();
    form.classList.remove("dropping");
    if (!(ev instanceof DragEvent) || !ev.dataTransfer?.files.length) return;
    input.files = ev.dataTransfer.files;
    form.requestSubmit();
  });
}
