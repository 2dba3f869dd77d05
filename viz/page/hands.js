// One finger or the left button turns; two fingers or the right button move and come nearer.
const fingers = new Map();
function free() {
  flight++;
  state.camera = null;
  press("cameras", "");
}
function turn(dx, dy) {
  free();
  eye.around -= dx * 0.008;
  eye.up = Math.min(1.5533, Math.max(Math.min(LOWEST, eye.up), eye.up + dy * 0.004));
  place();
}
function shift(dx, dy) {
  free();
  const { right, above } = axes(eye.around, eye.up);
  const size = (2 * VERTICAL * eye.away) / box.clientHeight;
  eye.target = add(add(eye.target, right, -dx * size), above, dy * size);
  place();
}
function nearer(factor) {
  free();
  eye.away = Math.min(here().reach * 8, Math.max(here().reach * 0.08, eye.away / factor));
  place();
}
function listen() {
  box.addEventListener("pointerdown", (event) => {
    box.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event);
    byId("hint").hidden = true;
  });
  box.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const dx = event.clientX - before.clientX;
    const dy = event.clientY - before.clientY;
    if (fingers.size === 1) {
      if (event.buttons & 2 || event.shiftKey) shift(dx, dy); else turn(dx, dy);
    } else {
      const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
      const gap = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
      shift(dx / 2, dy / 2);
      nearer(Math.max(0.8, Math.min(1.25, gap(event) / Math.max(1, gap(before)))));
    }
    fingers.set(event.pointerId, event);
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
    box.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  box.addEventListener("contextmenu", (event) => event.preventDefault());
  box.addEventListener("wheel", (event) => {
    event.preventDefault();
    nearer(Math.exp(-Math.max(-200, Math.min(200, event.deltaY)) * 0.0015));
  }, { passive: false });
  box.addEventListener("keydown", (event) => {
    const keys = { ArrowLeft: [-30, 0], ArrowRight: [30, 0], ArrowUp: [0, 30], ArrowDown: [0, -30] };
    if (keys[event.key]) turn(...keys[event.key]);
    else if (event.key === "+" || event.key === "=") nearer(1.2);
    else if (event.key === "-") nearer(1 / 1.2);
    else return;
    event.preventDefault();
  });
  byId("cut-at").addEventListener("input", (event) => cutAt(Number(event.target.value)));
  new ResizeObserver(() => {
    if (!box.clientWidth) return;
    tagged = "";
    space.size(box.clientWidth, box.clientHeight);
    if (state.camera === null) place(); else look(state.camera, true);
    // Labels that were made anew are placed at once, not only with the next frame.
    label();
  }).observe(box);
  const hint = () => {
    byId("hint").textContent = COARSE.matches
      ? "Drag to turn · pinch to come nearer · two fingers to move"
      : "Drag to turn · wheel to come nearer · right button to move";
  };
  COARSE.addEventListener("change", hint);
  hint();
}

// Bases and areas are chosen, and tables copied, also where no picture can be turned.
function listenToButtons() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    const data = button.dataset;
    if (data.scene !== undefined) choose(Number(data.scene));
    else if (data.toArea !== undefined) toArea(Number(data.toArea));
    else if (data.copy !== undefined) copy(byId(data.copy));
    else if (button.id === "save") save();
    else if (button.parentNode.id === "views") {
      if (data.name === state.view) return;
      state.view = data.name;
      if (cutting()) state.at = middle(cutting());
      show();
      look(suited());
    }
    else if (button.parentNode.id === "ways") cutWay(data.name);
    else if (button.parentNode.id === "cameras") {
      look(here().cameras.findIndex((each) => each.name === data.name));
    }
  });
}

function choose(scene) { state.scene = scene; show(); }
function toArea(area) {
  state.scene = plan.scenes.findIndex((each) => each.area === area && each.chosen);
  show();
  look(suited(), true);
  // On a small screen the buttons stand far below the picture.
  byId("scene-side").scrollIntoView({ block: "nearest", behavior: STILL ? "auto" : "smooth" });
}

function say(words) { byId("message").textContent = words; }

async function copy(table) {
  const rows = [...table.rows].map((row) =>
    [...row.cells].map((cell) => cell.textContent.trim()).join("\t"));
  const text = rows.join("\n");
  try {
    await navigator.clipboard.writeText(text);
  } catch {
    const field = document.createElement("textarea");
    field.value = text;
    document.body.append(field);
    field.select();
    document.execCommand("copy");
    field.remove();
  }
  say("Copied: paste it into a spreadsheet.");
}
