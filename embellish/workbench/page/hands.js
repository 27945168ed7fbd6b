// Hands on the picture: pointer, wheel and keys, each turned into something asked of the workbench.

import { store, tell, touch, firstOf, attempt, makes } from "/page/store.js";
import { choose, grab, rowsInFrame, rowsInLoop } from "/page/choose.js";
import { forget, letGo, put, setAnyway, tryPlace } from "/page/placing.js";
import { drawOver, eye, hand, hintAt, pan, seatAt, shapeAt, shine, showAll, toCloth, zoom } from "/page/stage.js";

const canvas = document.getElementById("base");
let drag = null, space = false;
const fingers = new Map();
export const adding = { piece: null, lay: null };
export const picking = { take: null }; // who wants the next place that is clicked, of the cloth

const at = (event) => {
  const box = canvas.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
};

canvas.addEventListener("pointerdown", (event) => {
  canvas.setPointerCapture(event.pointerId);
  fingers.set(event.pointerId, at(event));
  const [px, py] = at(event);
  if (fingers.size > 1) { drop(); return; } // two fingers move the view; what one had begun is given up
  if (space || event.button === 1) { drag = { kind: "pan", px, py }; return; }
  if (picking.take) { drag = { kind: "place", px, py }; return; }
  if (store.step === "where") { drag = { kind: "shape", px, py, more: event.shiftKey }; return; }
  if (store.step !== "touch") { drag = { kind: "pan", px, py }; return; }
  if (adding.piece) { drag = { kind: "add", px, py }; return; }
  const row = seatAt(px, py);
  const more = event.shiftKey || grab.more;
  forget();
  if (row < 0) { drag = { kind: grab.loop ? "loop" : "box", from: toCloth(px, py), add: more }; return; }
  const again = grab.more && !event.shiftKey && store.chosen.has(row); // let go without a move, it is taken out
  if (more && !(grab.more && store.chosen.has(row))) store.chosen[store.chosen.has(row) ? "delete" : "add"](row);
  else if (!more && !store.chosen.has(row)) { store.chosen.clear(); store.chosen.add(row); }
  tell("chosen");
  drag = { kind: "move", px, py, row, again };
});

canvas.addEventListener("pointermove", (event) => {
  const [px, py] = at(event);
  if (fingers.has(event.pointerId)) {
    if (fingers.size === 2) pinch(event.pointerId, [px, py]);
    fingers.set(event.pointerId, [px, py]);
    if (fingers.size === 2) return;
  }
  if (!drag) { shine(toCloth(px, py)); return; }
  if (drag.kind === "pan") { pan(px - drag.px, py - drag.py); [drag.px, drag.py] = [px, py]; return; }
  if (drag.kind === "shape" || drag.kind === "add" || drag.kind === "place") return;
  if (drag.kind === "box") { hand.box = [...drag.from, ...toCloth(px, py)]; drawOver(); return; }
  if (drag.kind === "loop") { (hand.loop ??= [...drag.from]).push(...toCloth(px, py)); drawOver(); return; }
  [hand.dx, hand.dy] = [(px - drag.px) / eye.scale, (py - drag.py) / eye.scale];
  drag.moved = drag.moved || Math.hypot(px - drag.px, py - drag.py) > 3;
  drawOver();
  if (drag.moved) tryPlace(() => drag?.kind === "move");
});

