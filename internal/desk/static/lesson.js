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
    if (is.over) {
      events.close();
      location.reload();
    }
  });
}
