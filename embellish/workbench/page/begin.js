// Begin: a job of the folder or from elsewhere, a drawing, words, or the example.
// What was chosen is looked at first: its size, and what it or its font lacks, is told before anything is made.

import { get, post, send } from "/page/api.js";
import { el, button, resting } from "/page/el.js";
import { store, tell, attempt, take, fresh } from "/page/store.js";

const DRAWINGS = ".svg,.dxf,.dst,.exp,.pes,.jef,.vp3,.vip,.hus,.xxx,.sew,.pec,.u01,.png,.jpg,.jpeg";
const FONTS = ".ttf,.otf,.woff,.woff2";
const held = { what: "drawing", drawing: null, width: "", text: "", font: "single-line:futural", ownFont: null, high: "40", catalogue: "shipped:stones", ownPieces: null, look: null, wrong: "", wait: false };
const repaint = () => tell("begin");

async function handIn(file) {
  return send(`/api/hand-in?${new URLSearchParams({ name: file.name })}`, file);
}

// One look at a time is the newest; what comes late is dropped.
let looks = 0;
async function look() {
  const mine = (looks += 1);
  held.wrong = "";
  const words = held.what === "words";
  if (words ? !held.text.trim() || !(Number(held.high) > 0) : !held.drawing) { held.look = null; repaint(); return; }
  held.wait = true;
  try {
    const found = words
      ? await post("/api/look/words", { text: held.text, font: held.font, cap_height_mm: Number(held.high) })
      : await post("/api/look/drawing", { drawing: held.drawing.key, width_mm: Number(held.width) || 0 });
    if (mine === looks) held.look = found;
  } catch (wrong) {
    if (mine === looks) { held.look = null; held.wrong = wrong.message; }
  }
  if (mine === looks) { held.wait = false; repaint(); }
}
const lookLater = resting(look, 250);

export async function bring(files) {
  const every = [...files];
  if (!every.length) return;
  if (every.some((file) => /\.(toml|zip)$/i.test(file.name))) { await attempt(() => bringJob(every)); return; }
  const font = every.find((file) => /\.(ttf|otf|woff2?)$/i.test(file.name));
  await attempt(async () => {
    if (font) {
      held.ownFont = await handIn(font);
      Object.assign(held, { what: "words", font: held.ownFont.key });
    } else {
      // At once, not when the file is in: a width may be typed meanwhile.
      held.width = "";
      held.drawing = await handIn(every[0]);
      held.what = "drawing";
    }
    await look();
    document.getElementById(font ? "text" : "wide")?.focus();
  });
}

async function bringJob(files) {
  const keys = [];
  for (const file of files) keys.push((await handIn(file)).key);
  await opened(await post("/api/begin/brought", { files: keys }));
}

async function start() {
  const more = { catalogue: held.catalogue };
  const state = held.what === "words"
    ? await post("/api/begin/words", { text: held.text, font: held.font, cap_height_mm: Number(held.high), ...more })
    : await post("/api/begin/drawing", { drawing: held.drawing.key, width_mm: Number(held.width) || 0, ...more });
  await opened(state);
}

async function opened(state) {
  Object.assign(held, { drawing: null, width: "", text: "", look: null, wrong: "" });
  store.state = null;
  take(state ?? await get("/api/state"));
  store.step = "where";
  tell("step");
  await fresh();
}

const pick = (id, words, accept, chosen, more = {}) => {
  const file = el("input", { type: "file", id, class: "file", accept, onchange: () => file.files.length && chosen(file.files), ...more });
  return el("span", { class: "pick" }, file, el("label", { for: id }, words));
};

export function beginPanel(words) {
  const { jobs } = store.state;
  return [
    el("h2", {}, words),
    jobs.length ? el("section", { "aria-label": "Go on with" }, el("h3", {}, "Go on with"),
      el("div", { class: "list" }, el("ul", { class: "plain" }, jobs.map((job) => el("li", {}, button(job.replace(/\.toml$/, ""), () => attempt(async () => opened(await post("/api/open", { job }))), { "aria-pressed": String(job === store.state.opened) })))))) : null,
    el("div", { class: "row", role: "group", "aria-label": "Begin with" },
      ...[["drawing", "A drawing"], ["words", "A name"]].map(([key, said]) => button(said, () => { Object.assign(held, { what: key, look: null, wrong: "" }); look(); repaint(); }, { "aria-pressed": String(held.what === key) }))),
    ...(held.what === "words" ? ofWords() : ofDrawing()),
    ...found(),
    pieces(),
    button("Begin", () => attempt(start), { class: "main wide", id: "start", disabled: !held.look || !held.look.sized || !held.look.count || held.wait }),
    why(),
    el("h3", {}, "Or"),
    el("div", { class: "row" },
      button("Open the moth on denim (an invented example)", () => attempt(async () => opened(await post("/api/demo")))),
      pick("job", "Bring a job from elsewhere", ".toml,.zip,.svg,.dxf,.png,.jpg,.jpeg,.ttf,.otf,.woff,.woff2", (files) => bring(files), { multiple: true })),
    el("p", { class: "quiet" }, "A job file together with the files it names, or a bundle (.zip)."),
  ];
}

