// Choosing pieces: in a frame, in a loop drawn round them, of a lay, of a piece, near what is chosen.
// Each that a pointer does has a way by keys: the buttons of Touch up do the same.

import { store, tell, firstOf } from "/page/store.js";

export const grab = { loop: false, more: false };

const free = (row) => {
  const { id } = store.layout.lays[store.seats.lay[row]];
  return !store.hidden.has(id) && !store.locked.has(id);
};

// The rows a test of (x, y, piece, row) takes; hidden and locked lays stay out of it.
function rowsWhere(test) {
  const { seats } = store;
  const found = new Set();
  for (let k = 0; k < (seats?.m ?? 0); k += 1) {
    const row = seats.seat[k];
    if (free(row) && test(seats.xy[2 * k], seats.xy[2 * k + 1], seats.piece[k], row)) found.add(row);
  }
  return found;
}

export function choose(rows, more = false) {
  if (!more) store.chosen.clear();
  for (const row of rows) store.chosen.add(row);
  tell("chosen");
}

export const rowsInFrame = ([a, b, c, d]) => rowsWhere((x, y) =>
  x >= Math.min(a, c) && x <= Math.max(a, c) && y >= Math.min(b, d) && y <= Math.max(b, d));

// `loop` is x, y, x, y ... in mm; its last point is joined with its first.
export const rowsInLoop = (loop) => rowsWhere((x, y) => {
  let inside = false;
  for (let k = 0, j = loop.length - 2; k < loop.length; j = k, k += 2) {
    const above = loop[k + 1] > y, before = loop[j + 1] > y;
    if (above !== before && x < ((loop[j] - loop[k]) * (y - loop[k + 1])) / (loop[j + 1] - loop[k + 1]) + loop[k]) inside = !inside;
  }
  return inside;
});

export const rowsOfLay = (number) => rowsWhere((_x, _y, _piece, row) => store.seats.lay[row] === number);
export const rowsOfPiece = (number) => rowsWhere((_x, _y, piece) => piece === number);

export function rowsNear(mm) {
  const first = firstOf(store.seats);
  const held = new Map(); // chosen places by cells of that size
  for (const row of store.chosen) {
    const k = first[row], [x, y] = [store.seats.xy[2 * k], store.seats.xy[2 * k + 1]];
    const cell = `${Math.floor(x / mm)} ${Math.floor(y / mm)}`;
    if (!held.has(cell)) held.set(cell, []);
    held.get(cell).push([x, y]);
  }
  return rowsWhere((x, y) => {
    const [i, j] = [Math.floor(x / mm), Math.floor(y / mm)];
    for (let u = i - 1; u <= i + 1; u += 1) {
      for (let v = j - 1; v <= j + 1; v += 1) {
        if (held.get(`${u} ${v}`)?.some(([a, b]) => Math.hypot(a - x, b - y) <= mm)) return true;
      }
    }
    return false;
  });
}

// The lay of the piece nearest to a place, null where none is within so many mm.
export function layNear(x, y, within) {
  const { seats, layout } = store;
  let best = -1, least = within;
  for (let k = 0; k < (seats?.m ?? 0); k += 1) {
    if (!free(seats.seat[k])) continue;
    const away = Math.hypot(seats.xy[2 * k] - x, seats.xy[2 * k + 1] - y);
    if (away < least) [best, least] = [seats.seat[k], away];
  }
  return best < 0 ? null : layout.lays[seats.lay[best]].id;
}
