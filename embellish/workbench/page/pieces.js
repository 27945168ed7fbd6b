// Pieces: the lays in their order, what each sets and how, and the tray to take pieces from.

import { el, button } from "/page/el.js";
import { coursePanel } from "/page/courses.js";
import { field, simple } from "/page/fields.js";
import { memberPanel } from "/page/members.js";
import { store, tell, change, setLay, remember } from "/page/store.js";
import { mixed, tray } from "/page/tray.js";

export function piecesPanel() {
  const lays = store.state.job.lay;
  const lay = lays.find((each) => each.id === store.lay) ?? lays[0];
  return [
    el("h2", {}, "What is set, in this order"),
    el("div", {}, lays.map((each, number) => card(each, number, lays))),
    ...(lay ? settings(lay) : []),
    ...tray(lay),
  ];
}

function card(lay, number, lays) {
  const laid = store.layout?.lays.find((each) => each.id === lay.id);
  const name = lay.name || lay.id;
  const hidden = store.hidden.has(lay.id), locked = store.locked.has(lay.id);
  const flip = (set, id) => { set[set.has(id) ? "delete" : "add"](id); remember(); tell("look"); tell("step"); };
  return el("div", { class: lay.id === store.lay ? "card chosen" : "card" },
    button(`${number + 1}. ${name}${laid ? ` · ${laid.count}` : ""}${hidden ? " · hidden" : ""}${locked ? " · locked" : ""}`, () => { store.lay = lay.id; tell("step"); }, { class: "name", "aria-pressed": String(lay.id === store.lay) }),
    lay.id !== store.lay ? null : el("div", { class: "row" },
      button("↑", () => change([{ do: "move-lay", id: lay.id, before: lays[number - 1].id }], `laid ${name} earlier`), { disabled: !number, title: "Set earlier", "aria-label": `Set ${name} earlier` }),
      button("↓", () => change([{ do: "move-lay", id: lay.id, before: lays[number + 2]?.id ?? null }], `laid ${name} later`), { disabled: number === lays.length - 1, title: "Set later", "aria-label": `Set ${name} later` }),
      button(hidden ? "Show" : "Hide", () => flip(store.hidden, lay.id), { "aria-label": `${hidden ? "Show" : "Hide"} ${name}` }),
      button(locked ? "Unlock" : "Lock", () => flip(store.locked, lay.id), { "aria-label": `${locked ? "Unlock" : "Lock"} ${name}`, title: "Its pieces cannot be touched by hand until it is unlocked" }),
      button("Copy", () => change([{ do: "copy-lay", id: lay.id }], `copied ${name}`), { "aria-label": `Copy ${name}` }),
      button("Take out", () => change([{ do: "remove", of: "lay", which: lay.id }], `took out ${name}`), { disabled: lays.length === 1, "aria-label": `Take out ${name}` })));
}

function settings(lay) {
  const way = store.ways.ways.find((each) => each.way === lay.way);
  const name = lay.name || lay.id;
  const put = (control) => (value) => setLay(lay.id, control.key, value, `${control.label.toLowerCase()} of ${name}`);
  const common = store.ways.common.filter((control) => control.key !== "edge_mm" || !["row", "points", "cluster"].includes(lay.way));
  return [
    el("h2", {}, name),
    el("div", { class: "field" }, el("label", { for: "layname" }, "Called"),
      el("input", { id: "layname", maxLength: 120, value: lay.name ?? "", placeholder: lay.id, onchange: (event) => setLay(lay.id, "name", event.target.value || null, `named ${lay.id}`) })),
    el("div", { class: "field" }, el("label", { for: "way" }, "How they go"),
      el("select", { id: "way", onchange: (event) => changeWay(lay, event.target.value) }, store.ways.ways.map((each) => el("option", { value: each.way, selected: each.way === lay.way }, each.label))),
      el("small", {}, way.told)),
    el("h3", {}, mixed(lay) ? "A mix of" : lay.pieces.length > 1 ? "In this order, again and again" : "Set with"),
    el("div", {}, chips(lay)),
    way.mixes && (mixed(lay) || lay.pieces.length > 1) ? el("div", { class: "row" }, button(mixed(lay) ? "In turn" : "Mixed by share", () => turnOver(lay))) : null,
    el("div", {}, field(common[0], lay.gap_mm, put(common[0])), common.slice(1, 2).map((control) => field(control, lay[control.key], put(control)))),
    el("div", {}, way.controls.filter(simple).map((control) => field(control, lay[control.key], put(control)))),
    ...coursePanel(lay),
    memberPanel(lay),
    el("details", {}, el("summary", {}, "Setting and marks"), common.slice(2).map((control) => field(control, lay[control.key], put(control)))),
  ];
}

function changeWay(lay, way) {
  const old = store.ways.ways.find((each) => each.way === lay.way).controls.map((control) => control.key);
  const gone = [...old.filter((key) => key in lay), ...["blend", "fade", "members", "mosaic"].filter((key) => key in lay)];
  const changes = gone.map((key) => ({ do: "set", at: ["lay", lay.id, key], value: null }));
  changes.push({ do: "set", at: ["lay", lay.id, "way"], value: way });
  if (["row", "points", "cluster"].includes(way) && "edge_mm" in lay) changes.push({ do: "set", at: ["lay", lay.id, "edge_mm"], value: null });
  if (!store.ways.ways.find((each) => each.way === way).mixes && mixed(lay)) changes.push({ do: "set", at: ["lay", lay.id, "pieces"], value: Object.keys(lay.pieces) });
  return change(changes, `laid ${lay.name || lay.id} another way`);
}

const turnOver = (lay) => setLay(lay.id, "pieces", mixed(lay) ? Object.keys(lay.pieces) : Object.fromEntries(lay.pieces.map((code) => [code, 1])), "how pieces take turns");

function chips(lay) {
  const codes = mixed(lay) ? Object.keys(lay.pieces) : lay.pieces;
  const put = (pieces) => setLay(lay.id, "pieces", pieces, `pieces of ${lay.name || lay.id}`);
  return codes.map((code, number) => {
    const piece = store.layout?.kit.find((each) => each.code === code);
    const share = mixed(lay) ? el("input", { type: "number", min: 0.001, step: "any", value: lay.pieces[code], "aria-label": `Share of ${code}`, onchange: (event) => Number(event.target.value) > 0 && put({ ...lay.pieces, [code]: Number(event.target.value) }) }) : null;
    return el("span", { class: "chip" }, el("span", { class: "dab", hex: piece?.hex ?? "#ccc" }), code, share,
      button("×", () => {
        if (mixed(lay)) { const { [code]: _gone, ...rest } = lay.pieces; put(rest); } else put(lay.pieces.filter((_each, k) => k !== number));
      }, { disabled: codes.length === 1, "aria-label": `Without ${code}` }));
  });
}
