// Lines that are painted wide can be taken as the shapes they paint, and filled.

import { el, button } from "/page/el.js";
import { store, change } from "/page/store.js";

const meant = () => (store.layout?.shapes ?? []).filter((shape) => !store.shapes.size || store.shapes.has(shape.id));

// Which of the shapes that are meant can be filled: `all` where none of them is an open line.
export function fillable() {
  const every = meant(), closed = every.filter((shape) => shape.closed);
  return { ids: closed.map((shape) => shape.id), all: closed.length === every.length, open: every.filter((shape) => !shape.closed).map((shape) => shape.id) };
}

export const named = (id) => (/^[\w-]+$/.test(id) ? `#${id}` : `[id="${id}"]`);

export function painted() {
  const art = store.state.job.artwork;
  if (!art?.file) return null;
  if (art.as_painted) {
    return el("p", {}, el("span", { class: "quiet" }, `${art.as_painted === "*" ? "Lines are" : `${art.as_painted}:`} taken as wide as painted. `),
      button("Take them as lines again", () => change([{ do: "set", at: ["artwork", "as_painted"], value: null }], "took painted lines as lines")));
  }
  const lines = meant().filter((shape) => !shape.closed && shape.stroke);
  if (!lines.length) return null;
  const all = !store.shapes.size && lines.length === meant().length;
  return el("p", {}, button(lines.length === 1 ? `Take #${lines[0].id} as wide as it is painted` : `Take ${lines.length} lines as wide as they are painted`,
    () => change([{ do: "set", at: ["artwork", "as_painted"], value: all ? "*" : lines.map((shape) => named(shape.id)).join(", ") }], "took lines as wide as painted")),
  el("br"), el("small", { class: "quiet" }, "Then they can be filled; a row of stones runs round them."));
}
