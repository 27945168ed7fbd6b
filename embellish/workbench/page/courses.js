// What a lay goes by: thinning out, a mix that changes, a picture that its pieces show.

import { el, button } from "/page/el.js";
import { field } from "/page/fields.js";
import { pictureFor } from "/page/picture.js";
import { store, change, tell } from "/page/store.js";

let waiting = ""; // the table for which a picture is to be chosen

const codesOf = (lay) => (Array.isArray(lay.pieces) ? lay.pieces : Object.keys(lay.pieces));

export function coursePanel(lay) {
  return Object.entries(store.ways.courses).filter(([, held]) => held.ways.includes(lay.way)).map(([table, held]) => {
    const now = lay[table];
    return el("details", { id: `course-${table}`, open: Boolean(now) }, el("summary", {}, held.label), el("p", { class: "quiet" }, held.told),
      table === "mosaic" ? mosaic(lay, held) : course(lay, table, held));
  });
}

const put = (lay, table, value, words) => change([
  { do: "set", at: ["lay", lay.id, table], value },
  // What goes by a picture or a course has no shares of its own.
  ...(value ? store.ways.courses[table].instead_of : []).filter((key) => key in lay).map((key) => ({ do: "set", at: ["lay", lay.id, key], value: null })),
  ...(value && table !== "fade" && !Array.isArray(lay.pieces) ? [{ do: "set", at: ["lay", lay.id, "pieces"], value: codesOf(lay) }] : []),
], words);

function course(lay, table, held) {
  const now = lay[table], name = `${held.label.toLowerCase()}: ${lay.name || lay.id}`;
  const [kinds, ...controls] = held.controls;
  const key = `${lay.id} ${table}`;
  const kind = waiting === key ? "picture" : now ? now.kind ?? kinds.default : "";
  const pick = el("select", { id: `${table}-kind`, onchange: () => {
    waiting = pick.value === "picture" ? key : "";
    if (pick.value === "picture") tell("step");
    else put(lay, table, pick.value ? begun(lay, table, pick.value) : null, name);
  } }, el("option", { value: "" }, "no"), kinds.choices.map((each) => el("option", { value: each.value, selected: each.value === kind }, each.words)));
  const set = (control) => (value) => change([{ do: "set", at: ["lay", lay.id, table, control.key], value }], name);
  const fitting = now && kind === (now.kind ?? kinds.default);
  return [
    el("div", { class: "field" }, el("label", { for: `${table}-kind` }, kinds.label), pick, el("small", {}, kinds.told)),
    kind === "picture" ? pictureFor(table, lay.id, now?.picture, "The picture", "PNG or JPEG; its darkest is the beginning, its lightest the end.") : null,
    kind === "picture" && fitting ? placing(lay, table) : null,
    ...(fitting ? controls.filter((each) => !each.only || each.only.includes(kind)).map((each) => field({ ...each, at: ["lay", table, each.key] }, now[each.key], set(each))) : []),
    table === "blend" && fitting ? mixes(lay, name) : null,
  ].filter(Boolean);
}

// A course to begin with: across the drawing, from its left, or from its middle.
function begun(lay, table, kind) {
  const [wide, high] = store.layout.page_mm.map((mm) => Number(mm.toFixed(2)));
  const held = lay[table] ?? {};
  const kept = Object.fromEntries(["reverse", "least", "mixes"].filter((key) => key in held).map((key) => [key, held[key]]));
  const codes = codesOf(lay);
  if (table === "blend") kept.mixes ??= [{ [codes[0]]: 1 }, { [codes.at(-1)]: 1 }];
  if (kind === "edge") return { kind, ...kept };
  return { kind, from_mm: [kind === "point" ? wide / 2 : 0, high / 2], to_mm: [wide, high / 2], ...kept };
}

function mixes(lay, name) {
  const held = lay.blend.mixes, codes = codesOf(lay);
  const set = (value) => change([{ do: "set", at: ["lay", lay.id, "blend", "mixes"], value }], name);
  const where = (k) => (k === 0 ? "At the beginning" : k === held.length - 1 ? "At the end" : `Between, ${k}`);
  return el("div", {}, held.map((mix, k) => el("fieldset", {}, el("legend", {}, where(k)),
    codes.map((code) => el("span", { class: "chip" }, code, el("input", { type: "number", min: 0, step: "any", value: mix[code] ?? 0, "aria-label": `Share of ${code}, ${where(k).toLowerCase()}`, onchange: (event) => {
      const { [code]: _old, ...rest } = mix;
      const share = Number(event.target.value);
      const next = share > 0 ? { ...rest, [code]: share } : rest;
      if (Object.keys(next).length) set(held.map((each, n) => (n === k ? next : each))); else tell("step");
    } }))),
    held.length > 2 ? button("Without this one", () => set(held.filter((_each, n) => n !== k)), { "aria-label": `Without the mix ${where(k).toLowerCase()}` }) : null)),
  el("div", { class: "row" }, button("One more between", () => set([...held.slice(0, -1), held.at(-2), held.at(-1)]), { disabled: held.length >= 20 })));
}

function mosaic(lay, held) {
  const now = lay.mosaic, name = `a picture in ${lay.name || lay.id}`;
  const put1 = (key, value) => change([{ do: "set", at: ["lay", lay.id, "mosaic", key], value }], name);
  const cloth = store.layout?.cloth;
  return [
    pictureFor("mosaic", lay.id, now?.picture, "The picture", "PNG or JPEG; it covers the shapes unless you place it."),
    ...(now ? [
      placing(lay, "mosaic"),
      ...held.controls.map((each) => field({ ...each, at: ["lay", "mosaic", each.key] }, now[each.key], (value) => put1(each.key, value))),
      field({ key: "bare", at: ["lay", "mosaic", "bare"], kind: "yes-no", label: "The cloth shows for its own colour", told: "Where the picture is like the cloth, no piece is set.", default: false }, Boolean(now.bare), (value) => put1("bare", value ? cloth : null)),
      el("div", { class: "row" }, button("Without the picture", () => put(lay, "mosaic", null, name))),
    ] : []),
  ];
}

// Where a picture lies: all three numbers, or none, and it covers the shapes.
function placing(lay, table) {
  const now = lay[table];
  const wrong = el("small", { class: "wrong", role: "alert" });
  const made = [["From the left", now.at_mm?.[0]], ["From the top", now.at_mm?.[1]], ["Wide", now.width_mm]].map(([words, value]) => el("label", {}, `${words} `, el("input", { type: "number", step: "any", value: value ?? "", "data-key": `${table} ${words}`, onchange: () => {
    const typed = made.map((each) => each.querySelector("input").value);
    const some = typed.some((each) => each !== "");
    wrong.textContent = some && typed.some((each) => each === "") ? "All three, or none." : some && Number(typed[2]) <= 0 ? "Wide: above 0 mm." : "";
    if (wrong.textContent) return;
    const numbers = typed.map(Number);
    change([{ do: "set", at: ["lay", lay.id, table, "at_mm"], value: some ? numbers.slice(0, 2) : null }, { do: "set", at: ["lay", lay.id, table, "width_mm"], value: some ? numbers[2] : null }], "placed a picture");
  } })));
  return el("div", { class: "field wide" }, el("span", {}, "Where it lies (mm)"), el("span", { class: "row" }, made), el("small", {}, "Left empty, it covers the shapes, its middle on theirs."), wrong);
}
