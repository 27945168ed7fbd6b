// Fit to a budget: gaps widened by the least that does, seen as a draft before the job takes them.

import { drawing, post } from "/page/api.js";
import { el, button } from "/page/el.js";
import { store, called, tell, attempt, makes, fresh } from "/page/store.js";

const BUDGETS = [["count", "pieces, one garment"], ["cost", "cost of materials, all"], ["minutes", "minutes of work and machine, all"], ["stitches", "stitches, one garment"]];
let what = "count", most = {}, working = false, found = null;

const hidesCost = () => store.view === "customer";
const stale = () => !found || found.number !== store.state.number;

async function search() {
  if (!(Number(most[what]) > 0)) return;
  working = true;
  found = null;
  tell("step");
  await attempt(async () => {
    found = await post("/api/fit", { number: store.state.number, what, most: String(most[what]) });
    const drawn = await drawing(`/api/fit/layout?number=${found.number}`);
    if (!stale()) Object.assign(store, drawn);
  });
  working = false;
  store.busy = "";
  store.chosen.clear();
  tell("layout");
}

async function leave() {
  found = null;
  await fresh();
  tell("step");
}

const use = () => attempt(async () => {
  const { number } = found;
  found = null;
  await makes("/api/fit/use", { number });
});

export function fitPanel(facts) {
  const budgets = BUDGETS.filter(([key]) => key !== "cost" || (facts.figures.cost !== null && !hidesCost()));
  if (!budgets.some(([key]) => key === what)) what = "count";
  const now = Number(facts.figures[what]);
  const figure = el("input", { id: "budget", type: "number", min: 0, step: "any", value: most[what] ?? now, oninput: () => { most[what] = figure.value; if (slide) slide.value = figure.value; } });
  const slide = now ? el("input", { type: "range", id: "slide", min: now * 0.3, max: now, step: what === "cost" || what === "minutes" ? 0.01 : 1, value: most[what] ?? now, "aria-label": `At most, from ${Math.round(now * 0.3)} to ${now}`, oninput: () => { most[what] = slide.value; figure.value = slide.value; }, onchange: search, disabled: working }) : null;
  const kinds = el("select", { id: "budgetof", disabled: working, onchange: () => { what = kinds.value; tell("step"); } }, budgets.map(([key, words]) => el("option", { value: key, selected: key === what }, words)));
  return el("section", { "aria-label": "Fit to a budget" },
    el("h2", {}, "Fit to a budget"),
    el("p", { class: "quiet" }, "All gaps grow by the least that keeps to it; the job stays as it is until you use it."),
    el("div", { class: "field wide" }, el("label", { for: "budgetof" }, "What may not be exceeded"), kinds),
    el("div", { class: "field" }, el("label", { for: "budget" }, "At most"), figure),
    slide,
    el("div", { class: "row" }, button("Try it", search, { disabled: working }),
      working ? button("Stop", () => attempt(() => post("/api/fit/stop"))) : null),
    working ? el("p", { class: "quiet", role: "status", id: "fitting" }, store.busy || "Trying …") : null,
    found && !stale() ? outcome() : null);
}

function outcome() {
  const rows = [["count", "pieces"], ["cost", "cost"], ["minutes", "minutes"], ["stitches", "stitches"]].filter(([key]) => key !== "cost" || !hidesCost());
  const gaps = Object.entries(found.gaps_mm);
  const errors = found.after.errors;
  return el("div", { class: "finding" },
    el("p", { role: "status" }, gaps.length ? "The picture shows this as a draft." : "It keeps to that already; nothing has to change."),
    el("table", {}, el("thead", {}, el("tr", {}, ["", "now", "then"].map((head) => el("th", { scope: "col", class: "n" }, head)))),
      el("tbody", {}, rows.map(([key, words]) => el("tr", {}, el("th", { scope: "row" }, words), el("td", { class: "n" }, String(found.before[key] ?? "–")), el("td", { class: "n" }, String(found.after[key] ?? "–")))))),
    gaps.length ? el("p", { class: "quiet" }, `Gaps: ${gaps.map(([lay, gap]) => `${called(lay)} ${gap} mm`).join(", ")}`) : null,
    ...found.notes.map((note) => el("p", { class: "quiet" }, note)),
    errors ? el("p", {}, `✕ ${errors} error${errors > 1 ? "s" : ""} would stand then.`) : null,
    el("div", { class: "row" }, gaps.length ? button("Use it", use, { class: "main" }) : null, button("Leave it", leave)));
}
