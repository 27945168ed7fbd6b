// The photo of the garment put where it belongs: two of its points, clicked or typed.

import { el, button } from "/page/el.js";
import { picking } from "/page/hands.js";
import { store, tell, attempt, makes, hear } from "/page/store.js";
import { hand, drawOver, hintAt } from "/page/stage.js";

const ASKED = ["the first point in the photo", "where that belongs", "the second point in the photo", "where that belongs"];
const NAMES = ["The first is at", "and belongs at", "The second is at", "and belongs at"];
let values = Array(8).fill("");

// What is known of the four places, for the picture: a line from each point to where it belongs.
function show() {
  hand.pairs = values.every((each) => each === "") ? [] : [0, 4].map((from) => values.slice(from, from + 4).map((each) => (each === "" ? NaN : Number(each))));
  drawOver();
}

function start() {
  values = Array(8).fill("");
  let next = 0;
  picking.take = (x, y) => {
    [values[2 * next], values[2 * next + 1]] = [x.toFixed(2), y.toFixed(2)];
    next += 1;
    if (next === ASKED.length) stop(); else hintAt(`Click ${ASKED[next]}.`);
    show();
    tell("step");
  };
  show();
  tell("step");
  hintAt(`Click ${ASKED[0]}.`);
}

function stop() {
  picking.take = null;
  hintAt("");
}

function clear() {
  stop();
  values = Array(8).fill("");
  show();
}

const place = () => attempt(async () => {
  const [a, b, c, d, e, f, g, h] = values.map(Number);
  await makes("/api/photo/place", { number: store.state.number, seen_mm: [a, b, e, f], wanted_mm: [c, d, g, h] });
  clear();
  tell("step");
});

const byWidth = () => attempt(() => makes("/api/photo/place", { number: store.state.number, seen_mm: [], wanted_mm: [] }));

export function photoPlace(photo) {
  const ready = values.every((each) => each !== "" && Number.isFinite(Number(each)));
  const done = button("Place the photo so", place, { class: "main", disabled: !ready });
  const entry = (k) => el("input", { id: `point${k}`, type: "number", step: "any", min: -10000, max: 10000, value: values[k], "aria-label": `${NAMES[k >> 1]}: ${k % 2 ? "down" : "right"}, mm`,
    oninput: (event) => { values[k] = event.target.value; done.disabled = values.some((each) => each === ""); show(); } });
  return el("section", { "aria-label": "Placed by two points" },
    el("h3", {}, "Placed by two points"),
    el("p", { class: "quiet" }, "Two points of the garment whose place you know, far from each other: the middle of the neckline and a button, or the ends of a ruler you laid there. The photo is turned and sized so that both are right."),
    el("div", { class: "row" },
      button(picking.take ? "Stop" : "Click them in the picture", () => { if (picking.take) { clear(); tell("step"); } else start(); }, { id: "points", "aria-pressed": String(Boolean(picking.take)) }),
      photo.points_px ? button("By its width again", byWidth) : null),
    NAMES.map((words, k) => el("div", { class: "field wide" }, el("span", { class: "row point" }, el("label", { for: `point${2 * k}` }, words), entry(2 * k), entry(2 * k + 1), "mm"))),
    el("small", {}, "Right and down from the drawing's top left corner."),
    el("div", { class: "row" }, done));
}

// Another step is another work: what was begun here is left.
hear((what) => {
  if (what === "step" && store.step !== "order" && (picking.take || hand.pairs.length)) clear();
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && picking.take) { clear(); tell("step"); }
});
