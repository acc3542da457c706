// @ts-check
// What is being made tells how far it is.
for (const li of document.querySelectorAll(".run[data-events]")) {
  if (!(li instanceof HTMLElement)) continue;
  const bar = li.querySelector("progress"), text = li.querySelector(".run-text"), percent = li.querySelector(".run-percent");
  const events = new EventSource(li.dataset.events ?? "");
  events.addEventListener("progress", (ev) => {
    const is = JSON.parse(ev.data);
    if (bar) bar.value = is.percent;
    if (percent) percent.textContent = is.percent + " %";
    if (text && text.textContent !== is.text) text.textContent = is.text;
    const list = li.querySelector(".run-parts"), parts = is.parts ?? [];
    if (list && list.children.length !== parts.length) {
      list.replaceChildren(...parts.map((/** @type {{name: string}} */ p) => {
        const row = document.createElement("li"), name = document.createElement("span"), bar = document.createElement("progress");
        name.textContent = p.name;
        bar.max = 100;
        bar.setAttribute("aria-label", p.name);
        row.append(name, " ", bar, " ", document.createElement("span"));
        return row;
      }));
    }
    for (const [i, p] of parts.entries()) {
      const row = list?.children[i], share = row?.querySelector("progress"), said = row?.lastElementChild;
      if (share) share.value = p.percent;
      if (said && said.textContent !== p.text) said.textContent = p.text;
    }
    if (is.over) {
      events.close();
      location.reload();
    }
  });
}
