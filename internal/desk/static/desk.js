// @ts-check
// What every page of the desk has: keys, files that are dropped, what was typed kept over a
// reload, and a word where the desk does not answer. Every page works without it.
import "./keys.js";
import "./keep.js";
import "./drop.js";
import "./sheet.js";
import "./listen.js";
import "./lesson.js";
import "./bar.js";
import "./drawing.js";
import "./plan.js";
import "./entry.js";
import "./place.js";
import "./whole.js";

// An address that tells what was done is told once.
const at = new URL(location.href);
if (at.searchParams.has("told")) {
  at.searchParams.delete("told");
  history.replaceState(null, "", at);
}

document.documentElement.dataset.ready = "1"; // keys work from here on
