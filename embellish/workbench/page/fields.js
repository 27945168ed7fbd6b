// One control a setting: what it does to the stones, its range, and what holds where it is empty.

import { el, resting } from "/page/el.js";

let serial = 0;

// `put` takes the new value, null where nothing is said.
export function field(control, value, put) {
  const id = `f${(serial += 1)}`;
  const wrong = el("small", { class: "wrong", role: "alert" });
  const input = (MADE[control.kind] ?? number)(control, value, put, wrong, id);
  const entry = input.matches("input, select, textarea") ? input : input.querySelector("input");
  entry.id = id;
  entry.setAttribute("aria-describedby", `${id}t`);
  entry.dataset.key = (control.at ?? [control.key]).join(".");
  return el("div", { class: control.long || control.kind === "pair" ? "field wide" : "field" },
    el("label", { for: id }, control.label, control.unit ? ` (${control.unit})` : ""), input, el("small", { id: `${id}t` }, control.told), wrong);
}

const MADE = { "yes-no": yesNo, choice, text, colour, pair };

function yesNo(control, value, put) {
  const input = el("input", { type: "checkbox", checked: Boolean(value ?? control.default), onchange: () => put(input.checked === Boolean(control.default) && value === undefined ? null : input.checked) });
  return input;
}

function choice(control, value, put) {
  const choices = [...control.choices];
  if (value !== undefined && value !== null && !choices.some((each) => each.value === value)) choices.push({ value, words: String(value) });
  const usual = control.optional || control.default === null;
  const input = el("select", { onchange: () => put(input.value === "usual" ? null : choices[Number(input.value)].value) },
    usual ? el("option", { value: "usual" }, control.unsaid ?? "as usual") : null,
    choices.map((each, k) => el("option", { value: String(k) }, each.words)));
  const now = choices.findIndex((each) => each.value === (value ?? control.default));
  input.value = now < 0 ? "usual" : String(now);
  return input;
}

function text(control, value, put) {
  return el(control.long ? "textarea" : "input", {
    maxLength: control.most_letters, value: value ?? "", placeholder: control.default || "", rows: control.long ? 3 : null,
    onchange: (event) => put(event.target.value.trim() === "" ? null : event.target.value),
  });
}

function colour(control, value, put) {
  return el("input", { type: "color", value: value ?? control.default, onchange: (event) => put(event.target.value) });
}

// What a number may be, in words; empty where it may be this one.
function misfit(control, shown, bad) {
  const by = control.percent ? 100 : 1;
  const [least, most] = [(control.least ?? -Infinity) * by, (control.most ?? Infinity) * by];
  const low = control.above ? shown <= least : shown < least, high = control.below ? shown >= most : shown > most;
  if (!bad && !low && !high && !(control.whole && !Number.isInteger(shown))) return "";
  const range = control.above || control.below
    ? `${control.above ? "above" : "from"} ${least} ${control.below ? "and below" : "to"} ${most}`
    : `from ${least} to ${most}`;
  return `A ${control.whole ? "whole " : ""}number ${range}${control.unit ? ` ${control.unit}` : ""}.`;
}

function number(control, value, put, wrong) {
  const by = control.percent ? 100 : 1;
  const later = resting(put, 220);
  const written = control.as_text && typeof value === "string" ? Number(value) : value;
  const held = typeof written === "number" ? written : typeof control.default === "number" && value === undefined ? control.default : null;
  const input = el("input", {
    type: "number", step: control.whole ? 1 : "any", min: (control.least ?? -Infinity) * by, max: (control.most ?? Infinity) * by,
    placeholder: control.word?.words ?? (control.optional ? control.unsaid ?? "as usual" : ""),
    oninput: () => {
      if (input.value === "" && !input.validity.badInput) {
        wrong.textContent = "";
        if (control.optional || control.word || control.default !== null) later(null);
        return;
      }
      wrong.textContent = misfit(control, Number(input.value), input.validity.badInput);
      if (!wrong.textContent && control.as_text) later(input.value);
      else if (!wrong.textContent) later(by === 1 ? Number(input.value) : Number((Number(input.value) / by).toFixed(8)));
    },
  });
  if (held !== null) input.value = String(Number((held * by).toFixed(6)));
  return input;
}

// Two lengths that are only of use together.
function pair(control, value, put, wrong) {
  const made = ["Across", "Down"].map((words, k) => el("input", {
    type: "number", step: "any", min: control.least, max: control.most, "aria-label": `${control.label}: ${words.toLowerCase()}`, placeholder: words,
    value: Array.isArray(value) ? value[k] : "", onchange: () => {
      wrong.textContent = "";
      const typed = made.map((each) => each.value);
      if (typed.every((each) => each === "")) { put(null); return; }
      if (typed.some((each) => each === "")) { wrong.textContent = "Both numbers, or neither."; return; }
      wrong.textContent = made.map((each) => misfit(control, Number(each.value), each.validity.badInput)).find(Boolean) ?? "";
      if (!wrong.textContent) put(typed.map(Number));
    },
  }));
  return el("span", { class: "row" }, made[0], " × ", made[1]);
}

const SIMPLE = new Set(["yes-no", "choice", "number"]);
export const simple = (control) => SIMPLE.has(control.kind);
