/** The model in space: parts as meshes, cut open or lifted apart. */
import { EDGE, Face, alongFace, inSpace, pointed, upright } from "../space/cut.js";
import { Space } from "../space/space.js";
import * as three from "../space/three.js";
import { Looks } from "./looks.js";
import { edges, surface, work } from "./shaped.js";

/** One part: its surface, its edges, and the face where it is cut. */
class Body {
  constructor(part, shape, factor, looks) {
    this.group = new three.Group();
    this.material = new three.MeshLambertMaterial({
      flatShading: true, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
    });
    this.ink = new three.LineBasicMaterial({ color: EDGE, transparent: true, opacity: 0.5 });
    this.paint = new three.MeshBasicMaterial({ side: three.DoubleSide });
    this.mesh = new three.Mesh(undefined, this.material);
    this.mesh.userData.body = this;
    this.lines = new three.LineSegments(undefined, this.ink);
    this.group.add(this.mesh, this.lines);
    this.face = new Face(this.group, this.paint);
    this.face.mesh.userData.body = this;
    this.tell(part, shape, factor, looks);
  }

  /** Take what is said of the part and its shape, made ready anew where that, heights or looks changed. */
  tell(part, shape, factor, looks) {
    const key = JSON.stringify([part.kind, part.look, part.laid, factor, part.stands, part.before]);
    const [moved, other] = [key !== this.key || shape !== this.shape, key !== this.key];
    this.part = part;
    if (!moved) return;
    [this.key, this.shape, this.factor] = [key, shape, factor];
    this.cut(null);
    this.mesh.geometry.dispose();
    this.lines.geometry.dispose();
    if (other) this.dress(part, factor, looks);
    this.mesh.geometry = surface(shape, factor, this.look);
    this.lines.geometry = edges(shape, factor);
  }

  /** Put on how it looks, and how high it is drawn. */
  dress(part, factor, looks) {
    this.look = looks.of(part.kind, part.look, part.laid);
    this.material.map = this.paint.map = this.look?.texture ?? null;
    const plain = this.look ? "#ffffff" : part.look.colour;
    this.material.color.set(plain);
    this.paint.color.set(plain).multiplyScalar(0.9);
    this.material.needsUpdate = this.paint.needsUpdate = true;
    // What stands on the paving keeps its true height above its foot.
    const true_ = part.stands !== undefined;
    this.group.scale.z = true_ ? 1 / factor : 1;
    this.group.position.z = this.foot = true_ ? part.stands * (1 - 1 / factor) : 0;
  }

  /** Lift it, by a share of its way. */
  lift(share) {
    this.group.position.z = this.foot + (share * this.part.lift) / this.factor;
  }

  /** Keep what lies behind a plane, with the face of the cut; null for all of it. */
  cut(plane) {
    if (plane === this.plane) return;
    this.plane = plane;
    this.material.clippingPlanes = this.ink.clippingPlanes = plane ? [plane.clip] : null;
    if (plane) work.cut += 1;
    const side = this.look && (([s, z]) => this.look.side(s, z * this.factor));
    this.face.cut(plane && this.shape, plane, this.part.before, side);
  }

  /** The face of the cut, where there is one. */
  get cap() {
    return this.face.mesh.visible ? this.face.mesh : null;
  }

  chosen(is) {
    this.material.emissive.set(is ? "#0f5f66" : "#000000");
    this.material.emissiveIntensity = is ? 0.55 : 0;
    this.paint.color.set(this.look ? "#ffffff" : this.part.look.colour).multiplyScalar(is ? 0.7 : 0.9);
  }

  free() {
    this.face.free();
    this.mesh.geometry.dispose();
    this.lines.geometry.dispose();
    this.group.removeFromParent();
    for (const each of [this.material, this.ink, this.paint]) each.dispose();
  }
}

/** Everything that is seen, and the eye that sees it. */
export class Model extends Space {
  constructor(element, canvas, drawn) {
    super(element, canvas, drawn);
    this.looks = new Looks();
    this.bodies = new Map();
    this.ray = new three.Raycaster();
    this.apart = 0;
  }

  get shown() {
    return Boolean(this.header) && super.shown;
  }

  /** Take what is told of the model, and the shapes that a window holds; what is new is not cut yet. */
  tell(header, shapes) {
    this.header = header;
    this.root.scale.z = header.factor;
    this.light(header.lit);
    this.near = header.near;
    const told = new Set();
    for (const each of header.parts) {
      const part = { ...each, look: header.looks[each.kind] };
      told.add(part.name);
      const shape = shapes.get(part.hash);
      const old = this.bodies.get(part.name);
      if (old) {
        old.tell(part, shape, header.factor, this.looks);
        continue;
      }
      const body = new Body(part, shape, header.factor, this.looks);
      this.bodies.set(part.name, body);
      this.root.add(body.group);
    }
    for (const [name, body] of this.bodies) {
      if (told.has(name)) continue;
      body.free();
      this.bodies.delete(name);
    }
    this.lift(this.apart);
  }

  /** Lift the layers apart by a share, and leave out what then is in the way. */
  lift(share) {
    this.apart = share;
    for (const body of this.bodies.values()) {
      body.group.visible = !(share > 0 && ["thing", "built", "beside"].includes(body.part.role));
      body.lift(share);
    }
  }

