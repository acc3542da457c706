// @ts-check
// One bar at every level: what else it could be is heard without leaving the page, and keys
// go from bar to bar.
import { does } from "./keys.js";
import { gone } from "./keep.js";

for (const what of ["next-bar", "last-bar"]) {
  const link = document.querySelector(`a[data-key="${what}"]`);
  if (link instanceof HTMLAnchorElement) does(what, () => { location.href = link.href; });
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
