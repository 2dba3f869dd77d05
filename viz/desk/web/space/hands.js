/** Hands on a picture in space. One finger or the left button turns it; two, or the right, move it. */

const TAP = 6; // pixels a pointer may stray and still have tapped

/**
 * Listen to hands.
 * @param {HTMLElement} element
 * @param {import("./eye.js").Eye} eye
 * @param {{free?: () => void, home: () => void, tap?: (x: number, y: number) => void,
 *   next?: (way: number) => void}} does
 *   what is done once the eye is moved by hand; the view as it began; what a tap does, with its place
 *   in pixels; which layer is told next
 */
export function listen(element, eye, does) {
  const down = new Map();
  let strayed = 0;
  const turn = (x, y) => { does.free?.(); eye.round(x, y); };
  const move = (x, y) => { does.free?.(); eye.aside(x, y, element.clientHeight); };
  const closer = (times) => { does.free?.(); eye.closer(times); };
  element.addEventListener("pointerdown", (event) => {
    element.setPointerCapture(event.pointerId);
    down.set(event.pointerId, [event.clientX, event.clientY]);
    if (down.size === 1) strayed = event.button ? Infinity : 0;
  });
  element.addEventListener("pointermove", (event) => {
    const last = down.get(event.pointerId);
    if (!last) return;
    const now = [event.clientX, event.clientY];
    const [dx, dy] = [now[0] - last[0], now[1] - last[1]];
    strayed += Math.hypot(dx, dy);
    if (down.size === 1) {
      if (event.shiftKey || event.buttons & 2) move(dx, dy);
      else if (strayed > TAP) turn(-dx * 0.008, dy * 0.005);
    } else if (down.size === 2) {
      const [other] = [...down].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
      const [before, after] = [last, now].map((at) => Math.hypot(at[0] - other[0], at[1] - other[1]));
      if (before > 0) closer(Math.max(0.8, Math.min(1.25, after / before)));
      move(dx / 2, dy / 2);
    }
    down.set(event.pointerId, now);
  });
  const up = (event) => {
    const was = down.delete(event.pointerId);
    if (!was || down.size || event.type !== "pointerup" || strayed > TAP) return;
    const { left, top } = element.getBoundingClientRect();
    does.tap?.(event.clientX - left, event.clientY - top);
  };
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) element.addEventListener(end, up);
  element.addEventListener("contextmenu", (event) => event.preventDefault());
  element.addEventListener("wheel", (event) => {
    event.preventDefault();
    closer(Math.exp(-Math.max(-200, Math.min(200, event.deltaY)) * 0.0014));
  }, { passive: false });
  element.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const way = ways[event.key];
    if (way && event.shiftKey) move(-30 * way[0], 30 * way[1]);
    else if (way) turn(0.16 * way[0], 0.11 * way[1]);
    else if (event.key === "+" || event.key === "=") closer(1.2);
    else if (event.key === "-") closer(1 / 1.2);
    else if (event.key === "Home") does.home();
    else if (does.next && (event.key === "Enter" || event.key === " ")) does.next(event.shiftKey ? -1 : 1);
    else return;
    event.preventDefault();
  });
}
