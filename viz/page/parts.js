/** The parts of a page in space: which of them are seen, how high, cut by which planes. */
import { Space, upTo } from "../desk/web/space/space.js";
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
    this.parts = told.parts.map(({ points, cells, colour, line, seen, ...part }) => {
      const geometry = new three.BufferGeometry();
      geometry.setAttribute("position", new three.BufferAttribute(arrays[points], 3));
      geometry.setIndex(new three.BufferAttribute(arrays[cells], 1));
      const look = { color: colour, side: three.DoubleSide };
      const body = line ? new three.LineSegments(geometry, new three.LineBasicMaterial({ color: colour }))
        : new three.Mesh(geometry, part.cap ? new three.MeshBasicMaterial(look)
          : new three.MeshLambertMaterial({ ...look, flatShading: true }));
      this.root.add(body);
      return { ...part, body, seen: new Set(seen) };
    });
  }

  /**
   * See a view of a scene.
   * @param {{key: string, behind: string, near: number[], apart: boolean, level: boolean,
   *   cut: {face: string, direction: number[], station: number, thick: number} | null}} on
   *   `key`, `behind`: what its parts are seen by, and those that are read from the house; `near`:
   *   the way out of the house; `level`: heights at true scale; `cut`: its faces, which lie no
   *   farther than `thick` from their station
   */
  see(on) {
    this.on = on;
    for (const { body, cap, factor, lift } of this.parts) {
      body.position.z = on.apart ? lift : 0;
      body.scale.z = on.level ? 1 / factor : 1;
      if (!on.cut) {
        body.material.clippingPlanes = null;
        continue;
      }
      const { direction: [x, y], station, thick } = on.cut;
      body.material.clippingPlanes = cap
        ? [upTo([x, y], station + thick), upTo([-x, -y], thick - station)] : [upTo([x, y], station)];
    }
    this.ask();
  }

  stand() {
    const { behind, cut, key, near } = this.on;
    const { way } = this.eye.axes;
    // Seen from inside the house its own wall would hide everything, and letters stand on their head.
    const inside = way[0] * near[0] + way[1] * near[1] < -0.05;
    for (const { body, cap, house, words, seen } of this.parts) {
      if (cap) body.visible = Boolean(cut) && seen.has(cut.face);
      else if (inside && seen.has(behind)) body.visible = true;
      else body.visible = seen.has(key) && !(inside && (house || words));
    }
    super.stand();
  }
}
