/** How surfaces look: grains of stone and soil, turf, pavers as they are laid; drawn, never loaded. */
import { CanvasTexture, RepeatWrapping } from "../space/three.js";

const TILE = 1.2; // metres of ground on one picture of grains
const DOTS = 288; // its side [pixels]

/** Numbers between 0 and 1 by lot, the same each time. */
function lots(seed) {
  let state = seed >>> 0 || 1;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
}

function picture(wide, high, draw) {
  const canvas = document.createElement("canvas");
  canvas.width = wide;
  canvas.height = high;
  draw(canvas.getContext("2d"), wide, high);
  const texture = new CanvasTexture(canvas);
  texture.wrapS = texture.wrapT = RepeatWrapping;
  texture.anisotropy = 4;
  return texture;
}

/** Grains of a material on its colour, so that they meet across the sides of the picture. */
function grains({ colour, grains: tones, size, share }) {
  return picture(DOTS, DOTS, (pen) => {
    pen.fillStyle = colour;
    pen.fillRect(0, 0, DOTS, DOTS);
    const by = lots(colour.split("").reduce((sum, each) => sum * 31 + each.charCodeAt(0), 7));
    const reach = (size / TILE) * DOTS * 0.62;
    const count = Math.min(2600, Math.round((share * DOTS * DOTS) / (reach * reach * 1.6)));
    for (let k = 0; k < count; k++) {
      pen.fillStyle = tones[Math.floor(by() * tones.length)];
      const [x, y, turn, r] = [by() * DOTS, by() * DOTS, by() * 6.28, reach * (0.5 + 0.6 * by())];
      const corners = [0, 1, 2, 3, 4].map((c) => [
        Math.cos(turn + c * 1.257) * r * (0.75 + 0.4 * by()),
        Math.sin(turn + c * 1.257) * r * (0.6 + 0.4 * by()),
      ]);
      for (const dx of [-DOTS, 0, DOTS]) {
        for (const dy of [-DOTS, 0, DOTS]) {
          if (Math.abs(x + dx - DOTS / 2) > DOTS || Math.abs(y + dy - DOTS / 2) > DOTS) continue;
          pen.beginPath();
          for (const [cx, cy] of corners) pen.lineTo(x + dx + cx, y + dy + cy);
          pen.fill();
        }
      }
    }
  });
}

/** The units of one tile of a pattern, [x, y, wide, high] in metres. */
function tile({ pattern, length, width, joint }) {
  const [long, wide] = [length + joint, width + joint];
  const units = [];
  if (pattern.startsWith("herringbone")) {
    // A tile of four widths, which two widths to a length make exact.
    const w = long / 2;
    const [l, n] = [long - joint, w - joint];
    for (let k = 0; k < 4; k++) {
      units.push([k * w, k * w, l, n], [(k + 2) * w, (k - 1) * w, n, l]);
    }
    return { wide: 4 * w, high: 4 * w, units };
  }
  for (let row = 0; row < 8; row++) {
    const shift = pattern === "running" && row % 2 ? long / 2 : 0;
    for (let k = 0; k < 4; k++) units.push([shift + k * long, row * wide, length, width]);
  }
  return { wide: 4 * long, high: 8 * wide, units };
}

function pavers(laid, { colour, grains: tones }) {
  const { wide, high, units } = tile(laid);
  const scale = 512 / Math.max(wide, high);
  const [across, up] = [Math.round(wide * scale), Math.round(high * scale)];
  const texture = picture(across, up, (pen) => {
    pen.fillStyle = colour;
    pen.fillRect(0, 0, across, up);
    const by = lots(11);
    for (const [x, y, w, h] of units) {
      pen.fillStyle = tones[Math.floor(by() * tones.length)];
      for (const dx of [-wide, 0, wide]) {
        for (const dy of [-high, 0, high]) {
          const [left, low] = [(x + dx) * scale, up - (y + dy + h) * scale];
          pen.fillRect(left, low, w * scale, h * scale);
        }
      }
    }
  });
  return { texture, wide, high };
}

/** Pictures by what they show, made once. */
export class Looks {
  constructor() {
    this.made = new Map();
  }

  /**
   * The picture of a material and how places [m] on a surface fall on it, or null where it is plain.
   * @returns {{texture: CanvasTexture, place: (x: number, y: number) => number[],
   *   side: (along: number, z: number) => number[]} | null}
   */
  of(kind, look, laid) {
    const key = JSON.stringify([kind, look, laid && [laid.pattern, laid.length, laid.width, laid.joint]]);
    if (laid) {
      if (!this.made.has(key)) this.made.set(key, pavers(laid, look));
      const { texture, wide, high } = this.made.get(key);
      const [c, s] = [Math.cos(laid.turn), Math.sin(laid.turn)];
      const [x0, y0] = laid.at;
      return {
        texture,
        place: (x, y) => [
          ((x - x0) * c + (y - y0) * s) / wide,
          ((y - y0) * c - (x - x0) * s) / high,
        ],
        side: (along) => [along / wide, 0.5 * (laid.width / high)],
      };
    }
    if (!look.grains.length || !look.share) return null;
    if (!this.made.has(key)) this.made.set(key, grains(look));
    return {
      texture: this.made.get(key),
      place: (x, y) => [x / TILE, y / TILE],
      side: (along, z) => [along / TILE, z / TILE],
    };
  }
}
