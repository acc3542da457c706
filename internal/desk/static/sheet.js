// @ts-check
// The sheet, live: while the text is typed its picture and what is wrong with it follow.
import { gone } from "./keep.js";

const form = document.getElementById("sheet-form");
const text = document.getElementById("text");
const look = document.getElementById("look");
const state = document.getElementById("look-state");

if (form instanceof HTMLFormElement && text instanceof HTMLTextAreaElement && look && state) {
  let timer = 0, asked = 0;

  /** Goes to a line of the text. @param {number} line */
  const show = (line) => {
    const lines = text.value.split("\n"), code = text.closest("details");
    if (code) code.open = true;
    const from = lines.slice(0, line - 1).reduce((n, s) => n + s.length + 1, 0);
    text.focus();
    text.setSelectionRange(from, from + (lines[line - 1] ?? "").length);
    text.scrollTop = Math.max(0, (line - 3) * text.scrollHeight / lines.length);
  };

  const links = () => {
    for (const li of look.querySelectorAll(".problems > li[data-line]")) {
      if (!(li instanceof HTMLElement)) continue;
      const b = document.createElement("button");
      b.type = "button";
      b.className = "quiet";
      b.textContent = (state.dataset.show ?? "").replace("0", li.dataset.line ?? "");
      b.addEventListener("click", () => show(Number(li.dataset.line)));
      li.append(b);
    }
  };

  const follow = async () => {
    const turn = ++asked;
    state.textContent = state.dataset.at ?? "";
    try {
      const res = await fetch(form.dataset.look ?? "", { method: "POST", body: new URLSearchParams({ text: text.value }) });
      const html = await res.text();
      if (turn !== asked) return; // there is a newer one
      if (!res.ok) throw new Error(String(res.status));
      look.replaceChildren(...new DOMParser().parseFromString(html, "text/html").body.childNodes);
      state.textContent = state.dataset.done ?? "";
      links();
      performance.mark("looked");
    } catch {
      if (turn === asked) state.textContent = "";
      gone();
    }
  };

  // A likely chord takes the place of what was typed, in the text itself.
  look.addEventListener("submit", (ev) => {
    const make = ev.target;
    const instead = make instanceof HTMLFormElement && make.classList.contains("make") ? make.querySelector("input[name=text]") : null;
    if (!(instead instanceof HTMLInputElement)) return;
    ev.preventDefault();
    text.value = instead.value;
    text.dispatchEvent(new Event("input", { bubbles: true }));
    text.focus();
  });

  text.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(follow, 200);
  });
  links();
  if (text.value !== text.defaultValue) follow(); // what was typed before
}
