// The tray: all pieces of the job's catalogues at true size, found by the workbench, shown a page at a time.

import { get } from "/page/api.js";
import { el, button, resting } from "/page/el.js";
import { store, tell, setLay, attempt } from "/page/store.js";
import { trueSize } from "/page/truesize.js";

const ORDERS = [["listed", "as in the list"], ["price", "cheapest first"], ["size", "smallest first"], ["stock", "most in stock first"]];
const asked = { q: "", kind: "", fixing: "", from_mm: "", to_mm: "", near: "", stock: "", most_each: "", order: "listed" };
let adds = false, newest = 0;

export const mixed = (lay) => !Array.isArray(lay.pieces);

export function tray(lay) {
  if (!lay) return [];
  const list = el("div", { class: "list tray", role: "group", "aria-label": "Pieces found" });
  const count = el("p", { class: "quiet", role: "status" });
  const name = lay.name || lay.id;
  const set = (key) => (event) => { asked[key] = event.target.type === "checkbox" ? (event.target.checked ? "1" : "") : event.target.value; fill(); };
  const text = (key, id, more) => el("input", { id, value: asked[key], oninput: resting(set(key), 140), ...more });
  const kinds = el("select", { id: "kind", onchange: set("kind") }), fixings = el("select", { id: "fixing", onchange: set("fixing") });
  const orders = el("select", { id: "order", onchange: set("order") }, ORDERS.map(([value, words]) => el("option", { value, selected: asked.order === value }, words)));
  const near = el("input", { id: "nearcolour", type: "color", "aria-label": "The colour looked for", value: asked.near || "#2244aa", oninput: resting(() => { asked.near = near.value; any.checked = true; fill(); }, 140) });
  const any = el("input", { id: "near-on", type: "checkbox", checked: Boolean(asked.near), onchange: () => { asked.near = any.checked ? near.value : ""; fill(); } });
  const options = (select, names, words, now) => select.replaceChildren(el("option", { value: "" }, words), ...names.map((each) => el("option", { value: each, selected: each === now }, each)));
  const customer = store.view === "customer";

  async function fill() {
    const mine = (newest += 1);
    const found = await attempt(() => get(`/api/tray?${new URLSearchParams(asked)}`));
    if (!found || mine !== newest) return;
    options(kinds, found.kinds, "any kind", asked.kind);
    options(fixings, found.fixings, "any fixing", asked.fixing);
    const rows = el("ul", { class: "plain" }, found.units.map((unit) => el("li", {}, unitEntry(unit, lay))), found.pieces.map((piece) => el("li", {}, entry(piece, lay, found.currency))));
    list.replaceChildren(rows, ...more(rows, found));
    list.scrollTop = 0;
    tellCount(found, found.pieces.length);
  }
  function tellCount(found, shown) {
    count.textContent = !found.count ? "No piece is like this: ask for less." : found.count > shown ? `${found.count} pieces, ${shown} shown` : `${found.count} piece${found.count === 1 ? "" : "s"}`;
  }
  // The next page comes when its button is reached, by scrolling or by key.
  function more(rows, found) {
    let shown = found.pieces.length;
    if (found.count <= shown) return [];
    const mine = newest;
    const next = button("Show more", async () => {
      next.disabled = true;
      const page = await attempt(() => get(`/api/tray?${new URLSearchParams({ ...asked, start: shown })}`));
      if (!page || mine !== newest) return;
      const added = page.pieces.map((piece) => el("li", {}, entry(piece, lay, page.currency)));
      rows.append(...added);
      shown += page.pieces.length;
      tellCount(page, shown);
      if (shown >= page.count) next.remove(); else next.disabled = false;
      added[0]?.querySelector("button").focus({ preventScroll: true });
    }, { class: "more" });
    return [next];
  }
  if (store.layout) fill();
  return [
    el("h2", {}, "The tray"),
    el("div", { class: "field wide" }, el("label", { for: "search" }, "Search pieces"), text("q", "search", { type: "search", placeholder: "SS10 blue" })),
    el("div", { class: "filters" },
      labelled("kind", "Kind", kinds), labelled("fixing", "Fixing", fixings),
      labelled("from", "From (mm)", text("from_mm", "from", { type: "number", min: 0, step: "any" })),
      labelled("to", "to (mm)", text("to_mm", "to", { type: "number", min: 0, step: "any" })),
      customer ? null : labelled("dear", "One costs at most", text("most_each", "dear", { type: "number", min: 0, step: "any" })),
      labelled("order", "Sorted", orders),
      el("span", { class: "tick" }, el("input", { id: "instock", type: "checkbox", checked: Boolean(asked.stock), onchange: set("stock") }), el("label", { for: "instock" }, "Only what is in stock")),
      el("span", { class: "tick" }, any, el("label", { for: "near-on" }, "Nearest to"), near)),
    trueSize(),
    el("div", { class: "row", role: "group", "aria-label": "A piece chosen here" },
      button(`Set ${name} with it alone`, () => { adds = false; tell("step"); }, { "aria-pressed": String(!adds) }),
      button("Add it to what is there", () => { adds = true; tell("step"); }, { "aria-pressed": String(adds) })),
    el("p", { class: "quiet" }, "Or drag one onto stones in the picture."),
    count, list,
  ];
}

const labelled = (id, words, control) => el("span", { class: "filter" }, el("label", { for: id }, words), control);

function entry(piece, lay, currency) {
  const words = [piece.size || `${piece.length_mm} mm`, piece.colour, piece.finish].filter(Boolean).join(" ");
  const sizes = piece.length_mm === piece.width_mm ? `${piece.length_mm} mm` : `${piece.length_mm} × ${piece.width_mm} mm`;
  const facts = [sizes, piece.kind, piece.fixing, piece.stock ? `${piece.stock} in stock` : ""].filter(Boolean).join(" · ");
  const price = piece.each && store.view !== "customer" ? `${Number(piece.each).toFixed(3)} ${currency} each` : "";
  const picture = el("img", { src: `/api/sprite?code=${encodeURIComponent(piece.code)}&angle=0`, alt: "", loading: "lazy" });
  picture.style.setProperty("--half", piece.half_mm);
  const made = button([
    el("span", { class: "swatch" }, picture),
    el("span", { class: "grow" }, el("b", {}, piece.code), el("br"), words, el("br"), el("small", {}, [facts, price].filter(Boolean).join(" · "))),
    piece.delta_e === null ? null : el("small", {}, `ΔE ${piece.delta_e.toFixed(1)}`),
  ], (event) => use(piece.code, lay, adds || event.shiftKey), { draggable: true });
  made.addEventListener("dragstart", (event) => event.dataTransfer.setData("text/x-piece", piece.code));
  return made;
}

function unitEntry(unit, lay) {
  const made = button(el("span", { class: "grow" }, el("b", {}, unit.code), el("br"), el("small", {}, `set together: ${unit.members.join(" + ")}`)),
    (event) => use(unit.code, lay, adds || event.shiftKey), { draggable: true });
  made.addEventListener("dragstart", (event) => event.dataTransfer.setData("text/x-piece", unit.code));
  return made;
}

export function use(code, lay, more) {
  const name = lay.name || lay.id;
  if (!more) return setLay(lay.id, "pieces", [code], `set ${name} with ${code}`);
  if (mixed(lay)) return setLay(lay.id, "pieces", { ...lay.pieces, [code]: 1 }, `${code} in ${name}`);
  return setLay(lay.id, "pieces", [...lay.pieces, code], `${code} in ${name}`);
}
