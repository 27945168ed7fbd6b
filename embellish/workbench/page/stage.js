// The picture: a base drawn once and kept for panning, and a sheet over it for what is in hand.
// It draws and finds what is under the pointer; where pieces may stand is for the workbench to say.

import { drawPhoto } from "/page/backing.js";
import { Dabs } from "/page/dabs.js";
import { store, hear, firstOf } from "/page/store.js";

const base = document.getElementById("base");
const over = document.getElementById("over");
const stage = document.getElementById("stage");
const hint = document.getElementById("hint");
const pictures = new Map();
const dabs = new Dabs();
export const eye = { x: 0, y: 0, scale: 4, ratio: 1 };
let shown = null, queued = false, glint = null;
let whole = true; // all is in sight, and stays so until the hand takes the view
export const hand = { dx: 0, dy: 0, box: null, loop: null, pairs: [], fits: true, snap: null, between: null };

const FACET_PX = 5; // smaller pieces are dabs of colour
const TURNS = 24;
const LARGEST_STAMP_PX = 400;

export const toCloth = (px, py) => [px / eye.scale + eye.x, py / eye.scale + eye.y];

function wholeScale() {
  const [x0, y0, x1, y1] = store.layout.bounds_mm;
  const margin = 0.06 * Math.max(x1 - x0, y1 - y0) + 4;
  return Math.min(stage.clientWidth / (x1 - x0 + 2 * margin), stage.clientHeight / (y1 - y0 + 2 * margin));
}

export function showAll() {
  if (!store.layout) return;
  const [x0, y0, x1, y1] = store.layout.bounds_mm;
  const { clientWidth: w, clientHeight: h } = stage;
  eye.scale = wholeScale();
  eye.x = (x0 + x1) / 2 - w / 2 / eye.scale;
  eye.y = (y0 + y1) / 2 - h / 2 / eye.scale;
  whole = true;
  draw();
}

export function goTo(x, y) {
  whole = false;
  eye.scale = Math.max(eye.scale, 14);
  eye.x = x - stage.clientWidth / 2 / eye.scale;
  eye.y = y - stage.clientHeight / 2 / eye.scale;
  mark(x, y);
  draw();
}
let spot = null;
function mark(x, y) { spot = [x, y]; setTimeout(() => { spot = null; drawOver(); }, 4000); }

export function zoom(by, px = stage.clientWidth / 2, py = stage.clientHeight / 2) {
  whole = false;
  const [x, y] = toCloth(px, py);
  eye.scale = Math.min(400, Math.max(0.2, eye.scale * by));
  eye.x = x - px / eye.scale;
  eye.y = y - py / eye.scale;
  draw();
}
export function pan(px, py) { whole = false; eye.x -= px / eye.scale; eye.y -= py / eye.scale; draw(); }

export function draw() {
  if (queued) return;
  queued = true;
  requestAnimationFrame(() => { queued = false; paint(); drawOver(); });
}

export const drawn = () => !queued && [...pictures.values()].every((image) => image.ready);

function fit(canvas) {
  eye.ratio = window.devicePixelRatio || 1;
  const [w, h] = [Math.round(stage.clientWidth * eye.ratio), Math.round(stage.clientHeight * eye.ratio)];
  if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
  const pen = canvas.getContext("2d");
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.clearRect(0, 0, w, h);
  return pen;
}

const onCloth = (pen) => {
  const s = eye.scale * eye.ratio;
  pen.setTransform(s, 0, 0, s, -eye.x * s, -eye.y * s);
};

function paint() {
  const pen = fit(base);
  const { layout, seats } = store;
  if (!layout) return;
  pen.fillStyle = layout.cloth;
  const [x0, y0, x1, y1] = layout.bounds_mm;
  onCloth(pen);
  const m = 0.08 * Math.max(x1 - x0, y1 - y0) + 6;
  pen.fillRect(x0 - m, y0 - m, x1 - x0 + 2 * m, y1 - y0 + 2 * m);
  drawPhoto(pen, draw);
  if (store.evening) dim(pen);
  if (store.view !== "customer") drawShapes(pen);
  if (store.view !== "customer") drawFields(pen);
  if (store.view === "marks") drawHoopings(pen);
  if (seats) drawPieces(pen);
}

// Evening falls on the cloth; the pieces throw back what light there is.
function dim(pen) {
  const [x0, y0] = toCloth(0, 0), [x1, y1] = toCloth(stage.clientWidth, stage.clientHeight);
  pen.globalCompositeOperation = "multiply";
  pen.fillStyle = "#6a6478";
  pen.fillRect(x0, y0, x1 - x0, y1 - y0);
  pen.globalCompositeOperation = "source-over";
}

