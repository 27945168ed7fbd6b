// The page: steps of the work beside the picture, the sums always in sight.

import { el, button } from "/page/el.js";
import { store, hear, tell, begin, attempt, makes } from "/page/store.js";
import { eye, hintAt, showAll, zoom, toCloth, shapeAt, drawn as settled } from "/page/stage.js";
import { layNear } from "/page/choose.js";
import { wherePanel } from "/page/where.js";
import { piecesPanel } from "/page/pieces.js";
import { use } from "/page/tray.js";
import { orderPanel } from "/page/order.js";
import { touchPanel } from "/page/touch.js";
import { checkPanel } from "/page/check.js";
import { makePanel } from "/page/make.js";
import { grow, showing } from "/page/sheets.js";
import "/page/hands.js";

const STEPS = [
  ["where", "Where", wherePanel], ["pieces", "Pieces", piecesPanel], ["order", "Order", orderPanel], ["touch", "Touch up", touchPanel],
  ["check", "Check", checkPanel], ["make", "Make", makePanel],
];
const VIEWS = [["pieces", "As it will look"], ["customer", "For the customer"], ["chart", "Symbols"], ["marks", "Sewn marks"], ["templates", "Templates"], ["pages", "Chart"]];

const by = (id) => document.getElementById(id);
const panel = by("panel"), steps = by("steps"), looks = by("looks"), sums = by("sums");

function drawSteps() {
  steps.replaceChildren(...STEPS.map(([key, words]) => el("li", {},
    button(words, () => { store.step = key; tell("step"); panel.scrollTop = 0; inSight(); }, { disabled: !store.state.job && key !== "where", "aria-current": store.step === key ? "step" : null }))));
}

// In a low window the panel may be below all that is seen: then a step would seem to do nothing.
function inSight() {
  if (panel.getBoundingClientRect().top > 0.8 * innerHeight) panel.scrollIntoView();
}

let drawn = null;
// A panel drawn anew keeps the place and what is being typed.
function drawPanel() {
  const held = document.activeElement;
  const inside = panel.contains(held);
  const mark = inside ? held.id && !/^f\d+$/.test(held.id) ? `#${CSS.escape(held.id)}` : held.dataset?.key ? `[data-key="${held.dataset.key}"]` : held.getAttribute("aria-label") ? `[aria-label="${CSS.escape(held.getAttribute("aria-label"))}"]` : null : null;
  const typed = inside && held.matches("input:not([type=checkbox]):not([type=file]), textarea") ? held.value : null;
  const caret = typed !== null && held.matches("textarea, [type=text], [type=search]") ? [held.selectionStart, held.selectionEnd] : null;
  const words = inside && !mark ? held.textContent : null;
  const scrolls = [panel.scrollTop, ...[...panel.querySelectorAll(".list")].map((list) => list.scrollTop)];
  const open = [...panel.querySelectorAll("details")].map((each) => each.open);
  panel.replaceChildren(...STEPS.find(([key]) => key === store.step)[2]().filter(Boolean));
  panel.scrollTop = scrolls[0];
  [...panel.querySelectorAll(".list")].forEach((list, k) => { list.scrollTop = scrolls[k + 1] ?? 0; });
  const now = `${store.step} ${store.state.opened}`;
  if (drawn === now) [...panel.querySelectorAll("details")].forEach((each, k) => { each.open = open[k] ?? each.open; });
  drawn = now;
  if (!inside) return;
  const again = mark ? panel.querySelector(mark) : [...panel.querySelectorAll("button")].find((each) => each.textContent === words);
  if (again) {
    if (typed !== null && again.matches("input, textarea")) again.value = typed;
    again.focus({ preventScroll: true });
    if (caret) again.setSelectionRange(...caret);
  } else panel.focus({ preventScroll: true });
}

function drawLooks() {
  const stops = (store.facts?.hoopings ?? []).flatMap((hooping) => hooping.blocks);
  looks.replaceChildren(
    ...VIEWS.map(([key, words]) => button(words, () => { store.view = key; tell("look"); }, { "aria-pressed": String(store.view === key) })),
    button(store.evening ? "By day" : "In the evening", () => { store.evening = !store.evening; tell("look"); }, { title: store.evening ? "The cloth as it is" : "The cloth in the dark, the stones under a lamp" }),
    button("−", () => (showing() ? grow : zoom)(0.8), { "aria-label": "Smaller" }), button("+", () => (showing() ? grow : zoom)(1.25), { "aria-label": "Larger" }), button("Show all", () => (showing() ? grow(null) : showAll())),
    ...(store.view === "marks" ? [el("span", { class: "stops" },
      button("◀", () => { store.stop = Math.max(0, store.stop - 1); tell("look"); }, { "aria-label": "The stop before", disabled: store.stop <= 0 }),
      el("span", { role: "status" }, stops.length ? `Stop ${store.stop + 1} of ${stops.length}: ${stops[store.stop]?.words ?? ""}` : "Nothing is sewn."),
      button("▶", () => { store.stop = Math.min(stops.length - 1, store.stop + 1); tell("look"); }, { "aria-label": "The next stop", disabled: store.stop >= stops.length - 1 }))] : []));
}

