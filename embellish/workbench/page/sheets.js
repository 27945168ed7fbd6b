// Sheets over the picture: templates as they will be cut, and the pages of the chart.

import { get } from "/page/api.js";
import { el, button } from "/page/el.js";
import { store, hear, attempt } from "/page/store.js";

const KINDS = { templates: ["template", "cut"], pages: ["chart"] };
const stage = document.getElementById("stage");
const words = el("div", { class: "words" }), frame = el("div", { class: "frame", tabindex: 0, role: "region", "aria-label": "The sheet" });
const whole = el("div", { id: "sheets", hidden: true }, words, frame);
stage.append(whole);

let held = { number: 0, sheets: [] }, asking = 0, grown = 1;
const chosen = { templates: 0, pages: 0 };

export const showing = () => store.view in KINDS;
export function grow(by) { grown = by === null ? 1 : Math.min(12, Math.max(0.25, grown * by)); draw(); }

async function fetchSheets() {
  const { number } = store.state;
  if (asking === number || held.number === number) return;
  asking = number;
  const found = await attempt(() => get("/api/sheets"));
  asking = 0;
  if (found) { held = { number, ...found }; draw(); }
}

function draw() {
  whole.hidden = !showing();
  stage.classList.toggle("sheets", showing());
  if (!showing()) return;
  if (!store.facts || store.facts.number !== store.state.number) { words.replaceChildren(el("p", { role: "status" }, store.state.wrong ? "The job cannot be laid: see the note." : "Being planned …")); return; }
  if (held.number !== store.state.number) { fetchSheets(); return; }
  const all = held.sheets.map((sheet, which) => ({ ...sheet, which })).filter((sheet) => KINDS[store.view].includes(sheet.kind));
  chosen[store.view] = Math.min(chosen[store.view], Math.max(0, all.length - 1));
  const now = all[chosen[store.view]];
  if (!now) { frame.replaceChildren(); words.replaceChildren(el("p", { role: "status" }, "No piece of this job is set by a template.")); return; }
  const go = (to) => { chosen[store.view] = to; draw(); };
  const kept = whole.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  const at = chosen[store.view];
  words.replaceChildren(
    el("div", { class: "row" },
      button("◀", () => go(at - 1), { "aria-label": "The sheet before", "data-key": "before", disabled: !at }),
      el("select", { "aria-label": "Sheet shown", "data-key": "sheet", onchange: (event) => go(Number(event.target.value)) },
        all.map((sheet, number) => el("option", { value: String(number), selected: number === at }, `${sheet.thin ? "! " : ""}${sheet.name}`))),
      button("▶", () => go(at + 1), { "aria-label": "The next sheet", "data-key": "next", disabled: at === all.length - 1 })),
    el("p", { class: "quiet", role: "status" }, now.words.join(" · ")),
    ...[store.facts.stopped ? el("p", { class: "wrong" }, "✕ An error stands: not to be cut. See Check.") : null,
    now.kind === "chart" ? null : el("p", { class: "quiet key" }, el("span", { class: "cut" }, "red: holes"), el("span", { class: "trim" }, "blue: trim"), el("span", { class: "register" }, "green: registration"), now.thin ? el("span", { class: "thin" }, "◯ too thin") : null)].filter(Boolean));
  if (kept) words.querySelector(`[data-key="${kept}"]:not(:disabled)`)?.focus();
  const room = [Math.max(60, frame.clientWidth - 32), Math.max(60, frame.clientHeight - 32)];
  const scale = Math.min(room[0] / now.width_mm, room[1] / now.height_mm) * grown;
  const source = `/api/sheet?which=${now.which}&number=${held.number}&file=${encodeURIComponent(store.state.file)}`;
  let image = frame.querySelector("img");
  if (!image || !image.src.endsWith(source)) { image = el("img", { src: source }); frame.replaceChildren(image); }
  image.alt = `${now.name}: ${now.words.join(", ")}`;
  image.width = Math.round(now.width_mm * scale);
  image.height = Math.round(now.height_mm * scale);
}

frame.addEventListener("wheel", (event) => {
  if (!event.ctrlKey) return;
  event.preventDefault();
  grow(Math.exp(-event.deltaY * 0.0015));
}, { passive: false });
new ResizeObserver(draw).observe(stage);
hear((what) => { if (["look", "facts", "state", "layout"].includes(what)) draw(); });
