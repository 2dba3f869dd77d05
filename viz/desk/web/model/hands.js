/** Hands on the model: mouse, fingers, keys. One finger turns it, two come nearer and move it. */

const TAP = 6; // pixels a pointer may stray and still have tapped

/**
 * Listen to hands on a canvas.
 * @param {HTMLCanvasElement} canvas
 * @param {import("./eye.js").Eye} eye
 * @param {{tap: (x: number, y: number) => void, next: (way: number) => void, home: () => void}} does
 *   what a tap does, with its place in pixels; which layer is told next; the view as it began
 */
export function listen(canvas, eye, does) {
  const down = new Map();
  let strayed = 0;
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, [event.clientX, event.clientY]);
    if (down.size === 1) strayed = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const last = down.get(event.pointerId);
    if (!last) return;
    const now = [event.clientX, event.clientY];
    const [dx, dy] = [now[0] - last[0], now[1] - last[1]];
    strayed += Math.hypot(dx, dy);
    if (down.size === 1) {
      if (event.shiftKey) eye.aside(dx, dy, canvas.clientHeight);
      else if (strayed > TAP) eye.round(-dx * 0.008, dy * 0.006);
    } else if (down.size === 2) {
      const [other] = [...down].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
      const [before, after] = [last, now].map((at) => Math.hypot(at[0] - other[0], at[1] - other[1]));
      if (before > 0) eye.closer(after / before);
      eye.aside(dx / 2, dy / 2, canvas.clientHeight);
    }
    down.set(event.pointerId, now);
  });
  const up = (event) => {
    const was = down.delete(event.pointerId);
    if (!was || down.size || event.type !== "pointerup" || strayed > TAP) return;
    const { left, top } = canvas.getBoundingClientRect();
    does.tap(event.clientX - left, event.clientY - top);
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    eye.closer(Math.exp(-event.deltaY * 0.0012));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const way = ways[event.key];
    if (way && event.shiftKey) eye.aside(-30 * way[0], 30 * way[1], canvas.clientHeight);
    else if (way) eye.round(0.14 * way[0], 0.1 * way[1]);
    else if (event.key === "+" || event.key === "=") eye.closer(1.2);
    else if (event.key === "-") eye.closer(1 / 1.2);
    else if (event.key === "Home") does.home();
    else if (event.key === "Enter" || event.key === " ") does.next(event.shiftKey ? -1 : 1);
    else return;
    event.preventDefault();
  });
}
