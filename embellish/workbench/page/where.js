// Where: the drawing and its shapes, or how to begin when there is none.

import { get, post, send, Refused } from "/page/api.js";
import { el, button } from "/page/el.js";
import { store, tell, attempt, take, change, fresh, say } from "/page/store.js";

export function wherePanel() {
  return store.state.job ? [...shapes(), ...begin("Begin another")] : begin("Begin");
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
  const taken = new Set(store.state.job.lay.map((lay) => lay.id));
  let number = 1;
  while (taken.has(`lay-${number}`)) number += 1;
  const last = store.state.job.lay.find((lay) => lay.id === store.lay) ?? store.state.job.lay.at(-1);
  const table = {
    id: `lay-${number}`,
    shapes: store.shapes.size ? [...store.shapes].map((id) => (/^[\w-]+$/.test(id) ? `#${id}` : `[id="${id}"]`)).join(", ") : "*",
    way,
    pieces: Array.isArray(last.pieces) ? [last.pieces[0]] : [Object.keys(last.pieces)[0]],
    gap_mm: last.gap_mm,
  };
  const fills = store.ways.ways.find((each) => each.way === way).fills;
  if (fills && way !== "centreline") table.edge_mm = 0.5;
  store.lay = table.id;
  await change([{ do: "add", to: "lay", table }], `put pieces on ${table.shapes}`);
  store.step = "pieces";
  tell("step");
}

function begin(words) {
  const file = el("input", { type: "file", id: "file", accept: ".svg,.dxf,.dst,.exp,.pes,.jef,.vp3,.png,.jpg,.jpeg", onchange: () => file.files[0] && drawing(file.files[0]) });
  const drop = el("div", { class: "drop" }, el("p", {}, "Drop a drawing here, or choose one:"), el("label", { for: "file" }, "Drawing "), file);
  drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    if (event.dataTransfer.files[0]) drawing(event.dataTransfer.files[0]);
  });
  const width = el("input", { id: "wide", type: "number", min: 1, max: 100000, step: "any", placeholder: "its own" });
  const catalogue = el("select", { id: "catalogue" }, (store.state.catalogues ?? ["shipped:stones"]).map((name) => el("option", { value: name, selected: name === "shipped:stones" }, name.replace("shipped:", ""))));
  const name = el("input", { id: "name", maxLength: 100, placeholder: "Ana" });
  const high = el("input", { id: "high", type: "number", min: 3, max: 1000, value: 40 });
  async function drawing(dropped) {
    const asked = new URLSearchParams({ name: dropped.name, catalogue: catalogue.value });
    if (width.value) asked.set("width_mm", width.value);
    await attempt(async () => {
      try {
        opened(await send(`/api/drawing?${asked}`, dropped));
      } catch (wrong) {
        if (wrong instanceof Refused && wrong.message.includes("no physical size")) {
          width.focus();
          say("This drawing does not say how large it is: give its width in mm, then choose it again.", true);
          return;
        }
        throw wrong;
      }
    });
  }
  return [
    el("h2", {}, words),
    store.state.jobs.length ? el("div", {}, el("h3", {}, "A job in this folder"), el("div", { class: "list" }, el("ul", { class: "plain" }, store.state.jobs.map((job) => el("li", {}, button(job, () => attempt(async () => opened(await post("/api/open", { job }))), { "aria-pressed": String(job === store.state.file) })))))) : null,
    el("h3", {}, "A drawing"), drop,
    el("div", { class: "field" }, el("label", { for: "wide" }, "Its width (mm)"), width, el("small", {}, "Where the drawing does not say, or should be another.")),
    el("div", { class: "field" }, el("label", { for: "catalogue" }, "Pieces from"), catalogue, el("small", {}, "The list of pieces to begin with; their prices are invented examples.")),
    el("h3", {}, "A name"),
    el("div", { class: "field" }, el("label", { for: "name" }, "Words"), name, el("small", {}, "In letters of single lines; a font of yours can be named in the job.")),
    el("div", { class: "field" }, el("label", { for: "high" }, "Capitals (mm high)"), high, button("Begin with these words", () => attempt(async () =>
      opened(await post("/api/words", { text: name.value, cap_height_mm: Number(high.value), catalogue: catalogue.value }))))),
    el("h3", {}, "The example"),
    button("Open the moth on denim (invented)", () => attempt(async () => opened(await post("/api/demo")))),
  ];
}

async function opened(state) {
  store.state = null;
  take(state ?? await get("/api/state"));
  store.step = "where";
  tell("step");
  await fresh();
}
