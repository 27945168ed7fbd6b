// One control a setting: what it does to the stones, its range, and what holds where it is empty.

import { el, resting } from "/page/el.js";

let serial = 0;

// `put` takes the new value, null where nothing is said.
export function field(control, value, put) {
  const id = `f${(serial += 1)}`;
  const wrong = el("small", { class: "wrong", role: "alert" });
  const later = resting(put, 220);
  let input;
  if (control.kind === "yes-no") {
    input = el("input", { id, type: "checkbox", checked: Boolean(value ?? control.default), onchange: () => put(input.checked === Boolean(control.default) && value === undefined ? null : input.checked) });
  } else if (control.kind === "choice") {
    const usual = control.optional || control.default === null ? [el("option", { value: "" }, "as usual")] : [];
    input = el("select", { id, onchange: () => put(input.value === "" ? null : input.value) }, usual, control.choices.map((choice) =>
      el("option", { value: choice.value, selected: choice.value === (value ?? control.default) }, choice.words)));
    input.value = value ?? control.default ?? "";
  } else {
    const held = typeof value === "number" ? value : typeof control.default === "number" && value === undefined ? control.default : null;
    input = el("input", {
      id, type: "number", step: control.whole ? 1 : "any", min: control.least, max: control.most,
      placeholder: control.word?.words ?? (control.optional ? "as usual" : ""),
      oninput: () => {
        if (input.value === "" && !input.validity.badInput) {
          wrong.textContent = "";
          if (control.optional || control.word || control.default !== null) later(null);
          return;
        }
        const number = Number(input.value);
        const [least, most] = [control.least ?? -Infinity, control.most ?? Infinity];
        if (input.validity.badInput || number < least || number > most || (control.whole && !Number.isInteger(number))) {
          wrong.textContent = `A ${control.whole ? "whole " : ""}number from ${least} to ${most}${control.unit ? ` ${control.unit}` : ""}.`;
          return;
        }
        wrong.textContent = "";
        later(number);
      },
    });
    if (held !== null) input.value = String(held);
  }
  const told = el("small", { id: `${id}t` }, control.told);
  input.setAttribute("aria-describedby", `${id}t`);
  input.dataset.key = control.key;
  return el("div", { class: "field" },
    el("label", { for: id }, control.label, control.unit ? ` (${control.unit})` : ""), input, told, wrong);
}

const SIMPLE = new Set(["yes-no", "choice", "number"]);
export const simple = (control) => SIMPLE.has(control.kind);