function drawSums() {
  const { layout, facts, state } = store;
  if (!layout) { sums.replaceChildren(store.busy || "No job is open."); return; }
  const current = facts && facts.number === state.number;
  const errors = facts?.findings.filter((each) => each.severity === "error").length ?? 0;
  const cost = store.view !== "customer" && facts;
  const quote = facts?.quote ?? {};
  const many = state.job?.quantity > 1 ? ` for ${state.job.quantity}` : "";
  sums.replaceChildren(
    el("span", {}, el("b", {}, String(layout.count)), layout.draft && current ? " pieces in the draft; the rest is of the job as it is" : " pieces set"),
    facts?.pair ? el("span", {}, "a pair, with ", el("b", {}, String(facts.figures.count)), " on both sides") : "",
    ...(cost ? [
      el("span", {}, `materials${many} `, el("b", {}, `${facts.materials.total ?? "–"} ${facts.materials.currency}`)),
      el("span", {}, many ? "price of one " : "price ", el("b", {}, `${quote.price_per_garment ?? "–"} ${quote.currency ?? ""}`)),
      el("span", { title: "By hand and at the machine, for the whole order" }, `work${many} `, el("b", {}, String(Math.round(Number(facts.figures.minutes)))), " min"),
      button(errors ? `✕ ${errors} error${errors > 1 ? "s" : ""}` : `${facts.findings.length} finding${facts.findings.length === 1 ? "" : "s"}`, () => { store.step = "check"; tell("step"); }),
    ] : []),
    current ? "" : el("span", {}, store.busy || "working it out …"));
}

function drawHead() {
  const { state } = store;
  for (const id of ["looks", "keys"]) by(id).hidden = !state.job; // nothing is to be seen yet
  by("title").textContent = state.job ? state.job.title : "Workbench";
  document.title = state.job ? `${state.job.title} · workbench` : "Workbench";
  by("undo").disabled = !state.back;
  by("redo").disabled = !state.forth;
  by("undo").title = state.back ? `Undo: ${state.back}` : "";
  by("redo").title = state.forth ? `Redo: ${state.forth}` : "";
  by("saved").textContent = !store.here ? "The workbench has been closed. What you did is saved in the job file." : state.job ? `Saved in ${state.file}${store.busy ? ` · ${store.busy}` : ""}` : "";
  const wrong = state.trouble ?? state.wrong;
  const old = by("trouble");
  if (!wrong) { old?.remove(); return; }
  const words = `${wrong.message}. ${wrong.mend ?? ""}`;
  if (old?.dataset.words === words) return;
  old?.remove();
  const note = el("div", { id: "trouble", class: "note wrong" }, el("p", {}, state.trouble ? `The job file was changed outside and cannot be read: ${words}` : words),
    state.trouble ? button("Put the last good state back", () => attempt(() => makes("/api/put-back"))) : null);
  note.dataset.words = words;
  by("told").append(note);
}

by("undo").addEventListener("click", () => attempt(() => makes("/api/undo")));
by("redo").addEventListener("click", () => attempt(() => makes("/api/redo")));
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.matches("input, textarea")) return;
  event.preventDefault();
  by(event.shiftKey ? "redo" : "undo").click();
});

// A piece dragged from the tray goes to the lay whose pieces are under it, or near.
const base = by("base");
function layUnder(event) {
  const box = base.getBoundingClientRect();
  const id = layNear(...toCloth(event.clientX - box.left, event.clientY - box.top), Math.max(3, 30 / eye.scale));
  return store.state.job?.lay.find((each) => each.id === id);
}
base.addEventListener("dragover", (event) => {
  event.preventDefault();
  const lay = layUnder(event);
  hintAt(lay ? `onto ${lay.name || lay.id}` : "Nothing is set here: go onto stones.");
});
base.addEventListener("dragleave", () => hintAt(""));
base.addEventListener("drop", (event) => {
  event.preventDefault();
  const code = event.dataTransfer.getData("text/x-piece");
  const lay = layUnder(event);
  hintAt("");
  if (!code) return;
  if (lay) { store.lay = lay.id; use(code, lay, event.shiftKey); } else hintAt("Nothing was changed: drop it on pieces that are shown and not locked.");
});

// What is dragged out of the panel must stay there until it is dropped.
let dragged = false;
panel.addEventListener("dragstart", () => { dragged = true; });
for (const end of ["drop", "dragend"]) document.addEventListener(end, () => { if (dragged) { dragged = false; later(); } }, true);

// The picture is drawn first: what stands beside it waits until that is seen, but not long.
const WAIT_MS = { state: 80, layout: 40 };
let waits = 0, frame = 0;
function redraw() {
  clearTimeout(waits);
  waits = frame = 0;
  drawHead(); drawSteps(); drawLooks(); drawSums();
  if (!dragged) drawPanel();
}
function later(ms = 0) {
  if (frame) return;
  clearTimeout(waits);
  const soon = () => { frame = requestAnimationFrame(redraw); };
  if (ms) waits = setTimeout(soon, ms); else soon();
}

hear((what) => {
  if (["busy", "here"].includes(what)) {
    drawHead();
    drawSums();
    const making = by("making") ?? by("fitting");
    if (making) making.textContent = store.busy;
    const share = by("made-share");
    if (share && store.share) share.value = store.share;
    else share?.removeAttribute("value"); // under way, nobody knows how far
    return;
  }
  later(WAIT_MS[what]);
});

Object.assign(window, { bench: { store, eye, toCloth, shapeAt, drawn: settled } });
attempt(begin);
