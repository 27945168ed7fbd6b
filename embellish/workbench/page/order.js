// The order: what holds for all of it, in the words of the shop; each change one step in the job file.

import { el } from "/page/el.js";
import { field } from "/page/fields.js";
import { store, change } from "/page/store.js";

export function orderPanel() {
  return [
    el("h2", {}, "The order"),
    el("p", { class: "quiet" }, "What holds for the whole job. What is left empty is not known or as usual; rarer settings stay as the job file has them."),
    ...store.ways.order.map((section, number) => el("details", { id: `order-${section.key || "all"}`, open: !number },
      el("summary", {}, section.label), section.controls.map(control))),
  ];
}

const held = (at) => at.reduce((table, key) => table?.[key], store.state.job);

function control(each) {
  const value = held(each.at);
  if (each.kind !== "text" && value !== null && typeof value === "object" && each.kind !== "pair") {
    return el("p", { class: "quiet" }, `${each.label}: ${JSON.stringify(value)}, as written in the job file.`);
  }
  return field(each, value, (put) => change([
    { do: "set", at: each.at, value: put },
    ...(put === null ? [] : each.instead_of.map((at) => ({ do: "set", at, value: null }))),
  ], `${each.label.toLowerCase()}`));
}
