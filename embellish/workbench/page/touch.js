// Touch up: single pieces chosen, moved, turned, swapped, pinned, taken away and added.

import { el, button } from "/page/el.js";
import { store, tell, touch, firstOf } from "/page/store.js";
import { choose, grab, rowsNear, rowsOfLay, rowsOfPiece } from "/page/choose.js";
import { addPiece, adding, seatWords } from "/page/hands.js";
import { put } from "/page/placing.js";
import { pieceBox } from "/page/named.js";
import { goTo } from "/page/stage.js";

const SHOWN = 300;
const LIMIT_MM = 100;

export function touchPanel() {
  const { seats, layout } = store;
  const count = store.chosen.size;
  const none = !count || seats?.draft;
  const codes = [...new Set((layout?.kit ?? []).map((piece) => piece.code))];
  const dx = el("input", { id: "dx", type: "number", step: 0.1, value: 0, min: -LIMIT_MM, max: LIMIT_MM });
  const dy = el("input", { id: "dy", type: "number", step: 0.1, value: 0, min: -LIMIT_MM, max: LIMIT_MM });
  const by = el("input", { id: "by", type: "number", step: 5, value: 15, min: -360, max: 360 });
  const swap = pieceBox("swap", codes);
  return [
    el("h2", {}, "Touch up"),
    store.state.kept ? el("p", { class: "finding warning" }, "This layout was kept. Nothing in it is moved; a change of the job lays it anew.") : null,
    el("p", { class: "quiet", role: "status" }, count ? `${count} chosen${count === 1 ? `: ${seatWords([...store.chosen][0])}` : ""}` : "Click a piece, drag over empty cloth to take several, or choose below."),
    el("div", { class: "row" },
      button("Take away", () => touch("delete", "took pieces away"), { disabled: none }),
      button("Pin", () => touch("pin", "pinned pieces"), { disabled: none, title: "Stays where it is whatever is evened out" }),
      button("Put back as laid", () => touch("free", "put back as laid"), { disabled: none }),
      button("None", () => { store.chosen.clear(); tell("chosen"); }, { disabled: !count })),
    choosing(),
    el("div", { class: "field wide" }, el("span", { class: "row" },
      el("label", { for: "dx" }, "Right"), dx, el("label", { for: "dy" }, "down"), dy, "mm",
      button("Move", () => put(Number(dx.value), Number(dy.value)), { disabled: none })),
    el("small", {}, "Less than 0 is to the left, and up.")),
    el("div", { class: "field wide" }, el("label", { for: "by" }, "Turn by (°)"), el("span", { class: "row" }, by, button("Turn", () => touch("turn", "turned", { turn_deg: Number(by.value) }), { disabled: none }))),
    el("div", { class: "field wide" }, el("label", { for: "swap" }, "Another piece"), el("span", { class: "row" }, swap, button("Swap", () => touch("swap", `swapped for ${swap.value}`, { piece: swap.value }), { disabled: none }),
      button(adding.piece ? "Stop adding" : "Add by click", () => { adding.piece = adding.piece ? null : swap.value; adding.lay = store.lay; tell("step"); }, { "aria-pressed": String(Boolean(adding.piece)) }))),
    addThere(swap),
    el("h3", {}, "Pieces, one by one"),
    table(),
  ];
}

// A piece more, without a pointer: at a place in millimetres, beside what is chosen to begin with.
function addThere(named) {
  const { seats } = store;
  const row = store.chosen.size === 1 ? [...store.chosen][0] : -1;
  const at = row >= 0 && seats ? [seats.xy[2 * firstOf(seats)[row]], seats.xy[2 * firstOf(seats)[row] + 1]] : [0, 0];
  const [x, y] = at.map((value, k) => el("input", { id: k ? "addy" : "addx", type: "number", step: 0.1, min: -1e5, max: 1e5, value: value.toFixed(1) }));
  return el("div", { class: "field wide" }, el("span", { class: "row" }, el("label", { for: "addx" }, "Add one at"), x, el("label", { for: "addy" }, "down"), y, "mm",
    button("Add there", () => addPiece(named.value, Number(x.value), Number(y.value)), { disabled: !seats || seats.draft })));
}

