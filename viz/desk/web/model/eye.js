/** The eye: where it stands, what it frames, and how it moves there. All in drawn space. */

const HALF = (14 * Math.PI) / 180; // half the upright angle of view

const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

export class Eye {
  /** @param {() => void} ask asks for one picture */
  constructor(ask) {
    this.ask = ask;
    this.turn = 0; // clockwise from the way that the paving is looked at [rad]
    this.up = 0.58; // above the level [rad]
    this.far = 10;
    this.target = [0, 0, 0];
    this.near = [0, -1];
    this.room = { left: 12, right: 12, top: 12, low: 12 };
  }

  /** The unit vector to the eye. */
  get way() {
    const [nx, ny] = this.near;
    const [c, s] = [Math.cos(this.turn), Math.sin(this.turn)];
    const flat = Math.cos(this.up);
    return [(nx * c - ny * s) * flat, (ny * c + nx * s) * flat, Math.sin(this.up)];
  }

  get place() {
    return this.way.map((each, d) => this.target[d] + each * this.far);
  }

  /** The place of an eye that stands so. */
  from({ turn, up, far, target }) {
    const keep = { turn: this.turn, up: this.up };
    Object.assign(this, { turn, up });
    const place = this.way.map((each, d) => target[d] + each * far);
    Object.assign(this, keep);
    return place;
  }

  /** Where to stand so that a box fills the room, looked at from a turn and a height. */
  fitting([low, high], turn, up, wide, tall) {
    const keep = { turn: this.turn, up: this.up };
    Object.assign(this, { turn, up });
    const [x, y, z] = this.way;
    Object.assign(this, keep);
    const flat = Math.hypot(x, y) || 1;
    const right = [-y / flat, x / flat, 0];
    const over = [-z * right[1], z * right[0], x * right[1] - y * right[0]];
    const w = Math.max(wide - this.room.left - this.room.right, 40);
    const h = Math.max(tall - this.room.top - this.room.low, 40);
    const [across, upright] = [(Math.tan(HALF) * w) / h, Math.tan(HALF)];
    const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [
      (k & 1 ? high : low)[0], (k & 2 ? high : low)[1], (k & 4 ? high : low)[2],
    ]);
    const target = low.map((each, d) => (each + high[d]) / 2);
    let far = 0;
    // Twice: the middle of what is seen is moved to the middle of the room.
    for (let round = 0; round < 3; round++) {
      const seen = corners.map((corner) => {
        const from = corner.map((each, d) => each - target[d]);
        return [dot(from, right), dot(from, over), dot(from, [x, y, z])];
      });
      far = Math.max(...seen.map(([a, b, d]) =>
        d + Math.max(Math.abs(a) / across, Math.abs(b) / upright)));
      const middle = (axis) => {
        const shares = seen.map((each) => each[axis] / (far - each[2]));
        return ((Math.min(...shares) + Math.max(...shares)) / 2) * far;
      };
      const [a, b] = [middle(0), middle(1)];
      for (let d = 0; d < 3; d++) target[d] += a * right[d] + b * over[d];
    }
    return { turn, up, far: far * 1.04, target };
  }

  /** Go somewhere: at once, or within a third of a second. */
  go(to, { at_once = false, along = () => {} } = {}) {
    cancelAnimationFrame(this.going);
    this.arrive = null;
    const from = { turn: this.turn, up: this.up, far: this.far, target: [...this.target] };
    const turned = ((((to.turn - from.turn) % 6.2832) + 9.4248) % 6.2832) - 3.1416;
    const set = (t) => {
      const ease = t * t * (3 - 2 * t);
      this.turn = from.turn + turned * ease;
      this.up = from.up + (to.up - from.up) * ease;
      this.far = from.far * (to.far / from.far) ** ease;
      this.target = from.target.map((each, d) => each + (to.target[d] - each) * ease);
      along(ease);
      this.ask();
    };
    if (at_once || still()) {
      set(1);
      return;
    }
    this.arrive = () => along(1);
    const began = performance.now();
    const step = (now) => {
      const t = Math.min(1, Math.max(0, (now - began) / 350));
      set(t);
      if (t < 1) this.going = requestAnimationFrame(step);
      else this.arrive = null;
    };
    this.going = requestAnimationFrame(step);
  }

  /** Stand still where the eye is; what came along with it arrives at once. */
  stop() {
    cancelAnimationFrame(this.going);
    this.arrive?.();
    this.arrive = null;
  }

  round(turn, up) {
    this.stop();
    this.turn += turn;
    this.up = Math.min(1.53, Math.max(-0.05, this.up + up));
    this.ask();
  }

  closer(times) {
    this.stop();
    this.far = Math.min(300, Math.max(0.5, this.far / times));
    this.ask();
  }

  /** Move what is looked at by so many pixels of a picture so high. */
  aside(dx, dy, tall) {
    this.stop();
    const size = (2 * Math.tan(HALF) * this.far) / tall;
    const [x, y] = this.way;
    const flat = Math.hypot(x, y) || 1;
    const [rx, ry] = [-y / flat, x / flat];
    this.target[0] += -dx * size * rx - (dy * size * x) / flat;
    this.target[1] += -dx * size * ry - (dy * size * y) / flat;
    this.ask();
  }
}
