// The photo of the garment behind the layout; the workbench sends it faded and in its place.

import { store } from "/page/store.js";

let image = null, name = "";

export function drawPhoto(pen, draw) {
  const { photo, number } = store.layout;
  if (!photo) return false;
  const now = `/api/photo?number=${number}&file=${encodeURIComponent(store.state.file)}`;
  if (now !== name) {
    name = now;
    const made = new Image();
    made.onload = () => { if (name === now) { image = made; draw(); } };
    made.src = now;
  }
  if (image) pen.drawImage(image, photo.x, photo.y, photo.width, photo.height);
  return true;
}
