// True size on this screen: a line that a ruler is held to, once a screen; kept in this browser.

import { el, button } from "/page/el.js";

const KEY = "bench:dots-per-mm"; // of the screen's own dots, so that it holds at any zoom of the page
const USUAL = 96 / 25.4;
const LINE_MM = 50;

const kept = () => { const held = Number(localStorage.getItem(KEY)); return held > 1 && held < 60 ? held : null; };
const perMm = () => { const held = kept(); return held ? held / (window.devicePixelRatio || 1) : USUAL; };

function apply() { document.documentElement.style.setProperty("--mm", `${perMm()}px`); }
apply();
addEventListener("resize", apply);

export function trueSize() {
  const line = el("div", { class: "line", role: "img", "aria-label": `A line that shall be ${LINE_MM} mm long` });
  const told = el("small", { role: "status" });
  const say = () => { told.textContent = kept() ? "Pieces are shown at true size on this screen." : "Not measured yet: sizes are as the browser believes them to be."; };
  const slide = el("input", { id: "ruler", type: "range", min: 2, max: 12, step: 0.01, value: perMm(), oninput: () => {
    localStorage.setItem(KEY, String(Number(slide.value) * (window.devicePixelRatio || 1)));
    apply();
    say();
  } });
  say();
  return el("details", { id: "truesize" }, el("summary", {}, "True size on this screen"),
    el("p", { class: "quiet" }, `Hold a ruler to the screen and move the slider until the line is ${LINE_MM} mm long.`),
    line, el("label", { for: "ruler" }, "Length of the line"), slide,
    button("As the browser has it", () => { localStorage.removeItem(KEY); apply(); slide.value = String(perMm()); say(); }), el("br"), told);
}
