/** The model in space: parts as meshes, cut open or lifted apart, drawn only when asked to. */
import * as three from "./three.js";
import { filled, lines } from "./cut.js";
import { Looks } from "./looks.js";

const SHARP = Math.cos((35 * Math.PI) / 180);
const EDGE = "#40372d";
const FIELD = 28; // angle of view, upright [degrees]
const PROUD = 0.003; // how far the cut of what lies in other bodies stands before theirs [m]

/** Corners of triangles with their normals and places on the picture of the surface. */
function surface({ v, i }, factor, look) {
  const count = i.length;
  const at = new Float32Array(3 * count);
  const normal = new Float32Array(3 * count);
  const uv = look ? new Float32Array(2 * count) : null;
  for (let k = 0; k < count; k += 3) {
    const p = [0, 1, 2].map((e) => {
      const c = 3 * i[k + e];
      return [v[c], v[c + 1], v[c + 2]];
    });
    const [a, b] = [1, 2].map((e) => [0, 1, 2].map((d) => p[e][d] - p[0][d]));
    // Of the body as drawn, then as an upright scale wants it, which undoes itself in the shader.
    const n = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const long = Math.hypot(...n) || 1;
    const flat = Math.abs(n[2]) > 0.5 * long;
    const way = Math.hypot(n[0], n[1]) || 1;
    p.forEach((q, e) => {
      const to = 3 * (k + e);
      at.set(q, to);
      normal.set([n[0] / long, n[1] / long, n[2] / long], to);
      if (!uv) return;
      const along = (q[1] * n[0] - q[0] * n[1]) / way;
      uv.set(flat ? look.place(q[0], q[1]) : look.side(along, q[2] * factor), 2 * (k + e));
    });
  }
  const geometry = new three.BufferGeometry();
  geometry.setAttribute("position", new three.BufferAttribute(at, 3));
  geometry.setAttribute("normal", new three.BufferAttribute(normal, 3));
  if (uv) geometry.setAttribute("uv", new three.BufferAttribute(uv, 2));
  return geometry;
}

