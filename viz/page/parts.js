/** The parts of a page in space: which of them are seen, how high, cut by which planes. */
import { Face, inSpace, meshed, pointed } from "../desk/web/space/cut.js";
import { Space } from "../desk/web/space/space.js";
import * as three from "../desk/web/space/three.js";

/** Arrays, which are written as steps down their columns. */
function summed({ columns, fine, steps }) {
  const rows = steps.length / columns;
  const values = fine > 1 ? new Float32Array(steps.length) : new Uint32Array(steps.length);
  for (let column = 0; column < columns; column++) {
    let value = 0;
    for (let row = 0; row < rows; row++) {
      value += steps[column * rows + row];
      values[row * columns + column] = value / fine;
    }
  }
  return values;
}

export class Parts extends Space {
  /** Take what is packed, which the browser itself unpacks. */
  async unpack(packed) {
    const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
    const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
    const told = await new Response(plain).json();
    const arrays = told.arrays.map(summed);
    this.parts = told.parts.map(({ points, cells, colour, line, seen, face, ...part }) => {
      const shape = { v: arrays[points], i: arrays[cells] };
      const geometry = meshed(shape);
      const look = { color: colour, side: three.DoubleSide };
      const body = line ? new three.LineSegments(geometry, new three.LineBasicMaterial({ color: colour }))
        : new three.Mesh(geometry, new three.MeshLambertMaterial({ ...look, flatShading: true }));
      this.root.add(body);
      return {
        ...part, ...face, body, shape, seen: new Set(seen),
        face: face && new Face(body, new three.MeshBasicMaterial({ ...look, color: face.colour })),
      };
    });
  }

  /**
   * See a view of a scene.
   * @param {{key: string, behind: string, near: number[], apart: boolean, level: boolean,
   *   plane: object | null}} on
   *   `key`, `behind`: what its parts are seen by, and those that are read from the house; `near`:
   *   the way out of the house; `level`: heights at true scale; `plane`: what it is cut by
   */
  see(on) {
    this.on = on;
    this.near = on.near;
    for (const { before, body, face, factor, lift, seen, shape } of this.parts) {
      body.position.z = on.apart ? lift : 0;
      body.scale.z = on.level ? 1 / factor : 1;
      body.material.clippingPlanes = on.plane && [on.plane.clip];
      face?.cut(on.plane && seen.has(on.key) ? shape : null, on.plane, before);
    }
    this.ask();
  }

  /** Where the face of a layer is pointed at, a share of its way along; null where it is not cut. */
  faced(layer, share, high) {
    const { key, plane } = this.on;
    const cut = this.parts.filter((each) => each.layer === layer && each.seen.has(key));
    const at = pointed(cut.flatMap(({ face }) => face.closed), share, high);
    return at && inSpace(plane, at);
  }

  stand() {
    const { behind, key } = this.on;
    // Seen from inside the house its own wall would hide everything, and letters stand on their head.
    const inside = this.behind;
    for (const { body, house, words, seen } of this.parts) {
      body.visible = (inside && seen.has(behind)) || (seen.has(key) && !(inside && (house || words)));
    }
    super.stand();
  }
}
