// Setting what is in hand somewhere else: tried first, refused softly, and set there anyway where it is asked.

import { post } from "/page/api.js";
import { store, touch, expectMove, attempt } from "/page/store.js";
import { drawOver, eye, hand, hintAt } from "/page/stage.js";

const anyway = document.getElementById("anyway");
let asking = false, moving = false, refused = null;

const reach = () => Math.min(1, 8 / eye.scale); // how far a snap pulls, mm
const tried = (dx, dy, snap) => post("/api/try", { number: store.seats.number, rows: [...store.chosen], dx_mm: dx, dy_mm: dy, snap_mm: snap });

function words(found) {
  if (found.outside_mm > 0) return `✕ over the edge by ${found.outside_mm.toFixed(2)} mm`;
  if (found.gap_mm === null) return "✓ no other piece near";
  return `${found.fits ? "✓" : "✕"} gap ${found.gap_mm.toFixed(2)} mm, ${found.asked_mm.toFixed(2)} asked`;
}

// Ask how it would stand while it is dragged; one question at a time, the newest place next.
export async function tryPlace(still) {
  if (asking || !store.chosen.size || store.seats.draft) return;
  asking = true;
  const [dx, dy] = [hand.dx, hand.dy];
  try {
    const found = await tried(dx, dy, reach());
    if (still()) {
      Object.assign(hand, { fits: found.fits, snap: found.snap_mm, between: found.between });
      hintAt(words(found));
    }
  } catch { /* another layout is there by now: the next move asks of that */ }
  asking = false;
  drawOver();
  if (still() && (dx !== hand.dx || dy !== hand.dy)) tryPlace(still);
}

export function letGo() {
  Object.assign(hand, { dx: 0, dy: 0, fits: true, snap: null, between: null });
  drawOver();
}

// By pointer with a snap, by keys and numbers just there.
export async function put(dx, dy, { free = false, snaps = false } = {}) {
  forget();
  if (!store.chosen.size || store.seats.draft || moving) return;
  moving = true;
  try {
    const found = free ? null : await attempt(() => tried(dx, dy, snaps ? reach() : 0));
    if (!free && !found) { letGo(); return; }
    if (found && !found.fits) {
      letGo();
      refused = { dx, dy };
      anyway.hidden = false;
      hintAt(`Put back: ${words(found)}.`);
      return;
    }
    const [sx, sy] = found?.snap_mm ?? [0, 0];
    Object.assign(hand, { snap: null, between: null });
    await set(dx + sx, dy + sy);
    hintAt(found ? words(found) : "");
  } finally { moving = false; }
}

async function set(dx, dy) {
  expectMove(dx, dy);
  await touch("move", store.chosen.size === 1 ? "moved a piece" : `moved ${store.chosen.size} pieces`, { dx_mm: dx, dy_mm: dy });
  hand.fits = true;
}

export async function setAnyway() {
  if (!refused) return;
  const { dx, dy } = refused;
  document.getElementById("base").focus();
  await put(dx, dy, { free: true });
}
export function forget() { refused = null; anyway.hidden = true; }
anyway.addEventListener("click", setAnyway);