function pathOf(shape) {
  shape.path ??= new Path2D(shape.d);
  return shape.path;
}

const lightCloth = () => !store.evening && light(store.layout.cloth);
const light = (hex) => parseInt(hex.slice(1, 3), 16) * 0.3 + parseInt(hex.slice(3, 5), 16) * 0.6 + parseInt(hex.slice(5, 7), 16) * 0.1 > 128;

function drawShapes(pen) {
  const { layout } = store;
  const dark = lightCloth();
  pen.lineWidth = 1.2 / eye.scale;
  for (const shape of layout.shapes) {
    const chosen = store.step === "where" && store.shapes.has(shape.id);
    pen.strokeStyle = chosen ? "#0b62c4" : dark ? "rgba(0,0,0,.45)" : "rgba(255,255,255,.5)";
    pen.fillStyle = chosen ? "rgba(11,98,196,.35)" : dark ? "rgba(0,0,0,.06)" : "rgba(255,255,255,.07)";
    if (shape.closed) pen.fill(pathOf(shape), shape.rule);
    pen.stroke(pathOf(shape));
  }
  pen.setLineDash([4 / eye.scale, 3 / eye.scale]);
  pen.strokeStyle = dark ? "rgba(120,0,80,.7)" : "rgba(255,190,230,.8)";
  for (const shape of layout.garment_marks) pen.stroke(pathOf(shape));
  pen.setLineDash([]);
}

// What each hoop lets the needle reach, in every view a maker works in.
function drawFields(pen) {
  pen.strokeStyle = "#e08a00";
  pen.lineWidth = 2 / eye.scale;
  for (const { field } of store.facts?.hoopings ?? []) {
    if (!field) continue;
    pen.beginPath();
    for (const [x, y] of field) pen.lineTo(x, y);
    pen.closePath();
    pen.stroke();
  }
}

// Where the hoop of the stop at hand does not reach is shaded.
function shadeBeyond(pen, hoopings) {
  let first = 0;
  for (const { field, blocks } of hoopings) {
    if (field && store.stop >= first && store.stop < first + blocks.length) {
      const [x, y] = toCloth(-10, -10), [u, v] = toCloth(stage.clientWidth + 10, stage.clientHeight + 10);
      pen.fillStyle = "rgba(20,20,24,.45)";
      pen.beginPath();
      for (const ring of [[[x, y], [u, y], [u, v], [x, v]], field]) {
        ring.forEach((at, k) => pen[k ? "lineTo" : "moveTo"](...at));
        pen.closePath();
      }
      pen.fill("evenodd");
    }
    first += blocks.length;
  }
}

function drawHoopings(pen) {
  const hoopings = store.facts?.hoopings ?? [];
  let stop = 0;
  shadeBeyond(pen, hoopings);
  for (const hooping of hoopings) {
    for (const block of hooping.blocks) {
      const now = stop === store.stop;
      pen.globalAlpha = now ? 1 : stop < store.stop ? 0.35 : 0.1;
      pen.beginPath();
      for (const line of block.lines) {
        pen.moveTo(line[0], line[1]);
        for (let k = 2; k < line.length; k += 2) pen.lineTo(line[k], line[k + 1]);
      }
      if (now) { // on a dark band, so that it is seen on any cloth
        pen.strokeStyle = "#1d2230";
        pen.lineWidth = 4.5 / eye.scale;
        pen.stroke();
      }
      pen.strokeStyle = now ? "#ffd400" : block.hex;
      pen.lineWidth = (now ? 1.8 : 1) / eye.scale;
      pen.stroke();
      stop += 1;
    }
  }
  pen.globalAlpha = 1;
}

function picture(piece, angle) {
  const round = piece.shape === "round" && piece.kind !== "bugle";
  const step = round ? 0 : Math.round(((angle % 360) + 360) % 360 / (360 / TURNS)) % TURNS;
  const name = `${piece.code} ${step} ${store.layout.cloth}`;
  if (!pictures.has(name)) {
    const image = new Image();
    image.decoding = "async";
    image.onload = () => { image.ready = true; draw(); };
    image.src = `/api/sprite?code=${encodeURIComponent(piece.code)}&angle=${step * (360 / TURNS)}`;
    pictures.set(name, image);
  }
  return pictures.get(name);
}

