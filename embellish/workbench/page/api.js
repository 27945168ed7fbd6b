// What the page asks of the workbench. An answer that refuses is thrown with its one sentence.

export class Refused extends Error {}

async function answer(response) {
  if (response.status === 204) return null;
  if (response.status === 422) {
    const { error } = await response.json();
    throw new Refused(error.words);
  }
  if (!response.ok) throw new Refused(await response.text() || `The workbench said ${response.status}.`);
  return response.json();
}

export const get = async (path) => answer(await fetch(path));

export const post = async (path, asked = {}) => answer(await fetch(path, {
  method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(asked),
}));

export const send = async (path, body) => answer(await fetch(path, { method: "POST", body }));

const WORD = 0x54414553; // "SEAT", as its bytes are read

// A layout and its seats; columns are views of the bytes, and the facts after them are parsed.
export async function drawing(from = "/api/layout") {
  const response = await fetch(from);
  if (response.status !== 200) return answer(response);
  const bytes = await response.arrayBuffer();
  const head = new Int32Array(bytes, 0, 8);
  if (head[0] !== WORD || head[1] !== 2) throw new Refused("This page is older than the workbench: load it again.");
  const [m, n] = [head[3], head[4]];
  let at = 32;
  const take = (Kind, count) => {
    const column = new Kind(bytes, at, count);
    at += count * Kind.BYTES_PER_ELEMENT;
    return column;
  };
  const seats = {
    number: head[2], draft: Boolean(head[5]), m, n,
    xy: take(Float64Array, 2 * m), angle: take(Float32Array, m), piece: take(Int32Array, m),
    seat: take(Int32Array, m), lay: take(Int32Array, n), twin: take(Int32Array, n),
    hand: take(Int32Array, n),
  };
  return { seats, layout: JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, at, head[6]))) };
}

export function listen(kinds, heard) {
  const source = new EventSource("/api/events");
  for (const kind of kinds) source.addEventListener(kind, (event) => heard(kind, JSON.parse(event.data)));
  source.onerror = () => heard("away", {});
  source.onopen = () => heard("here", {});
  return source;
}
