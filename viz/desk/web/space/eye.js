/** The eye: where it stands, what it frames, and how it moves there. All in drawn space. */

const LOWEST = 0.06; // it stays above the ground [rad]
const HIGHEST = 1.5533; // straight down the way up would be lost [rad]

/** Whether no motion is wanted. */
export const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
/** A place moved so far along a way. */
export const moved = (place, way, far) => place.map((each, d) => each + far * way[d]);

/** The turn about the upright and the height of a way to the eye. [rad] */
export const turned = ([x, y, z]) => ({ turn: Math.atan2(y, x), up: Math.asin(Math.max(-1, Math.min(1, z))) });

/** The unit vectors to the eye, to its right and over its head. */
function axes({ turn, up }) {
  const [c, s, flat, high] = [Math.cos(turn), Math.sin(turn), Math.cos(up), Math.sin(up)];
  return { way: [flat * c, flat * s, high], right: [-s, c, 0], over: [-high * c, -high * s, flat] };
}

export class Eye {
  /** @param {() => void} ask asks for one picture */
  constructor(ask) {
    this.ask = ask;
    this.angle = 24; // of view, from the bottom of the room to its top [degrees]
    this.turn = 0; // about the upright, from the first axis of the plan [rad]
    this.up = 0.58; // above the level [rad]
    this.far = this.framed = 10;
    this.target = [0, 0, 0];
    this.room = { left: 12, right: 12, top: 12, low: 12 }; // kept clear around what is framed [pixels]
  }

  /** The unit vectors to the eye, to its right and over its head. */
  get axes() {
    return axes(this);
  }

  /** The place of the eye, or of one that stands otherwise. */
  place(stand = this) {
    return moved(stand.target, axes(stand).way, stand.far);
  }

  /** What is left of a picture, wide and high. [pixels] */
  clear(wide, high) {
    const { left, right, top, low } = this.room;
    return [Math.max(wide - left - right, 40), Math.max(high - top - low, 40)];
  }

  /** Where to stand so that points fill the room, looked at from a turn and a height. */
  fitting(points, { turn, up }, wide, high) {
    const { way, right, over } = axes({ turn, up });
    const [w, h] = this.clear(wide, high);
    const upright = Math.tan((this.angle * Math.PI) / 360);
    const reach = [(upright * w) / h, upright];
    const seen = points.map((point) => [dot(point, right), dot(point, over), dot(point, way)]);
    const ends = (values) => [Math.min(...values), Math.max(...values)];
    const middle = [0, 1, 2].map((d) => ends(seen.map((each) => each[d])).reduce((a, b) => (a + b) / 2));
    let far = 1;
    // Moving the target changes what is far and near, so a few rounds settle both.
    for (let round = 0; round < 20; round++) {
      far = Math.max(...seen.map((each) => each[2] - middle[2]
        + Math.max(...[0, 1].map((d) => Math.abs(each[d] - middle[d]) / reach[d]))));
      for (const d of [0, 1]) {
        const [low, top] = ends(seen.map((each) => (each[d] - middle[d]) / (far - each[2] + middle[2])));
        middle[d] += ((low + top) / 2) * far;
      }
    }
    const target = [0, 1, 2].map((d) => middle[0] * right[d] + middle[1] * over[d] + middle[2] * way[d]);
    return { turn, up, far: far * 1.04, target };
  }

  /** Go to where something is framed: at once, or within a third of a second. */
  go(to, { atOnce = false, along = () => {} } = {}) {
    cancelAnimationFrame(this.going);
    this.arrive = null;
    this.framed = to.far;
    const { turn, up, far, target } = this;
    const about = ((((to.turn - turn) % 6.2832) + 9.4248) % 6.2832) - 3.1416;
    const set = (t) => {
      const ease = t * t * (3 - 2 * t);
      this.turn = turn + about * ease;
      this.up = up + (to.up - up) * ease;
      this.far = far * (to.far / far) ** ease;
      this.target = target.map((each, d) => each + (to.target[d] - each) * ease);
      along(ease);
      this.ask();
    };
    if (atOnce || still()) {
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
    this.up = Math.min(HIGHEST, Math.max(Math.min(LOWEST, this.up), this.up + up));
    this.ask();
  }

  closer(times) {
    this.stop();
    this.far = Math.min(this.framed * 4, Math.max(this.framed * 0.03, this.far / times));
    this.ask();
  }

  /** Move what is looked at by so many pixels of a picture so high. */
  aside(dx, dy, high) {
    this.stop();
    const { right, over } = this.axes;
    const size = (2 * Math.tan((this.angle * Math.PI) / 360) * this.far) / this.clear(0, high)[1];
    this.target = moved(moved(this.target, right, -dx * size), over, dy * size);
    this.ask();
  }
}