// A picture of a piece is drawn once for a size on the screen, and stamped from there.
const stamps = new Map();
function stampOf(piece, angle, px) {
  const image = picture(piece, angle);
  if (!image.ready) return null;
  const size = Math.max(4, Math.round(px));
  if (size > LARGEST_STAMP_PX) return { drawn: image, size }; // few of these are in sight: drawn crisp each time
  const name = `${image.src} ${size}`;
  if (!stamps.has(name)) {
    if (stamps.size > 400) stamps.clear();
    const stamp = document.createElement("canvas");
    stamp.width = stamp.height = size;
    stamp.getContext("2d").drawImage(image, 0, 0, size, size);
    stamps.set(name, stamp);
  }
  return { drawn: stamps.get(name), size };
}

function drawPieces(pen) {
  const { layout, seats } = store;
  const s = eye.scale * eye.ratio;
  const hidden = layout.lays.map((lay) => store.hidden.has(lay.id));
  const [x0, y0] = toCloth(-40, -40), [x1, y1] = toCloth(stage.clientWidth + 40, stage.clientHeight + 40);
  const chart = store.view === "chart";
  const stopSeats = store.view === "marks" ? seatsOfStop() : null;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  dabs.begin(base.width, base.height);
  for (let k = 0; k < seats.m; k += 1) {
    const x = seats.xy[2 * k], y = seats.xy[2 * k + 1];
    if (x < x0 || x > x1 || y < y0 || y > y1) continue;
    const row = seats.seat[k];
    if (hidden[seats.lay[row]]) continue;
    const piece = layout.kit[seats.piece[k]];
    const px = (x - eye.x) * s, py = (y - eye.y) * s;
    const seen = seats.draft ? 0.6 : stopSeats ? (stopSeats.has(row) ? 1 : 0.15) : 1;
    pen.globalAlpha = seen;
    if (chart) { sign(pen, piece, px, py, s); continue; }
    const long = Math.max(piece.length_mm, piece.width_mm) * s;
    const stamp = long > FACET_PX * eye.ratio ? stampOf(piece, seats.angle[k], piece.half_mm * 2 * s) : null;
    if (stamp) {
      const turn = (seats.angle[k] * Math.PI) / 180;
      if (turn) {
        const c = Math.cos(turn), n = Math.sin(turn);
        pen.setTransform(c, n, -n, c, px, py);
        pen.drawImage(stamp.drawn, -stamp.size / 2, -stamp.size / 2, stamp.size, stamp.size);
        pen.setTransform(1, 0, 0, 1, 0, 0);
      } else pen.drawImage(stamp.drawn, px - stamp.size / 2, py - stamp.size / 2, stamp.size, stamp.size);
    } else {
      const radius = Math.max(0.7, Math.min(piece.length_mm, piece.width_mm) * s / 2);
      if (radius <= FACET_PX * eye.ratio) { dabs.put(px, py, radius, piece.hex, seen); continue; }
      pen.fillStyle = piece.hex; // its picture is still on its way
      pen.beginPath();
      pen.arc(px, py, radius, 0, 7);
      pen.fill();
    }
  }
  dabs.end(pen);
  pen.globalAlpha = 1;
}

function seatsOfStop() {
  let stop = 0;
  for (const hooping of store.facts?.hoopings ?? []) {
    for (const block of hooping.blocks) {
      if (stop === store.stop) { block.set ??= new Set(block.seats); return block.set; }
      stop += 1;
    }
  }
  return null;
}

function sign(pen, piece, px, py, s) {
  const half = Math.max(2, Math.min(piece.length_mm, piece.width_mm) * s / 2) * 0.94;
  const ink = lightCloth() ? "#111" : "#fff";
  pen.strokeStyle = pen.fillStyle = ink;
  pen.lineWidth = Math.max(1, half * 0.26);
  for (const ring of piece.symbol.solids) {
    pen.beginPath();
    for (const [x, y] of ring) pen.lineTo(px + x * half, py + y * half);
    pen.fill();
  }
  for (const line of piece.symbol.strokes) {
    pen.beginPath();
    for (const [x, y] of line) pen.lineTo(px + x * half * 0.87, py + y * half * 0.87);
    pen.stroke();
  }
}