  /** Cut by an upright plane, or by none. */
  cut(plane) {
    if (!plane && !this.plane) return;
    // By the same plane as before no body is cut again that stayed as it was.
    if (!plane || !this.plane || plane.name !== this.plane.name) this.plane = plane;
    for (const body of this.bodies.values()) body.cut(this.plane);
  }

  /** The box of the layers that are looked at, or of every area, as drawn: least and greatest corner. */
  box(whole = false) {
    if (this.plane) {
      // Of the soil below as much as the layers are high: there may be a pit in it somewhere.
      const faces = this.layers().filter((body) => body.cap && body.part.role === "layer");
      const box = new three.Box3();
      for (const body of faces) box.expandByObject(body.cap);
      box.min.z -= box.max.z - box.min.z;
      if (faces.length) return [box.min.toArray(), box.max.toArray()];
    }
    const [low, high] = (whole ? this.header.box_of_all : this.header.box).map((corner) => [...corner]);
    for (const corner of [low, high]) corner[2] *= this.header.factor;
    const lifts = [...this.bodies.values()].map((body) => body.part.lift);
    high[2] += this.apart * Math.max(0, ...lifts);
    return [low, high];
  }

  stand() {
    const { behind } = this;
    for (const body of this.bodies.values()) {
      // The sills stay, for they are pointed at.
      if (body.part.role === "house") {
        body.group.visible = !this.apart && (!behind || body.part.kind === "sill");
      }
    }
    super.stand();
  }

  /** A place about the origin, at true height, as it is drawn. */
  drawnAt(at, stands) {
    const f = this.header.factor;
    const low = stands === null || stands === undefined || at[2] < stands;
    return [at[0], at[1], low ? at[2] * f : stands * f + at[2] - stands];
  }

  /** Whether nothing stands between an eye and a place. */
  sees(eye, at, stands) {
    const from = new three.Vector3(...eye);
    const way = new three.Vector3(...this.drawnAt(at, stands)).sub(from);
    this.root.updateMatrixWorld();
    this.ray.set(from, way.clone().normalize());
    this.ray.far = way.length() - 0.2;
    const hidden = this.hits().length > 0;
    this.ray.far = Infinity;
    return !hidden;
  }

  /** Whether a place lies on the side of the cut that is taken away. */
  gone(at) {
    const { plane } = this;
    if (!plane) return false;
    return (at[0] - plane.at[0]) * plane.to[0] + (at[1] - plane.at[1]) * plane.to[1] > 0.01;
  }

  /** The bodies of the layers that are looked at, from the top down. */
  layers() {
    return [...this.bodies.values()].filter((body) => body.part.number)
      .sort((a, b) => a.part.number - b.part.number);
  }

  /**
   * The layers that are seen, from the top down, with the point where each is pointed at: on a cut in
   * its face, and else what is farthest right of it.
   */
  ends() {
    const found = new Map();
    const layers = this.layers();
    for (const body of layers) {
      // What takes the place of a layer at its edge is in the key, and not pointed at again.
      if (found.has(body.part.number)) continue;
      const at = this.plane ? this.faced(body, layers) : this.rightmost(body.mesh);
      if (at) found.set(body.part.number, { part: body.part, at });
    }
    return [...found.values()];
  }

  faced({ face, group, part }, layers) {
    const at = pointed(face.closed, alongFace(part.number, layers.at(-1).part.number));
    return at && this.at(group.localToWorld(new three.Vector3(...inSpace(this.plane, at))));
  }

  rightmost(mesh) {
    const { position } = mesh.geometry.attributes;
    const points = Array.from({ length: position.count }, (_, k) =>
      this.at(mesh.localToWorld(new three.Vector3().fromBufferAttribute(position, k))));
    const right = Math.max(...points.map((p) => p[0]));
    const there = points.filter((p) => p[0] > right - 1.5);
    return [right, there.reduce((sum, p) => sum + p[1], 0) / there.length];
  }

  /** The part under a place of the picture, -1 to 1 each way; null for none. */
  under(x, y) {
    this.ray.setFromCamera(new three.Vector2(x, y), this.camera);
    return this.hits()[0]?.object.userData.body ?? null;
  }

  /** What the ray meets of what is seen, the nearest first. */
  hits() {
    const meshes = [];
    for (const body of this.bodies.values()) {
      if (body.group.visible) meshes.push(body.mesh, ...(body.cap ? [body.cap] : []));
    }
    return this.ray.intersectObjects(meshes, false).filter(({ point, object }) =>
      object.userData.body.cap === object || !this.gone([point.x, point.y]));
  }

  choose(body) {
    for (const each of this.bodies.values()) each.chosen(each === body);
  }

  /** An upright plane through a line in plan; what lies towards the eye is taken away. */
  planeOf([[x0, y0], [x1, y1]], shift = 0) {
    const long = Math.hypot(x1 - x0, y1 - y0) || 1;
    let to = [(y1 - y0) / long, (x0 - x1) / long];
    const [nx, ny] = this.header.near;
    // The side that is nearer to who looks at the paving, and where both are, the one on the right.
    if (to[0] * (nx - 0.4 * ny) + to[1] * (ny + 0.4 * nx) < 0) to = [-to[0], -to[1]];
    const plane = upright([x0 + shift * to[0], y0 + shift * to[1]], to);
    return { ...plane, name: JSON.stringify([plane.at, to]) };
  }
}
