// @ts-check
// Where somebody was in a tune: the list of tunes leads back there.

const store = "desk-place ";
const tune = /^\/tunes\/([^/]+)/.exec(location.pathname)?.[1];
if (tune && document.querySelector(".tune-head")) {
  const title = document.title.split(" · ")[0], here = new URL(location.href);
  here.searchParams.delete("told");
  localStorage.setItem(store + tune, JSON.stringify({ at: here.pathname + here.search, title }));
}
const list = document.querySelector("ul.tunes");
if (list instanceof HTMLElement) {
  for (const head of list.querySelectorAll("h3 > a")) {
    if (!(head instanceof HTMLAnchorElement)) continue;
    const kept = localStorage.getItem(store + head.pathname.split("/").pop());
    const { at, title } = kept ? JSON.parse(kept) : { at: "", title: "" };
    if (!at || at === head.pathname || at === head.pathname + "/whole") continue; // the name itself leads there
    const on = document.createElement("a");
    on.href = at;
    on.textContent = `${list.dataset.goOn}: ${title}`;
    head.after(" ", on);
    on.className = "go-on";
  }
}
