// A piece named by typing: those in use at once, any of the catalogues as it is typed.

import { get } from "/page/api.js";
import { el, resting } from "/page/el.js";

const held = new Map(); // what was typed, by box, so that a panel drawn anew keeps it

export function pieceBox(id, codes) {
  const offers = el("datalist", { id: `${id}-offers` });
  const offer = (found) => offers.replaceChildren(...found.map((code) => el("option", { value: code })));
  const box = el("input", { id, list: `${id}-offers`, value: held.get(id) ?? codes[0] ?? "", autocomplete: "off", oninput: () => { held.set(id, box.value); ask(); } });
  const ask = resting(async () => {
    try {
      const found = await get(`/api/tray?${new URLSearchParams({ q: box.value })}`);
      offer([...found.units, ...found.pieces].slice(0, 30).map((each) => each.code));
    } catch { offer(codes); }
  }, 200);
  offer(codes);
  const made = el("span", { class: "named" }, box, offers);
  Object.defineProperty(made, "value", { get: () => box.value.trim() });
  return made;
}
