/** What is seen in space, lit as the stills are: drawn only when something asks for it. */
import { Eye } from "./eye.js";
import * as three from "./three.js";

// Colours are mixed as they are written, as in the stills.
three.ColorManagement.enabled = false;

export class Space {
  /**
   * @param {HTMLElement} element it is drawn in, by an eye that hands may move
   * @param {HTMLCanvasElement} canvas in that
   * @param {() => void} drawn is done after every picture, for what stands on it
   * @throws where the browser has no WebGL
   */
  constructor(element, canvas, drawn) {
    // Asked of a canvas of its own: without WebGL nothing that draws is called at all.
    if (!document.createElement("canvas").getContext("webgl2")) throw new Error("no WebGL");
    this.element = element;
    this.canvas = canvas;
    this.drawn = drawn;
    this.pictures = 0;
    this.renderer = new three.WebGLRenderer({ canvas, antialias: true });
    this.renderer.outputColorSpace = three.LinearSRGBColorSpace;
    this.renderer.localClippingEnabled = true;
    this.scene = new three.Scene();
    this.root = new three.Group();
    this.lamps = new three.Group();
    this.near = [0, -1]; // the way out of the house, in plan
    this.scene.add(this.root, this.lamps);
    this.camera = new three.PerspectiveCamera();
    this.eye = new Eye(() => this.ask());
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => this.ask());
  }

  /** Light it; a lamp's strength is what it adds to a face that looks at it. */
  light({ angle, background, ambient, lights }) {
    this.eye.angle = angle;
    this.renderer.setClearColor(background, 1);
    this.lamps.clear();
    this.lamps.add(new three.AmbientLight("#ffffff", ambient * Math.PI));
    for (const { towards, strength } of lights) {
      const lamp = new three.DirectionalLight("#ffffff", strength * Math.PI);
      lamp.position.set(...towards);
      this.lamps.add(lamp);
    }
  }

  /** Be as large as the element is, always; `sized` places the eye for another size. */
  fill(sized) {
    const fitted = () => {
      const [wide, high] = [this.element.clientWidth, this.element.clientHeight];
      if (!wide || !high) return;
      const other = wide !== this.wide || high !== this.high;
      [this.wide, this.high] = [wide, high];
      this.renderer.setPixelRatio(Math.min(devicePixelRatio || 1, 2));
      this.renderer.setSize(wide, high, false);
      if (other) sized();
      // Its buffer is empty now: no frame is shown without a picture.
      this.draw();
    };
    fitted();
    new ResizeObserver(fitted).observe(this.element);
  }

  /** Whether it has a place on the screen. */
  get shown() {
    return Boolean(this.wide && this.element.clientWidth);
  }

  /** Ask for one picture: none is drawn unless one is asked for. */
  ask() {
    this.asking ||= requestAnimationFrame(() => this.draw());
  }

  /** Draw once, now. */
  draw() {
    cancelAnimationFrame(this.asking);
    this.asking = 0;
    if (!this.shown) return;
    this.stand();
    this.renderer.render(this.scene, this.camera);
    this.pictures += 1;
    this.drawn();
  }

  /** Whether the eye looks out from the house: then that gives way, and the light comes from there. */
  get behind() {
    const { way } = this.eye.axes;
    return way[0] * this.near[0] + way[1] * this.near[1] < -0.05;
  }

  /** Put the camera where the eye is: from then on places are told as they are drawn. */
  stand() {
    const { camera, eye, root, wide, high } = this;
    const [w, h] = eye.clear(wide, high);
    const { way, over } = eye.axes;
    this.lamps.rotation.z = this.behind ? Math.PI : 0;
    camera.fov = eye.angle;
    camera.aspect = w / h;
    camera.setViewOffset(w, h, -eye.room.left, -eye.room.top, wide, high);
    camera.up.set(...over);
    camera.position.set(...eye.place());
    camera.lookAt(...eye.target);
    camera.updateMatrixWorld();
    root.updateMatrixWorld();
    // As near and as far as what is seen lies.
    const box = new three.Box3();
    root.traverseVisible((each) => { if (each.geometry) box.expandByObject(each); });
    const middle = box.getCenter(new three.Vector3());
    const round = box.max.distanceTo(middle);
    const depth = camera.position.clone().sub(middle).dot(new three.Vector3(...way));
    camera.far = Math.max(depth + round, 1) * 1.05;
    camera.near = Math.max((depth - round) * 0.95, camera.far * 0.001);
    camera.updateProjectionMatrix();
  }

  /** Where a place is drawn, from the top left, and whether it lies before the eye: [x, y, before]. */
  at(place) {
    const { x, y, z } = new three.Vector3(...place).project(this.camera);
    return [((x + 1) / 2) * this.wide, ((1 - y) / 2) * this.high, z < 1];
  }
}