/** The sharp edges of a closed mesh, as it is drawn. */
function edges({ v, i }, factor) {
  const seen = new Map();
  const found = [];
  for (let k = 0; k < i.length; k += 3) {
    const c = [i[k], i[k + 1], i[k + 2]];
    const [p, q, r] = c.map((at) => [v[3 * at], v[3 * at + 1], v[3 * at + 2] * factor]);
    const a = [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
    const b = [r[0] - p[0], r[1] - p[1], r[2] - p[2]];
    const n = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const long = Math.hypot(...n) || 1;
    for (let e = 0; e < 3; e++) {
      const [from, to] = [c[e], c[(e + 1) % 3]];
      const name = Math.min(from, to) * 4294967 + Math.max(from, to);
      const other = seen.get(name);
      if (!other) {
        seen.set(name, n.map((each) => each / long));
      } else if ((n[0] * other[0] + n[1] * other[1] + n[2] * other[2]) / long < SHARP) {
        for (const at of [from, to]) found.push(v[3 * at], v[3 * at + 1], v[3 * at + 2]);
      }
    }
  }
  return lined(found);
}

function lined(numbers) {
  const geometry = new three.BufferGeometry();
  geometry.setAttribute("position", new three.BufferAttribute(new Float32Array(numbers), 3));
  return geometry;
}

/** One part: its surface, its edges, and the face where it is cut. */
class Body {
  constructor(part, shape, factor, looks, plane) {
    this.shape = shape;
    this.group = new three.Group();
    this.material = new three.MeshLambertMaterial({
      polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
    });
    this.ink = new three.LineBasicMaterial({ color: EDGE, transparent: true, opacity: 0.5 });
    this.face = new three.MeshBasicMaterial({ side: three.DoubleSide });
    this.plane = plane;
    this.tell(part, factor, looks);
  }

  /** Take what is said of the part; its shape is made anew where heights or looks changed. */
  tell(part, factor, looks) {
    const key = JSON.stringify([part.look, part.laid, factor, part.stands]);
    const moved = key !== this.key;
    this.part = part;
    if (!moved) return;
    this.key = key;
    this.factor = factor;
    this.look = looks.of(part.kind, part.look, part.laid);
    this.clear();
    this.mesh = new three.Mesh(surface(this.shape, factor, this.look), this.material);
    this.mesh.userData.body = this;
    this.lines = new three.LineSegments(edges(this.shape, factor), this.ink);
    this.group.add(this.mesh, this.lines);
    this.material.map = this.face.map = this.look?.texture ?? null;
    const plain = this.look ? "#ffffff" : part.look.colour;
    this.material.color.set(plain);
    this.face.color.set(plain).multiplyScalar(0.9);
    this.material.needsUpdate = this.face.needsUpdate = true;
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
    const clipped = plane ? [plane.clip] : null;
    this.material.clippingPlanes = this.ink.clippingPlanes = clipped;
    this.cap?.removeFromParent();
    this.cap?.geometry.dispose();
    this.rim?.removeFromParent();
    this.rim?.geometry.dispose();
    this.cap = this.rim = null;
    if (!plane) return;
    const closed = lines(this.shape.v, this.shape.i, plane);
    const faces = filled(closed);
    if (!faces.length) return;
    const off = PROUD * this.part.before + 0.0005;
    const place = ([s, z]) => [
      plane.at[0] + s * plane.along[0] + off * plane.to[0],
      plane.at[1] + s * plane.along[1] + off * plane.to[1],
      z,
    ];
    const geometry = lined(faces.flatMap(place));
    if (this.look) {
      const uv = faces.flatMap(([s, z]) => this.look.side(s, z * this.factor));
      geometry.setAttribute("uv", new three.BufferAttribute(new Float32Array(uv), 2));
    }
    this.cap = new three.Mesh(geometry, this.face);
    this.cap.userData.body = this;
    this.rim = new three.LineSegments(
      lined(closed.flatMap((line) => line.flatMap((p, k) => [...place(p), ...place(line[(k + 1) % line.length])]))),
      new three.LineBasicMaterial({ color: EDGE }),
    );
    this.group.add(this.cap, this.rim);
  }

  /** Points at the end of its cut face nearest a side, for a label. */
  get drawnFrom() {
    return this.cap ?? this.mesh;
  }

  chosen(is) {
    for (const material of [this.material]) material.emissive.set(is ? "#0f5f66" : "#000000");
    this.material.emissiveIntensity = is ? 0.55 : 0;
    this.face.color.set(this.look ? "#ffffff" : this.part.look.colour).multiplyScalar(is ? 0.7 : 0.9);
  }

  clear() {
    for (const each of [this.mesh, this.lines, this.cap, this.rim]) {
      each?.removeFromParent();
      each?.geometry.dispose();
    }
    this.cap = this.rim = null;
  }

  free() {
    this.clear();
    this.group.removeFromParent();
    for (const each of [this.material, this.ink, this.face]) each.dispose();
  }
}

/** Everything that is seen, and the eye that sees it. */
export class Model {
  /** @param {HTMLCanvasElement} canvas @throws where the browser has no WebGL */
  constructor(canvas) {
    this.renderer = new three.WebGLRenderer({
      canvas, antialias: true, alpha: true, preserveDrawingBuffer: false,
    });
    this.renderer.localClippingEnabled = true;
    this.renderer.setClearColor("#f4efe4", 1);
    this.scene = new three.Scene();
    this.root = new three.Group();
    this.sun = new three.DirectionalLight("#fff6e6", 1.7);
    this.fill = new three.DirectionalLight("#ffffff", 0.8);
    this.scene.add(this.root, this.fill, new three.HemisphereLight("#ffffff", "#cbbfae", 2.3), this.sun);
    this.camera = new three.PerspectiveCamera(FIELD, 1, 0.1, 500);
    this.camera.up.set(0, 0, 1);
    this.looks = new Looks();
    this.bodies = new Map();
    this.ray = new three.Raycaster();
    this.drawn = 0;
    this.apart = 0;
  }

  /** Take what is told of the model, and the shapes that a window holds. */
  tell(header, shapes) {
    this.header = header;
    this.root.scale.z = header.factor;
    const [x, y] = header.near;
    this.sun.position.set(x * 0.5 + y * 0.8, y * 0.5 - x * 0.8, 1.5);
    this.fill.position.set(-x, -y, 0.6);
    const told = new Set();
    for (const each of header.parts) {
      const part = { ...each, look: header.looks[each.kind] };
      told.add(part.name);
      const shape = shapes.get(part.hash);
      const old = this.bodies.get(part.name);
      if (old && old.shape === shape) {
        old.tell(part, header.factor, this.looks);
        continue;
      }
      old?.free();
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
    this.cut(this.plane);
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
    this.plane = plane;
    for (const body of this.bodies.values()) body.cut(plane);
  }

  /** The box of the layers that are looked at, as drawn: least and greatest corner. */
  box() {
    if (this.plane) {
      // Of the soil below as much as the layers are high: there may be a pit in it somewhere.
      const faces = this.layers().filter((body) => body.cap && body.part.role === "layer");
      const box = new three.Box3();
      for (const body of faces) box.expandByObject(body.cap);
      box.min.z -= box.max.z - box.min.z;
      if (faces.length) return [box.min.toArray(), box.max.toArray()];
    }
    const [low, high] = this.header.box.map((corner) => [...corner]);
    for (const corner of [low, high]) corner[2] *= this.header.factor;
    const lifts = [...this.bodies.values()].map((body) => body.part.lift);
    high[2] += this.apart * Math.max(0, ...lifts);
    return [low, high];
  }

  /** Draw once. */
  draw({ eye, target, room, wide, high }) {
    const { camera } = this;
    camera.position.set(...eye);
    camera.lookAt(...target);
    const [w, h] = [Math.max(wide - room.left - room.right, 40), Math.max(high - room.top - room.low, 40)];
    camera.aspect = w / h;
    camera.setViewOffset(w, h, -room.left, -room.top, wide, high);
    const far = Math.hypot(...eye.map((each, d) => each - target[d]));
    camera.near = Math.max(far / 200, 0.05);
    camera.far = far * 6 + 100;
    camera.updateProjectionMatrix();
    // The house gives way to one who looks out from it.
    const [x, y] = this.header.near;
    const behind = (eye[0] - target[0]) * x + (eye[1] - target[1]) * y < -0.05 * far;
    for (const body of this.bodies.values()) {
      // The sills stay, for they are pointed at.
      if (body.part.role === "house") {
        body.group.visible = !this.apart && (!behind || body.part.kind === "sill");
      }
    }
    this.renderer.render(this.scene, camera);
    this.drawn += 1;
  }

  /** Where a place about the origin, at true height, is drawn: [x, y, depth], y downwards. */
  place(at, stands, wide, high) {
    return this.projected(this.drawnAt(at, stands), wide, high);
  }

  /** A place about the origin, at true height, as it is drawn. */
  drawnAt(at, stands) {
    const f = this.header.factor;
    const low = stands === null || stands === undefined || at[2] < stands;
    return new three.Vector3(at[0], at[1], low ? at[2] * f : stands * f + at[2] - stands);
  }

  /** Whether nothing stands between an eye and a place. */
  sees(eye, at, stands) {
    const from = new three.Vector3(...eye);
    const way = this.drawnAt(at, stands).sub(from);
    this.root.updateMatrixWorld();
    this.ray.set(from, way.clone().normalize());
    this.ray.far = way.length() - 0.2;
    const hidden = this.hits().length > 0;
    this.ray.far = Infinity;
    return !hidden;
  }

  projected(vector, wide, high) {
    vector.project(this.camera);
    return [((vector.x + 1) / 2) * wide, ((1 - vector.y) / 2) * high, vector.z];
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

  /** The layers that are seen, from the top down, with the point of each farthest right. */
  ends(wide, high) {
    const found = [];
    const told = new Set();
    for (const body of this.layers()) {
      // What takes the place of a layer at its edge is in the key, and not pointed at again.
      if (told.has(body.part.number)) continue;
      const mesh = body.drawnFrom;
      if (this.plane && mesh !== body.cap) continue;
      told.add(body.part.number);
      const positions = mesh.geometry.attributes.position;
      const points = [];
      for (let k = 0; k < positions.count; k++) {
        const point = new three.Vector3().fromBufferAttribute(positions, k);
        points.push(this.projected(mesh.localToWorld(point), wide, high));
      }
      const right = Math.max(...points.map((p) => p[0]));
      const there = points.filter((p) => p[0] > right - 1.5);
      const y = there.reduce((sum, p) => sum + p[1], 0) / there.length;
      found.push({ part: body.part, x: right, y });
    }
    return found;
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
    const along = [(x1 - x0) / long, (y1 - y0) / long];
    let to = [along[1], -along[0]];
    const [nx, ny] = this.header.near;
    // The side that is nearer to who looks at the paving, and where both are, the one on the right.
    if (to[0] * (nx - 0.4 * ny) + to[1] * (ny + 0.4 * nx) < 0) to = [-to[0], -to[1]];
    const at = [x0 + shift * to[0], y0 + shift * to[1]];
    const clip = new three.Plane(new three.Vector3(-to[0], -to[1], 0), to[0] * at[0] + to[1] * at[1]);
    return { at, along, to, clip };
  }
}