export function drawOver() {
  const pen = fit(over);
  const { layout, seats } = store;
  if (!layout || !seats) return;
  onCloth(pen);
  pen.lineWidth = 2 / eye.scale;
  const first = firstOf(seats);
  for (const row of store.chosen) {
    const k = first[row];
    if (k < 0) continue;
    const piece = layout.kit[seats.piece[k]];
    const r = Math.max(piece.length_mm, piece.width_mm) / 2 + 0.25;
    pen.strokeStyle = hand.fits ? "#0b62c4" : "#a3201a";
    ring(pen, seats.xy[2 * k] + hand.dx, seats.xy[2 * k + 1] + hand.dy, r);
    drawTwin(pen, row, r);
    if (seats.hand[row]) dot(pen, seats.xy[2 * k] + r, seats.xy[2 * k + 1] - r);
  }
  drawGap(pen);
  drawPairs(pen);
  if (hand.box) {
    const [a, b, c, d] = hand.box;
    pen.strokeStyle = "#0b62c4";
    pen.setLineDash([5 / eye.scale, 4 / eye.scale]);
    pen.strokeRect(Math.min(a, c), Math.min(b, d), Math.abs(c - a), Math.abs(d - b));
    pen.setLineDash([]);
  }
  if (hand.loop) drawLoop(pen);
  if (spot) { pen.strokeStyle = "#a3201a"; pen.lineWidth = 3 / eye.scale; ring(pen, spot[0], spot[1], 4); }
  const at = lamp();
  if (at && !hand.box && !hand.loop) drawGlint(pen, at);
}

// The mirror image that goes along, dashed.
function drawTwin(pen, row, r) {
  const { seats } = store;
  const twin = seats.twin[row];
  if (twin < 0 || twin === row || store.chosen.has(twin)) return;
  const k = firstOf(seats)[twin];
  pen.setLineDash([4 / eye.scale, 3 / eye.scale]);
  ring(pen, seats.xy[2 * k], seats.xy[2 * k + 1], r);
  pen.setLineDash([]);
}

// From what is in hand to the neighbour its gap was measured to.
function drawGap(pen) {
  const { seats } = store;
  // A mirror image goes the other way: its gap is told, not drawn.
  if (!hand.between || !store.chosen.has(hand.between[0]) || (!hand.dx && !hand.dy)) return;
  const [mine, other] = hand.between.map((row) => firstOf(seats)[row]);
  const [sx, sy] = hand.snap ?? [0, 0];
  pen.strokeStyle = hand.fits ? "#0b62c4" : "#a3201a";
  pen.setLineDash(hand.fits ? [] : [3 / eye.scale, 3 / eye.scale]);
  pen.beginPath();
  pen.moveTo(seats.xy[2 * mine] + hand.dx + sx, seats.xy[2 * mine + 1] + hand.dy + sy);
  pen.lineTo(seats.xy[2 * other], seats.xy[2 * other + 1]);
  pen.stroke();
  pen.setLineDash([]);
}

// Points of the photo, ringed, and a line from each to where it belongs.
function drawPairs(pen) {
  const r = 6 / eye.scale;
  pen.strokeStyle = "#0b62c4";
  for (const [x, y, u, v] of hand.pairs) {
    if (!Number.isNaN(x + y)) ring(pen, x, y, r);
    if (Number.isNaN(u + v)) continue;
    ring(pen, u, v, r / 3);
    if (Number.isNaN(x + y)) continue;
    pen.beginPath();
    pen.moveTo(x, y);
    pen.lineTo(u, v);
    pen.stroke();
  }
}

function drawLoop(pen) {
  pen.strokeStyle = "#0b62c4";
  pen.fillStyle = "rgba(11,98,196,.12)";
  pen.setLineDash([5 / eye.scale, 4 / eye.scale]);
  pen.beginPath();
  for (let k = 0; k < hand.loop.length; k += 2) pen.lineTo(hand.loop[k], hand.loop[k + 1]);
  pen.closePath();
  pen.fill("evenodd");
  pen.stroke();
  pen.setLineDash([]);
}

// On a pale band, so that it is seen on any cloth.
function ring(pen, x, y, r) {
  const [colour, width] = [pen.strokeStyle, pen.lineWidth];
  pen.beginPath();
  pen.arc(x, y, r, 0, 7);
  pen.strokeStyle = "#ffffff";
  pen.lineWidth = 2.2 * width;
  pen.stroke();
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  pen.stroke();
}
function dot(pen, x, y) { pen.beginPath(); pen.fillStyle = "#0b62c4"; pen.arc(x, y, 2.5 / eye.scale, 0, 7); pen.fill(); }

