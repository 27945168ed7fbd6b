// What the page knows, and who wants to hear of it. One way in, one way out.

import { get, post, drawing, listen, Refused } from "/page/api.js";

export const store = {
  state: null, layout: null, facts: null, seats: null, ways: null,
  step: "where", lay: null, shapes: new Set(), chosen: new Set(), hidden: new Set(),
  locked: new Set(), view: "pieces", evening: false, stop: 0, busy: "", share: 0, here: true,
};

const hearers = new Set();
export const hear = (heard) => hearers.add(heard);
export function tell(what) {
  if (what === "chosen") awaited = null; // what is chosen, or let go, during a draft counts
  for (const heard of hearers) heard(what);
}

const notes = document.getElementById("told");
export function say(words, wrong = false) {
  const note = document.createElement("div");
  note.className = wrong ? "note wrong" : "note";
  const text = document.createElement("p");
  text.textContent = words;
  const close = document.createElement("button");
  close.type = "button";
  close.textContent = "Close";
  close.addEventListener("click", () => note.remove());
  note.append(text, close);
  notes.append(note);
  if (!wrong) setTimeout(() => note.remove(), 6000);
}

// Do something that may be refused; what is refused is said, and nothing else happens.
export async function attempt(deed) {
  try {
    return await deed();
  } catch (wrong) {
    say(wrong instanceof Refused ? wrong.message : `The workbench does not answer: ${wrong.message}`, true);
    return undefined;
  }
}

export function take(state) {
  if (!state) return;
  if (store.state && state.number < store.state.number && state.file === store.state.file) return;
  const other = !store.state || store.state.file !== state.file;
  store.state = state;
  if (other) {
    Object.assign(store, { layout: null, facts: null, seats: null, lay: null });
    awaited = null;
    store.shapes.clear();
    store.chosen.clear();
    recall();
  }
  const lays = state.job?.lay ?? [];
  if (!lays.some((lay) => lay.id === store.lay)) store.lay = lays[0]?.id ?? null;
  tell("state");
}

// What a lay is called, by its id.
export const called = (id) => store.state?.job?.lay?.find((lay) => lay.id === id)?.name || id;

// A sentence with the lays it names called so too: lay 'edge', lays 'edge' and 'fill'.
export const named = (text) => text.replace(/\blays? '[^']+'(?:(?:, | and )'[^']+')*/g, (part) => part.replace(/'([^']+)'/g, (_, id) => `‘${called(id)}’`));

// Hidden and locked lays are how this page looks at a job, not part of it.
const key = () => `bench:${store.state?.file}`;
function recall() {
  let held = {};
  try { held = JSON.parse(localStorage.getItem(key()) ?? "{}"); } catch { held = {}; }
  store.hidden = new Set(held.hidden ?? []);
  store.locked = new Set(held.locked ?? []);
}
export function remember() {
  localStorage.setItem(key(), JSON.stringify({ hidden: [...store.hidden], locked: [...store.locked] }));
}

// A change that this page makes: the answer to it is the state that came of it.
let making = Promise.resolve();
export async function makes(path, asked) {
  making = post(path, asked);
  take(await making);
}

export const change = (changes, words) => attempt(() =>
  makes("/api/changes", { number: store.state.number, words, changes }));

export const setLay = (id, name, value, words) =>
  change([{ do: "set", at: ["lay", id, name], value }], words);

export const touch = (deed, words, more = {}) => attempt(async () => {
  if (!store.chosen.size || store.seats?.draft) return;
  await makes("/api/touch", {
    number: store.seats.number, rows: [...store.chosen], do: deed, words, ...more,
  });
});

let wanted = 0, asked = 0, drawn = 0, awaited = null;
async function fetchLayout(number) {
  wanted = Math.max(wanted, number);
  const turn = asked += 1;
  const found = await drawing();
  if (!found || found.seats.number < wanted || turn < drawn) return; // a newer one is there, or on its way
  drawn = turn;
  const places = awaited && !store.chosen.size ? awaited : chosenPlaces();
  Object.assign(store, found);
  // A draft is not what was touched: what is in hand waits for the layout that follows it.
  awaited = found.seats.draft ? places : null;
  chooseAgain(found.seats.draft ? [] : places);
  tell("layout");
}

// What was in hand stays in hand where a piece stands at its place, or where it was moved to.
let moved = [0, 0];
export const expectMove = (dx, dy) => { moved = [dx, dy]; };
function chosenPlaces() {
  const old = store.seats;
  if (!old) return [];
  const first = firstOf(old);
  return [...store.chosen].map((row) => {
    const k = first[row];
    return [old.xy[2 * k] + moved[0], old.xy[2 * k + 1] + moved[1], old.lay[row]];
  });
}
export function firstOf(columns) {
  if (!columns.first) {
    columns.first = new Int32Array(columns.n).fill(-1);
    for (let k = columns.m - 1; k >= 0; k -= 1) columns.first[columns.seat[k]] = k;
  }
  return columns.first;
}
function chooseAgain(places) {
  store.chosen.clear();
  moved = [0, 0];
  if (!places.length || places.length > 400) return;
  const { n, xy, lay } = store.seats;
  const first = firstOf(store.seats);
  for (const [x, y, of] of places) {
    let best = -1, least = 0.25;
    for (let row = 0; row < n; row += 1) {
      if (lay[row] !== of) continue;
      const k = first[row];
      const away = (xy[2 * k] - x) ** 2 + (xy[2 * k + 1] - y) ** 2;
      if (away < least) [best, least] = [row, away];
    }
    if (best >= 0) store.chosen.add(best);
  }
}

async function hearOfState(number) {
  if (number > store.state.number) {
    await making.catch(() => {}); // of what this page does itself the answer is on its way
    if (store.state.number >= number) return;
  }
  take(await get("/api/state"));
}

async function fetchFacts() {
  const facts = await get("/api/facts");
  if (facts) store.facts = facts;
  tell("facts");
}

export async function begin() {
  store.ways = await get("/api/ways");
  take(await get("/api/state"));
  await fresh();
  listen(["state", "laid", "checked", "progress", "closed"], async (kind, held) => {
    if (kind === "away" || kind === "closed") { store.here = false; tell("here"); return; }
    if (kind === "here") {
      if (!store.here) { store.here = true; take(await get("/api/state")); await fresh(); }
      tell("here");
      return;
    }
    await attempt(async () => {
      if (kind === "progress") { store.share = held.share; store.busy = held.share ? `${held.words}: ${Math.round(100 * held.share)} %` : held.words; tell("busy"); }
      if (kind === "state") await hearOfState(held.number);
      if (kind === "laid") await fetchLayout(held.number);
      if (kind === "checked") { store.busy = ""; take(await get("/api/state")); await fetchFacts(); tell("busy"); }
    });
  });
}

export async function fresh() {
  const { laid, checked } = store.state;
  if (laid !== null && laid !== undefined) await fetchLayout(laid);
  if (checked) await fetchFacts();
}