function ofDrawing() {
  const drop = el("div", { class: "drop" },
    el("p", {}, held.drawing ? el("b", {}, held.drawing.name) : "Drop a drawing here"),
    pick("file", held.drawing ? "Choose another drawing" : "Choose a drawing", DRAWINGS, (files) => bring(files)),
    el("p", { class: "quiet" }, "SVG, DXF, a stitch file, or a picture (PNG, JPEG)"));
  const width = el("input", { id: "wide", type: "number", min: 1, max: 100000, step: "any", value: held.width, placeholder: held.look?.sized && !held.width ? String(held.look.width_mm) : "",
    oninput: () => { held.width = width.value; lookLater(); } });
  return [
    dropping(drop),
    el("div", { class: "field" }, el("label", { for: "wide" }, "Its width (mm)"), width,
      el("small", {}, held.look && !held.look.sized ? "This drawing does not say how large it is: say how wide it shall be." : "Left empty, the width the drawing gives, where it gives one.")),
  ];
}

function ofWords() {
  const text = el("textarea", { id: "text", rows: 2, maxLength: 200, value: held.text, placeholder: "Ana", oninput: () => { held.text = text.value; lookLater(); } });
  const high = el("input", { id: "high", type: "number", min: 3, max: 1000, step: "any", value: held.high, oninput: () => { held.high = high.value; lookLater(); } });
  const font = el("select", { id: "letters", onchange: () => { held.font = font.value; look(); } },
    held.ownFont ? el("option", { value: held.ownFont.key, selected: held.font === held.ownFont.key }, held.ownFont.name) : null,
    store.state.letters.map((each) => el("option", { value: each.value, selected: held.font === each.value }, `single lines: ${each.words}`)));
  return [
    el("div", { class: "field wide" }, el("label", { for: "text" }, "Words"), text),
    el("div", { class: "field wide" }, el("label", { for: "letters" }, "Letters"), font,
      pick("font", "A font file of mine", FONTS, (files) => bring(files)),
      el("small", {}, "Letters of a font have an outline and can be filled; single lines take one row of stones.")),
    el("div", { class: "field" }, el("label", { for: "high" }, "Capitals (mm high)"), high),
  ];
}

function pieces() {
  const own = held.ownPieces;
  const choose = el("select", { id: "catalogue", onchange: () => { held.catalogue = choose.value; repaint(); } },
    own ? el("option", { value: own.key, selected: held.catalogue === own.key }, own.name) : null,
    store.state.catalogues.map((name) => el("option", { value: name, selected: held.catalogue === name }, name.replace("shipped:", ""))));
  return el("div", { class: "field wide" }, el("label", { for: "catalogue" }, "Pieces from"), choose,
    pick("pieces", "A list of mine", ".toml", (files) => attempt(async () => {
      const { key, name } = await handIn(files[0]);
      held.ownPieces = { key, name, ...await post("/api/look/catalogue", { catalogue: key }) };
      held.catalogue = key;
      repaint();
    })),
    el("small", { role: "status" }, own && held.catalogue === own.key ? `${own.count} pieces: ${Object.entries(own.kinds).map(([kind, count]) => `${count} ${kind}`).join(", ")}` : "Those that come with it have invented prices; a list of yours is a catalogue file (.toml)."));
}

function why() {
  const { look: seen } = held;
  const words = seen && !seen.sized ? "Give the width first." : seen && !seen.count ? "There is nothing in it to set pieces on." : held.what === "words" ? (seen ? "" : "Type the words first.") : seen ? "" : "Choose a drawing first.";
  return words && !held.wrong ? el("p", { class: "quiet" }, words) : null;
}

// The drawing small, its size, and each thing that was not understood or is lacking.
function found() {
  const { look: seen, wrong } = held;
  if (wrong) return [el("p", { class: "finding error", role: "alert" }, el("b", {}, "✕ "), wrong)];
  if (!seen) return [];
  const size = seen.sized ? `${seen.width_mm.toFixed(1)} × ${seen.height_mm.toFixed(1)} mm` : "size unknown";
  const open = seen.count - seen.closed;
  return [el("section", { "aria-label": "What was read" },
    thumb(seen),
    el("p", { role: "status", id: "read" }, `${size}, ${seen.count} shape${seen.count === 1 ? "" : "s"}${seen.count ? ` (${[seen.closed ? `${seen.closed} closed` : "", open ? `${open} open` : ""].filter(Boolean).join(", ")})` : ""}`),
    ...seen.findings.filter((each) => each.code !== "no-physical-size").map((each) => el("div", { class: `finding ${each.severity}` },
      el("b", {}, { error: "✕ ", warning: "! ", note: "· " }[each.severity]), each.message, each.mend ? el("p", { class: "quiet" }, each.mend) : null)))];
}

function thumb({ shapes, bounds_mm: [x0, y0, x1, y1] }) {
  const SVG = "http://www.w3.org/2000/svg";
  const [w, h] = [Math.max(x1 - x0, 1e-3), Math.max(y1 - y0, 1e-3)];
  const picture = document.createElementNS(SVG, "svg");
  const margin = 0.03 * Math.max(w, h);
  picture.setAttribute("viewBox", [x0 - margin, y0 - margin, w + 2 * margin, h + 2 * margin].join(" "));
  picture.setAttribute("class", "thumb");
  picture.setAttribute("aria-hidden", "true");
  for (const shape of shapes) {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", shape.d);
    path.setAttribute("class", shape.closed ? "closed" : "open");
    path.setAttribute("fill-rule", shape.rule);
    picture.append(path);
  }
  return picture;
}

function dropping(drop) {
  drop.addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    event.stopPropagation();
    drop.classList.remove("over");
    bring(event.dataTransfer.files);
  });
  return drop;
}

// A file let go anywhere on the page begins with it, and never leaves the page.
document.addEventListener("dragover", (event) => { if (event.dataTransfer?.types.includes("Files")) event.preventDefault(); });
document.addEventListener("drop", (event) => {
  if (!event.dataTransfer?.files.length) return;
  event.preventDefault();
  store.step = "where";
  tell("step");
  bring(event.dataTransfer.files);
});
