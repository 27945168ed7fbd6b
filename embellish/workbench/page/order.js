// The order: what holds for all of it, in the words of the shop; each change one step in the job file.

import { el, button } from "/page/el.js";
import { field } from "/page/fields.js";
import { photoPlace } from "/page/photo.js";
import { pictureFor } from "/page/picture.js";
import { store, change } from "/page/store.js";

export function orderPanel() {
  return [
    el("h2", {}, "The order"),
    el("p", { class: "quiet" }, "What holds for the whole job. What is left empty is not known or as usual; rarer settings stay as the job file has them."),
    ...store.ways.order.map((section, number) => el("details", { id: `order-${section.key || "all"}`, open: !number },
      el("summary", {}, section.label), section.key === "background" ? garment(section) : section.controls.map(control))),
  ];
}

// The photo first: where it lies means nothing without one.
function garment(section) {
  const photo = store.state.job.background;
  const byPoints = photo?.points_px;
  return [
    pictureFor("background", "", photo?.file, "A photo of the garment", "JPEG or PNG; it lies behind the pieces here and in the proof. Nothing is measured from it."),
    ...(photo ? section.controls.filter((each) => !byPoints || !["width_mm", "offset_mm"].includes(each.key)).map(control) : []),
    photo ? photoPlace(photo) : null,
    photo ? el("div", { class: "row" }, button("Without the photo", () => change([{ do: "set", at: ["background"], value: null }], "without the photo"))) : null,
  ].filter(Boolean);
}

const held = (at) => at.reduce((table, key) => table?.[key], store.state.job);

// Lengths side by side are a size in mm; a table says what holds for what.
const plainly = (value) => Array.isArray(value) ? `${value.join(" × ")} mm` : Object.entries(value).map(([key, each]) => `${key} ${each}`).join(", ");

function control(each) {
  const value = held(each.at);
  if (each.kind !== "text" && value !== null && typeof value === "object" && each.kind !== "pair") {
    return el("p", { class: "quiet" }, `${each.label}: ${plainly(value)}, as written in the job file.`);
  }
  return field(each, value, (put) => change([
    { do: "set", at: each.at, value: put },
    ...(put === null ? [] : each.instead_of.map((at) => ({ do: "set", at, value: null }))),
  ], `${each.label.toLowerCase()}`));
}
