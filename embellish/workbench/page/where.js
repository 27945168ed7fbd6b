// Where: the drawing and its shapes; where there is none yet, how to begin.

import { el, button } from "/page/el.js";
import { beginPanel } from "/page/begin.js";
import { fillable, named, painted } from "/page/painted.js";
import { store, tell, change, say } from "/page/store.js";

export function wherePanel() {
  if (!store.state.job) return beginPanel("Begin");
  return [...shapes(), el("details", { id: "another" }, el("summary", {}, "Open or begin another job"), beginPanel("Another job"))];
}

function shapes() {
  const held = store.layout?.shapes ?? [];
  const art = store.state.job.artwork ?? {};
  const chosen = store.shapes.size;
  return [
    el("h2", {}, "Where pieces go"),
    el("p", { class: "quiet" }, "Click a shape in the picture or in the list, with Shift for several; then say how pieces go there."),
    el("div", { class: "list" }, el("ul", { class: "plain" }, held.slice(0, 400).map((shape) => el("li", {},
      button([el("span", { class: "dab", hex: shape.fill ?? shape.stroke ?? "#fff" }), el("span", { class: "grow" }, `#${shape.id}`), el("span", { class: "quiet" }, shape.closed ? "closed" : "open line")], (event) => {
        if (!event.shiftKey && !event.ctrlKey) store.shapes.clear();
        store.shapes[store.shapes.has(shape.id) ? "delete" : "add"](shape.id);
        tell("look");
        tell("shapes");
      }, { "aria-pressed": String(store.shapes.has(shape.id)) }))))),
    held.length > 400 ? el("p", { class: "quiet" }, `and ${held.length - 400} more: click them in the picture`) : null,
    painted(),
    el("h3", {}, chosen ? `Put pieces on ${chosen === 1 ? `#${[...store.shapes][0]}` : `${chosen} shapes`}` : "Put pieces on all shapes"),
    el("div", { class: "row" }, store.ways.ways.map((way) => button(way.label, () => addLay(way.way), { title: way.told }))),
    art.file ? el("div", { class: "field" },
      el("label", { for: "width" }, "Width of the drawing (mm)"),
      el("input", { id: "width", type: "number", min: 1, max: 100000, step: "any", value: art.width_mm ?? "", placeholder: store.layout ? store.layout.page_mm[0].toFixed(1) : "", onchange: (event) => change([{ do: "set", at: ["artwork", "width_mm"], value: event.target.value === "" ? null : Number(event.target.value) }], "width of the drawing") }),
      el("small", {}, "Of its page. Pieces and gaps keep their size.")) : null,
    el("div", { class: "field" },
      el("label", { for: "turn" }, "Turned by (°)"),
      el("input", { id: "turn", type: "number", min: -360, max: 360, step: "any", value: art.rotate_deg ?? 0, onchange: (event) => change([{ do: "set", at: ["artwork", "rotate_deg"], value: Number(event.target.value) || null }], "turned the drawing") }),
      el("small", {}, "Clockwise; the layout turns with it, piece for piece.")),
  ];
}

async function addLay(way) {
  const { fills, label } = store.ways.ways.find((each) => each.way === way);
  const room = fills && store.layout ? fillable() : null;
  if (room && !room.ids.length) {
    say(`"${label}" fills a shape, and ${room.open.slice(0, 3).map((id) => `#${id}`).join(", ")}${room.open.length > 3 ? " and others are open lines" : room.open.length > 1 ? " are open lines" : " is an open line"}: choose closed shapes, or take lines as wide as they are painted.`, true);
    return;
  }
  const ids = room && !room.all ? room.ids : [...store.shapes];
  const taken = new Set(store.state.job.lay.map((lay) => lay.id));
  let number = 1;
  while (taken.has(`lay-${number}`)) number += 1;
  const last = store.state.job.lay.find((lay) => lay.id === store.lay) ?? store.state.job.lay.at(-1);
  const table = {
    id: `lay-${number}`,
    shapes: ids.length ? ids.map(named).join(", ") : "*",
    name: `${label.toLowerCase()}: ${ids.length > 3 ? `${ids.length} shapes` : ids.join(", ") || "all shapes"}`.slice(0, 120),
    way,
    pieces: Array.isArray(last.pieces) ? [last.pieces[0]] : [Object.keys(last.pieces)[0]],
    gap_mm: last.gap_mm,
  };
  if (fills && way !== "centreline") table.edge_mm = 0.5;
  store.lay = table.id;
  await change([{ do: "add", to: "lay", table }], `put pieces on ${table.shapes}`);
  store.step = "pieces";
  tell("step");
}
