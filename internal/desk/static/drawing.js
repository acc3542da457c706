// @ts-check
// A picture that is not there yet keeps its place and says that it is being drawn.

for (const img of document.querySelectorAll(".music img")) {
  const box = img.closest(".music");
  if (!(img instanceof HTMLImageElement) || !(box instanceof HTMLElement) || img.complete && img.naturalWidth > 0) continue;
  box.dataset.drawing = document.body.dataset.drawing;
  img.addEventListener("load", () => { delete box.dataset.drawing; }, { once: true });
  img.addEventListener("error", () => { box.dataset.drawing = document.body.dataset.undrawn; }, { once: true });
}
