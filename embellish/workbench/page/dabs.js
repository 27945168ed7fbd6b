// Pieces too small for facets, as dabs of colour put straight into pixels: tens of thousands in a
// few milliseconds, where as many calls of the pen would take a tenth of a second.

const STEPS = 4; // dabs begin at quarters of a pixel
const FINE = 8; // of each pixel, for the soft edge
const masks = new Map();

function maskOf(radius) {
  const r = Math.max(0.5, Math.round(radius * 4) / 4);
  if (masks.has(r)) return masks.get(r);
  const size = Math.ceil(2 * r) + 2;
  const held = { size, half: size / 2, cover: [] };
  for (let sub = 0; sub < STEPS * STEPS; sub += 1) {
    const cx = size / 2 + (sub % STEPS) / STEPS, cy = size / 2 + Math.floor(sub / STEPS) / STEPS;
    const cover = new Uint8Array(size * size);
    for (let j = 0; j < size * FINE; j += 1) {
      for (let i = 0; i < size * FINE; i += 1) {
        const dx = (i + 0.5) / FINE - cx, dy = (j + 0.5) / FINE - cy;
        if (dx * dx + dy * dy <= r * r) cover[Math.floor(j / FINE) * size + Math.floor(i / FINE)] += 1;
      }
    }
    held.cover.push(cover.map((count) => Math.min(255, Math.round((count * 255) / (FINE * FINE)))));
  }
  masks.set(r, held);
  return held;
}

const rgb = (hex) => [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));

export class Dabs {
  constructor() {
    this.sheet = document.createElement("canvas");
    this.pen = this.sheet.getContext("2d", { willReadFrequently: true });
    this.colours = new Map();
  }

  begin(width, height) {
    this.size = [width, height];
    this.any = false;
  }

  // Pixels are cleared only where a picture has dabs at all.
  first() {
    const [width, height] = this.size;
    if (this.sheet.width !== width || this.sheet.height !== height || !this.image) {
      this.sheet.width = width;
      this.sheet.height = height;
      this.image = this.pen.createImageData(width, height);
    } else this.image.data.fill(0);
    this.any = true;
  }

  put(x, y, radius, hex, alpha) {
    if (!this.any) this.first();
    const mask = maskOf(radius);
    if (!this.colours.has(hex)) this.colours.set(hex, rgb(hex));
    const [red, green, blue] = this.colours.get(hex);
    const { data, width, height } = this.image;
    const left = Math.floor(x - mask.half), top = Math.floor(y - mask.half);
    const sub = Math.floor((y - mask.half - top) * STEPS) * STEPS + Math.floor((x - mask.half - left) * STEPS);
    const cover = mask.cover[sub];
    for (let j = 0; j < mask.size; j += 1) {
      const row = top + j;
      if (row < 0 || row >= height) continue;
      for (let i = 0; i < mask.size; i += 1) {
        const column = left + i;
        const own = cover[j * mask.size + i] * alpha;
        if (own < 1 || column < 0 || column >= width) continue;
        const at = 4 * (row * width + column);
        const under = data[at + 3];
        if (under === 0) {
          data[at] = red; data[at + 1] = green; data[at + 2] = blue; data[at + 3] = own;
          continue;
        }
        // Over what is there already.
        const kept = under * (1 - own / 255), all = own + kept;
        data[at] = (red * own + data[at] * kept) / all;
        data[at + 1] = (green * own + data[at + 1] * kept) / all;
        data[at + 2] = (blue * own + data[at + 2] * kept) / all;
        data[at + 3] = all;
      }
    }
  }

  end(pen) {
    if (!this.any) return;
    this.pen.putImageData(this.image, 0, 0);
    pen.globalAlpha = 1;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(this.sheet, 0, 0);
  }
}