function pinch(id, now) {
  const other = [...fingers].find(([key]) => key !== id)[1];
  const before = fingers.get(id);
  const grow = Math.hypot(now[0] - other[0], now[1] - other[1]) / Math.max(1, Math.hypot(before[0] - other[0], before[1] - other[1]));
  zoom(grow, (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
  pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
}

function pickShape({ px, py, more }) {
  const shape = shapeAt(px, py);
  if (!more) store.shapes.clear();
  if (shape) store.shapes[more && store.shapes.has(shape.id) ? "delete" : "add"](shape.id);
  tell("look");
  tell("shapes");
}

function drop() {
  drag = null;
  hand.box = hand.loop = null;
  letGo();
}

canvas.addEventListener("pointerup", async (event) => {
  fingers.delete(event.pointerId);
  const done = drag;
  drag = null;
  if (!done) return;
  if (done.kind === "place") { picking.take?.(...toCloth(done.px, done.py)); return; }
  if (done.kind === "shape") pickShape(done);
  if (done.kind === "add") await addAt(done.px, done.py);
  if (done.kind === "box") {
    choose(hand.box ? rowsInFrame(hand.box) : [], done.add);
    hand.box = null;
  }
  if (done.kind === "loop") {
    choose(hand.loop ? rowsInLoop(hand.loop) : [], done.add);
    hand.loop = null;
  }
  if (done.kind === "move" && done.moved) { await put(hand.dx, hand.dy, { free: event.altKey, snaps: true }); return; }
  if (done.kind === "move" && done.again) { store.chosen.delete(done.row); tell("chosen"); }
  letGo();
  hintAt("");
});
canvas.addEventListener("pointercancel", (event) => { fingers.delete(event.pointerId); drop(); });
canvas.addEventListener("pointerleave", () => shine(null));
canvas.addEventListener("wheel", (event) => {
  event.preventDefault();
  zoom(Math.exp(-event.deltaY * 0.0015), ...at(event));
}, { passive: false });

export const addPiece = (piece, x, y, lay = store.lay) => attempt(() => makes("/api/add", {
  number: store.seats.number, lay, piece, x_mm: x, y_mm: y,
}));
const addAt = (px, py) => addPiece(adding.piece, ...toCloth(px, py), adding.lay);

function nextSeat(by) {
  const { seats, layout } = store;
  if (!seats?.n) return;
  let row = store.chosen.size ? [...store.chosen].pop() : by > 0 ? -1 : seats.n;
  for (let k = 0; k < seats.n; k += 1) {
    row = (row + by + seats.n) % seats.n;
    const id = layout.lays[seats.lay[row]].id;
    if (!store.hidden.has(id) && !store.locked.has(id)) break;
  }
  store.chosen.clear();
  store.chosen.add(row);
  tell("chosen");
  hintAt(seatWords(row));
}

export function seatWords(row) {
  const { seats, layout } = store;
  const k = firstOf(seats)[row];
  const lay = layout.lays[seats.lay[row]];
  return `${layout.kit[seats.piece[k]].code}, ${lay.name || lay.id}, at ${seats.xy[2 * k].toFixed(1)}, ${seats.xy[2 * k + 1].toFixed(1)} mm`;
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

canvas.addEventListener("keydown", async (event) => {
  if (event.key === " ") { space = true; event.preventDefault(); return; }
  if (event.ctrlKey || event.metaKey) return;
  const step = STEPS[event.key];
  const touching = store.step === "touch" && store.chosen.size > 0;
  if (step) {
    event.preventDefault();
    if (touching) { const by = event.shiftKey ? 1 : 0.1; await put(step[0] * by, step[1] * by); } else pan(-40 * step[0], -40 * step[1]);
  } else if (event.key === "+" || event.key === "=") zoom(1.25);
  else if (event.key === "-") zoom(0.8);
  else if (event.key === "0") showAll();
  else if (event.key === "Enter" && touching) await setAnyway();
  else if (touching && event.key.toLowerCase() === "p") await touch("pin", "pinned pieces");
  else if (event.key === "Escape") { forget(); hintAt(""); store.chosen.clear(); adding.piece = null; tell("chosen"); }
  else if (store.step === "touch" && (event.key === "]" || event.key === "[")) nextSeat(event.key === "]" ? 1 : -1);
  else if (touching && (event.key === "Delete" || event.key === "Backspace")) await touch("delete", "took pieces away");
  else if (touching && event.key.toLowerCase() === "q") await touch("turn", "turned", { turn_deg: -5 });
  else if (touching && event.key.toLowerCase() === "e") await touch("turn", "turned", { turn_deg: 5 });
});
canvas.addEventListener("keyup", (event) => { if (event.key === " ") space = false; });
canvas.addEventListener("blur", () => { space = false; });
