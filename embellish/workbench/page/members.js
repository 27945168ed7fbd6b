// A little group of the maker's own: which piece stands where about its middle.

import { el, button } from "/page/el.js";
import { change } from "/page/store.js";

const PARTS = [["dx_mm", "ahead"], ["dy_mm", "to the right"], ["angle_deg", "turned °"]];

export function memberPanel(lay) {
  if (lay.way !== "cluster") return null;
  const held = lay.members ?? [];
  const codes = Array.isArray(lay.pieces) ? lay.pieces : Object.keys(lay.pieces);
  const set = (value) => change([
    { do: "set", at: ["lay", lay.id, "members"], value: value.length ? value : null },
    ...(value.length ? ["rays", "length"].map((key) => ({ do: "set", at: ["lay", lay.id, key], value: null })) : []),
  ], `a group of its own in ${lay.name || lay.id}`);
  const put = (k, key, value) => set(held.map((each, n) => (n === k ? { ...each, [key]: value } : each)));
  const far = Math.max(0, ...held.map((each) => each.dx_mm ?? 0));
  return el("details", { id: "members", open: held.length > 0 }, el("summary", {}, "A group of your own"),
    el("p", { class: "quiet" }, "Each piece by mm from the group's middle, ahead along its line and to the right of it; in place of flower, cross or burst."),
    held.map((member, k) => el("fieldset", {}, el("legend", {}, `Piece ${k + 1}`),
      el("span", { class: "row" },
        el("select", { "aria-label": `Piece ${k + 1} is`, onchange: (event) => put(k, "piece", Number(event.target.value)) }, codes.map((code, n) => el("option", { value: String(n + 1), selected: n + 1 === (member.piece ?? 1) }, code))),
        PARTS.map(([key, words]) => el("label", {}, `${words} `, el("input", { type: "number", step: "any", min: -1000, max: 1000, value: member[key] ?? 0, "data-key": `member ${k} ${key}`, onchange: (event) => put(k, key, Number(event.target.value)) }))),
        button("×", () => set(held.filter((_each, n) => n !== k)), { "aria-label": `Without piece ${k + 1} of the group` })))),
    el("div", { class: "row" }, button("One piece more", () => set([...held, held.length ? { piece: 1, dx_mm: far + 6 } : { piece: 1 }]))));
}