// What a pointer drags over, and the same without one.
function choosing() {
  const { layout } = store;
  if (!layout) return null;
  const near = el("input", { id: "near", type: "number", min: 0.1, max: 1000, step: "any", value: 5 });
  const held = el("select", { id: "whose" },
    layout.lays.map((lay, number) => el("option", { value: `lay ${number}`, disabled: store.locked.has(lay.id) }, `All of ${lay.name || lay.id}`)),
    layout.kit.map((piece, number) => el("option", { value: `piece ${number}` }, `All ${piece.code}`)));
  const rows = () => { const [of, number] = held.value.split(" "); return of === "lay" ? rowsOfLay(Number(number)) : rowsOfPiece(Number(number)); };
  return el("div", { class: "field wide" },
    el("div", { class: "row", role: "group", "aria-labelledby": "takes" }, el("span", { id: "takes" }, "A drag over empty cloth takes"),
      button("What a frame holds", () => { grab.loop = false; tell("chosen"); }, { "aria-pressed": String(!grab.loop) }),
      button("What a loop holds", () => { grab.loop = true; tell("chosen"); }, { "aria-pressed": String(grab.loop) })),
    el("div", { class: "row" }, button("Add to what is chosen", () => { grab.more = !grab.more; tell("chosen"); }, { "aria-pressed": String(grab.more) })),
    el("div", { class: "row" }, el("label", { for: "whose" }, "Or"), held, button("Choose", () => choose(rows())), button("And these", () => choose(rows(), true), { disabled: !store.chosen.size })),
    el("div", { class: "row" }, el("label", { for: "near" }, "Chosen, and all within"), near, "mm",
      button("Choose near", () => { const mm = Number(near.value); if (mm > 0) choose(rowsNear(mm), true); }, { disabled: !store.chosen.size })),
    el("small", {}, "Holding Shift adds too."));
}

// One stop for the key Tab; within the table the arrows go from piece to piece.
function byArrows(event) {
  const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 10, PageUp: -10, Home: -1e9, End: 1e9 };
  if (!(event.key in steps)) return;
  const all = [...event.currentTarget.querySelectorAll("button:not(:disabled)")];
  const now = all.indexOf(document.activeElement);
  if (now < 0) return;
  event.preventDefault();
  const next = all[Math.min(all.length - 1, Math.max(0, now + steps[event.key]))];
  all[now].tabIndex = -1;
  next.tabIndex = 0;
  next.focus();
}

function table() {
  const { seats, layout } = store;
  if (!seats) return el("p", { class: "quiet" }, "Being laid …");
  const first = firstOf(seats);
  const rows = [];
  for (let row = 0; row < seats.n && rows.length < SHOWN; row += 1) {
    const lay = layout.lays[seats.lay[row]];
    if (lay.id !== store.lay) continue;
    const k = first[row];
    rows.push(el("tr", { "aria-selected": String(store.chosen.has(row)) },
      el("td", {}, button(layout.kit[seats.piece[k]].code, (event) => {
        if (!event.shiftKey) store.chosen.clear();
        store.chosen.add(row);
        goTo(seats.xy[2 * k], seats.xy[2 * k + 1]);
        tell("chosen");
      }, { tabindex: rows.length ? "-1" : "0", disabled: store.locked.has(lay.id), "aria-label": `Choose ${seatWords(row)}` })),
      el("td", { class: "n" }, seats.xy[2 * k].toFixed(2)), el("td", { class: "n" }, seats.xy[2 * k + 1].toFixed(2)),
      el("td", { class: "n" }, seats.angle[k].toFixed(0)), el("td", {}, seats.hand[row] ? "by hand" : "laid")));
  }
  const of = layout.lays.find((lay) => lay.id === store.lay);
  return el("div", {},
    el("select", { "aria-label": "Pieces of", onchange: (event) => { store.lay = event.target.value; tell("step"); } }, layout.lays.map((lay) => el("option", { value: lay.id, selected: lay.id === store.lay }, lay.name || lay.id))),
    el("div", { class: "list", role: "region", "aria-label": "Table of pieces", onkeydown: byArrows }, el("table", {}, el("thead", {}, el("tr", {}, ["piece", "x mm", "y mm", "turn °", "set"].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, rows))),
    of && of.count > rows.length ? el("p", { class: "quiet" }, `the first ${rows.length} of ${of.count}`) : null);
}
