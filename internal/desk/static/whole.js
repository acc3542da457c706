// @ts-check
// The pages of a level can be pressed: a bar of the picture leads to where the link of its
// name below leads, and is marked while that link has the focus or the pointer.

/** Puts a picture into the page, and over each of its bars a place to press.
 * @param {HTMLElement} figure */
async function press(figure) {
  const img = figure.querySelector("img");
  if (!img || figure.dataset.pressed) return;
  figure.dataset.pressed = "1";
  try {
    const text = await (await fetch(img.src)).text();
    const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    if (svg.nodeName !== "svg" || !img.isConnected) return;
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", img.alt);
    for (const name of ["aria-labelledby", "aria-describedby", "color"]) svg.removeAttribute(name);
    svg.querySelectorAll("title, desc").forEach((e) => e.remove());
    const put = document.importNode(svg, true);
    img.replaceWith(put);
    figure.classList.add("inline");
    figure.removeAttribute("data-drawing");
    const places = [...figure.querySelectorAll("figcaption > *")];
    [...put.querySelectorAll("g.measure")].forEach((bar, i) => {
      const link = places[i];
      if (!(link instanceof HTMLAnchorElement) || !(bar instanceof SVGGraphicsElement)) return;
      const { x, y, width, height } = bar.getBBox(), box = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      for (const [k, v] of Object.entries({ x, y, width, height, class: "press" + (link.classList.contains("yours") ? " yours" : "") })) box.setAttribute(k, String(v));
      bar.prepend(box);
      bar.addEventListener("click", () => link.click());
      for (const el of [link, bar]) {
        for (const what of ["pointerenter", "focus"]) el.addEventListener(what, () => box.classList.add("on"));
        for (const what of ["pointerleave", "blur"]) el.addEventListener(what, () => box.classList.remove("on"));
      }
    });
  } catch {
    delete figure.dataset.pressed; // the picture stays, and the links below it
  }
}

const seen = new IntersectionObserver((all) => {
  for (const e of all) if (e.isIntersecting && e.target instanceof HTMLElement) press(e.target);
}, { rootMargin: "300px" });
for (const figure of document.querySelectorAll("figure.pressed")) seen.observe(figure);