// Where light falls from: the pointer, and in the evening a lamp that hangs still where nothing may move.
function lamp() {
  if (glint && !matchMedia("(prefers-reduced-motion: reduce)").matches) return glint;
  return store.evening ? toCloth(0.4 * stage.clientWidth, 0.35 * stage.clientHeight) : null;
}

// What the light falls on sparkles; by evening it reaches further, and what is large enough has a star.
function drawGlint(pen, from) {
  if (store.view === "chart" || store.view === "marks") return;
  const { layout, seats } = store;
  const reach = (store.evening ? 240 : 70) / eye.scale;
  const most = store.evening ? 500 : 120;
  pen.fillStyle = pen.strokeStyle = "rgba(255,255,255,.9)";
  pen.lineWidth = 1 / eye.scale;
  let count = 0;
  for (let k = 0; k < seats.m && count < most; k += 1) {
    const [dx, dy] = [from[0] - seats.xy[2 * k], from[1] - seats.xy[2 * k + 1]];
    const away = Math.hypot(dx, dy) / reach;
    if (away > 1 || store.hidden.has(layout.lays[seats.lay[seats.seat[k]]].id)) continue;
    const piece = layout.kit[seats.piece[k]];
    const small = Math.min(piece.length_mm, piece.width_mm);
    const x = seats.xy[2 * k] + (dx / reach) * small * 0.3, y = seats.xy[2 * k + 1] + (dy / reach) * small * 0.3;
    pen.beginPath();
    pen.arc(x, y, Math.max(small * 0.16 * (1 - away), 0.01), 0, 7);
    pen.fill();
    if (store.evening && small * eye.scale > FACET_PX) star(pen, x, y, small * (0.75 - 0.5 * away), k);
    count += 1;
  }
}

// Stones stand each a little askew, so that their stars are neither alike nor all of a length.
function star(pen, x, y, long, k) {
  const turn = (k * 2.4) % 1.57, half = long * (0.5 + 0.5 * ((k * 0.618) % 1));
  pen.beginPath();
  for (const each of [turn, turn + Math.PI / 2]) {
    const [c, s] = [Math.cos(each) * half, Math.sin(each) * half];
    pen.moveTo(x - c, y - s);
    pen.lineTo(x + c, y + s);
  }
  pen.stroke();
}
export function shine(at) { glint = at; drawOver(); }

// What is under a point of the screen.
export function seatAt(px, py) {
  const { seats, layout } = store;
  if (!seats) return -1;
  const [x, y] = toCloth(px, py);
  let best = -1, least = Infinity;
  for (let k = 0; k < seats.m; k += 1) {
    const row = seats.seat[k];
    const id = layout.lays[seats.lay[row]].id;
    if (store.hidden.has(id) || store.locked.has(id)) continue;
    const piece = layout.kit[seats.piece[k]];
    const away = Math.hypot(seats.xy[2 * k] - x, seats.xy[2 * k + 1] - y) - Math.max(piece.length_mm, piece.width_mm) / 2;
    if (away < least) [best, least] = [row, away];
  }
  return least <= 4 / eye.scale ? best : -1;
}

export function shapeAt(px, py) {
  const pen = base.getContext("2d");
  const [x, y] = toCloth(px, py);
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.lineWidth = 10 / eye.scale;
  const shapes = [...(store.layout?.shapes ?? [])].reverse();
  const line = shapes.find((shape) => pen.isPointInStroke(pathOf(shape), x, y));
  return line ?? shapes.find((shape) => shape.closed && pen.isPointInPath(pathOf(shape), x, y, shape.rule)) ?? null;
}

export function hintAt(words) { if (hint.textContent !== words) hint.textContent = words; }

// A line more beside the picture does not move it; a window that cuts it off, or is much larger, does.
function resized() {
  if (!store.layout || !whole) return draw();
  const [x0, y0, x1, y1] = store.layout.bounds_mm;
  const [u, v] = toCloth(0, 0), [s, t] = toCloth(stage.clientWidth, stage.clientHeight);
  const cut = x0 < u || y0 < v || x1 > s || y1 > t;
  return cut || wholeScale() > 1.1 * eye.scale ? showAll() : draw();
}
new ResizeObserver(resized).observe(stage);
hear((what) => {
  if (what === "layout") {
    Object.assign(hand, { dx: 0, dy: 0, snap: null, between: null });
    if (shown !== store.state.file) { shown = store.state.file; showAll(); }
  }
  // Of a changed job nothing is to be seen before it is laid.
  if (["layout", "facts", "look", "chosen", "step"].includes(what) || (what === "state" && !store.layout)) draw();
});
