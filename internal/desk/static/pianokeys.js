// @ts-check
// The keys that sound: a keyboard as wide as the music needs. A key of the right hand is
// filled, one of the left has a rim, so that no colour is needed to tell them.

const ns = "http://www.w3.org/2000/svg";
const blacks = [1, 3, 6, 8, 10];
/** @param {number} key */
const black = (key) => blacks.includes(key % 12);

/** Draws the octaves that some keys lie in. @param {SVGSVGElement} svg @param {number[]} keys */
export function draw(svg, keys) {
  if (!keys.length) return;
  const from = Math.floor(Math.min(...keys) / 12) * 12, to = Math.ceil((Math.max(...keys) + 1) / 12) * 12;
  if (svg.dataset.from === String(from) && svg.dataset.to === String(to)) return;
  Object.assign(svg.dataset, { from: String(from), to: String(to) });
  svg.replaceChildren();
  const white = 14, tall = 54;
  let x = 0;
  /** @type {Element[]} */
  const above = [];
  for (let key = from; key < to; key++) {
    const rect = document.createElementNS(ns, "rect");
    const at = black(key) ? { x: x - 4.5, y: 0, width: 9, height: 34 } : { x, y: 0, width: white, height: tall };
    for (const [k, v] of Object.entries({ ...at, class: black(key) ? "key-black" : "key-white", "data-key": key })) rect.setAttribute(k, String(v));
    if (black(key)) above.push(rect);
    else { svg.append(rect); x += white; }
  }
  svg.append(...above);
  svg.setAttribute("viewBox", `0 0 ${x} ${tall}`);
  svg.setAttribute("preserveAspectRatio", "xMinYMid");
  svg.removeAttribute("hidden");
}

/** Marks the keys that are down. @param {SVGSVGElement} svg @param {{key: number, left?: boolean}[]} notes */
export function press(svg, notes) {
  const down = new Map(notes.map((n) => [String(n.key), n.left]));
  for (const key of svg.children) {
    const left = down.get(key.getAttribute("data-key") ?? "");
    key.classList.toggle("key-on", left !== undefined || down.has(key.getAttribute("data-key") ?? ""));
    key.classList.toggle("left", left === true);
  }
}
