/** The frame that a model comes in: a header, and after it the arrays of the shapes that are new. */

const READERS = { 2: Uint16Array, 4: Uint32Array };

/**
 * Take a frame apart.
 * @param {ArrayBuffer} buffer
 * @returns {{header: object, shapes: Map<string, {v: Float32Array, i: Uint16Array | Uint32Array}>}}
 */
export function taken(buffer) {
  const long = new DataView(buffer).getUint32(0, true);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, long)));
  const start = 4 + long;
  const shapes = new Map();
  for (const { hash, v, i } of header.parts) {
    if (!v) continue;
    shapes.set(hash, {
      v: new Float32Array(buffer, start + v[0], v[1]),
      i: new READERS[i[2]](buffer, start + i[0], i[1]),
    });
  }
  return { header, shapes };
}

/** What a window holds: the shapes of its last frame, by hash; it is what the server counts on. */
export class Holding {
  constructor() {
    this.rev = -1;
    this.shapes = new Map();
  }

  /**
   * Take a frame; null where it builds on another than the last, and all of it is to be asked for.
   * @param {ArrayBuffer} buffer
   */
  take(buffer) {
    const { header, shapes } = taken(buffer);
    const held = new Map();
    for (const { hash } of header.parts) {
      const shape = shapes.get(hash) ?? this.shapes.get(hash);
      if (!shape) return null;
      held.set(hash, shape);
    }
    this.shapes = held;
    this.rev = header.rev;
    return header;
  }
}
