// The garment's photo laid by two of its points: each clicked where it is seen, then where it is to lie.

import { post } from "/page/api.js";
import { attempt, store, take, tell } from "/page/store.js";

export const lining = { on: false, at: [] };

const ASKED = [
  "Click a point of the garment in the photo, such as a button.",
  "Click where that point is to lie.",
  "Click another point of the photo, as far from the first as can be.",
  "Click where that one is to lie.",
];
export const asked = () => `${ASKED[lining.at.length / 2] ?? ""} Or bring it to the middle by the arrows, and press Enter there.`;

export function line(on) {
  Object.assign(lining, { on, at: [] });
  tell("lining");
}

export async function lined(x, y) {
  lining.at.push(x, y);
  if (lining.at.length < 8) { tell("lining"); return; }
  const [a, b, c, d, e, f, g, h] = lining.at;
  line(false);
  await attempt(async () => take(await post("/api/photo/points", { number: store.state.number, seen_mm: [a, b, e, f], lies_mm: [c, d, g, h] })));
}
