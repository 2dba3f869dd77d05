// Labels stand beside their points, the right way up, none over another.
function onScreen(point) {
  const { back, right, above } = axes(eye.around, eye.up);
  const offset = add(point, add(eye.target, back, eye.away), -1);
  const depth = -dot(offset, back);
  const scale = box.clientHeight / 2 / VERTICAL / depth;
  return [box.clientWidth / 2 + dot(offset, right) * scale,
          box.clientHeight / 2 - dot(offset, above) * scale, depth];
}

let tags = [];
let tagged = "";
function makeTags() {
  const wanted = [state.scene, state.view, state.way, state.at, small()].join(":");
  if (tagged === wanted) return;
  tagged = wanted;
  byId("labels").textContent = "";
  tags = here().labels.filter(left).map((each) => {
    const tag = document.createElement("div");
    tag.className = "label " + each.kind;
    if (each.number) {
      const badge = document.createElement("span");
      badge.className = "badge";
      badge.textContent = each.number;
      const name = document.createElement("span");
      name.className = "name";
      name.textContent = each.text;
      tag.append(badge, name);
    } else {
      tag.textContent = small() ? each.brief || each.text : each.text;
    }
    byId("labels").append(tag);
    return { each, tag, width: tag.offsetWidth, height: tag.offsetHeight };
  });
}

// On a small screen a number stands on its layer where it is clear of the others: at one of the
// places that its label may stand at, or pushed a little aside.
const CLEAR = 29;
function apart(numbered, painted) {
  const over = ([x, y]) => painted.some((b) => x > b[0] && x < b[2] && y > b[1] && y < b[3]);
  const gap = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const nearest = (item, spot) => Math.min(CLEAR, ...numbered
    .filter((other) => other !== item).map((other) => gap(other.stand, spot)));
  for (const item of numbered) {
    item.places = [item.at, ...(item.each.spread || []).map(onScreen).filter((at) => !over(at))];
    item.pick = Math.min(item.pick || 0, item.places.length - 1);
    item.stand = item.places[item.pick];
  }
  for (let sweep = 0; sweep < 4; sweep++) {
    for (const item of numbered) {
      // A number that is clear stays where it is while the scene turns.
      let best = nearest(item, item.stand);
      if (best >= CLEAR) continue;
      item.places.forEach((spot, i) => {
        const clear = nearest(item, spot);
        if (clear > best + 1) { best = clear; item.pick = i; item.stand = spot; }
      });
    }
  }
  for (const item of numbered) {
    item.at = item.stand;
    item.stand = [...item.at];
  }
  const edge = 16;
  for (let round = 0; round < 40; round++) {
    numbered.forEach((one, i) => {
      for (const other of numbered.slice(i + 1)) {
        const far = gap(one.stand, other.stand);
        if (far >= CLEAR) continue;
        const [x, y] = far > 0.5
          ? [(other.stand[0] - one.stand[0]) / far, (other.stand[1] - one.stand[1]) / far] : [0, 1];
        const push = (CLEAR - far) / 2;
        one.stand = [one.stand[0] - x * push, one.stand[1] - y * push];
        other.stand = [other.stand[0] + x * push, other.stand[1] + y * push];
      }
      one.stand = [Math.min(box.clientWidth - edge, Math.max(edge, one.stand[0])),
                   Math.min(box.clientHeight - edge, Math.max(edge, one.stand[1]))];
    });
  }
}

// Where there is room, the layers stand in a column at the right.
function column(taken, lines, shown) {
  const layers = tags.filter((item) => item.each.number && item.at[2] > 0);
  const widest = Math.max(0, ...layers.map((item) => item.width));
  if (!layers.length || box.clientWidth < 640) return false;
  const step = Math.max(...layers.map((item) => item.height)) + 16;
  const middle = layers.reduce((sum, item) => sum + item.at[1], 0) / layers.length;
  let top = middle - (step * layers.length) * 0.6;
  top = Math.max(10, Math.min(box.clientHeight - 40 - step * layers.length, top));
  // On a cut the layers lie all but in one line, so they keep their order from the top down.
  const order = (item) => (state.view === "slice" ? item.each.number : item.at[1]);
  layers.sort((a, b) => order(a) - order(b));
  const left = box.clientWidth - widest - 10;
  layers.forEach((item, i) => {
    const spot = [left, top + i * step, left + item.width, top + i * step + item.height];
    const [x, y] = item.at;
    const endY = (spot[1] + spot[3]) / 2;
    const bend = left - 16;
    taken.push(spot);
    for (let t = 0; t <= 1; t += 0.04) {
      const px = x + t * (bend - x);
      const py = y + t * (endY - y);
      taken.push([px - 3, py - 3, px + 3, py + 3]);
    }
    lines.push([x, y, bend, endY], [bend, endY, left, endY, true]);
    shown.push({ item, spot });
    item.tag.style.visibility = "visible";
    item.tag.style.transform = `translate(${Math.round(spot[0])}px, ${Math.round(spot[1])}px)`;
  });
  return true;
}

// How the plan's x and y run in this picture.
function planAxes() {
  const { right, above } = axes(eye.around, eye.up);
  const steps = [[right[0], -above[0]], [right[1], -above[1]]];
  const longest = Math.max(...steps.map(([x, y]) => Math.hypot(x, y)));
  const long = small() ? 24 : 34;
  return steps.map(([x, y], i) =>
    ({ name: "xy"[i], x: (x * long) / longest, y: (y * long) / longest }));
}

// Where the two arrows start, and how much of the corner is kept for them.
const axesRoom = () => (small() ? { x: box.clientWidth - 44, y: 42, wide: 84, high: 80 }
  : { x: box.clientWidth - 62, y: 56, wide: 112, high: 106 });

function axesDrawn(r) {
  const { x: x0, y: y0 } = axesRoom();
  return planAxes().map(({ name, x, y }) => {
    const long = Math.max(1, Math.hypot(x, y));
    const [ux, uy] = [x / long, y / long];
    const [bx, by] = [x0 + x - ux * 9, y0 + y - uy * 9];
    const shaft = `M${r(x0)} ${r(y0)}L${r(x0 + x)} ${r(y0 + y)}`;
    return `<path d="${shaft}" stroke="#fffdf8" stroke-width="6"/>` +
      `<path d="${shaft}" stroke="#1f2b2a" stroke-width="2"/>` +
      `<path d="M${r(x0 + x)} ${r(y0 + y)}L${r(bx - uy * 4)} ${r(by + ux * 4)}L${r(bx + uy * 4)} ${r(by - ux * 4)}Z" fill="#1f2b2a"/>` +
      `<text x="${r(x0 + x + ux * 10)}" y="${r(y0 + y + uy * 10)}" font-size="14" text-anchor="middle" dominant-baseline="central" fill="#1f2b2a" stroke="#fffdf8" stroke-width="4" paint-order="stroke">${name}</text>`;
  }).join("");
}

// The first place beside a point, from near to far, where its label is clear.
function beside({ at: [x, y], width, height }, gaps, clear) {
  for (const gap of gaps) {
    for (const [dx, dy] of SIDES) {
      const left = x - width / 2 + dx * (width / 2 + gap);
      const top = y - height / 2 + dy * (height / 2 + gap * (dx ? 0.7 : 1));
      const b = [left, top, left + width, top + height];
      if (clear(b)) return b;
    }
  }
  return null;
}

const SPOTS = 9;
const SIDES = [[0, -1], [1, -1], [-1, -1], [1, 0], [-1, 0], [0, 1], [1, 1], [-1, 1]];
function label() {
  makeTags();
  const wide = box.clientWidth;
  const high = box.clientHeight;
  const corner = axesRoom();
  const taken = [[wide - corner.wide, 4, wide, corner.high]];
  const painted = [];
  const clear = (b, others) => b[0] >= 4 && b[1] >= 4 && b[2] <= wide - 4 && b[3] <= high - 30 &&
    !others.some((o) => b[0] < o[2] + 3 && o[0] < b[2] + 3 && b[1] < o[3] + 3 && o[1] < b[3] + 3);
  const lines = [];
  const shown = [];
  for (const item of tags) item.at = onScreen(where(item.each));
  for (const each of here().painted[state.view] || []) {
    const seen = each.map(onScreen);
    const part = (i) => seen.map((point) => point[i]);
    painted.push([Math.min(...part(0)), Math.min(...part(1)), Math.max(...part(0)), Math.max(...part(1))]);
  }
  const numbered = tags.filter((item) => item.each.number && item.at[2] > 0);
  if (wide < 640) apart(numbered, painted);
  for (const item of numbered) {
    const half = wide < 640 ? 13 : 5;
    const [x, y] = wide < 640 ? item.stand : item.at;
    taken.push([x - half, y - half, x + half, y + half]);
  }
  const inColumn = column(taken, lines, shown);
  let levels = 0;
  for (const item of tags) {
    if (inColumn && item.each.number) continue;
    const [x, y, depth] = item.at;
    const { width, height, tag } = item;
    let spot = null;
    if (width && depth > 0 && x > 0 && x < wide && y > 0 && y < high) {
      if (item.each.number) {
        // On a small screen the number alone stands on its layer.
        const [standX, standY] = item.stand;
        spot = [standX - width / 2, standY - height / 2, standX + width / 2, standY + height / 2];
        if (Math.hypot(standX - x, standY - y) > 8) lines.push([x, y, standX, standY]);
        tag.style.visibility = "visible";
        tag.style.transform = `translate(${Math.round(spot[0])}px, ${Math.round(spot[1])}px)`;
        shown.push({ item, spot });
        continue;
      }
      // Of the levels of the ground a few are told, the farthest apart first; all are in the plan.
      if (item.each.kind === "spot" && levels >= SPOTS) { tag.style.visibility = "hidden"; continue; }
      // A door is named wherever there is room, over what is painted if nowhere else.
      const door = item.each.kind === "house";
      for (const others of door ? [[...taken, ...painted], taken] : [[...taken, ...painted]]) {
        spot = spot || beside(item, door ? [14, 34, 64, 100, 140] : [14, 34, 64],
          (b) => clear(b, others));
      }
    }
    tag.style.visibility = spot ? "visible" : "hidden";
    if (!spot) continue;
    if (item.each.kind === "spot") levels++;
    taken.push(spot);
    tag.style.transform = `translate(${Math.round(spot[0])}px, ${Math.round(spot[1])}px)`;
    const endX = Math.min(Math.max(x, spot[0]), spot[2]);
    const endY = Math.min(Math.max(y, spot[1]), spot[3]);
    lines.push([x, y, endX, endY]);
    shown.push({ item, spot });
  }
  const r = (v) => v.toFixed(1);
  byId("leaders").innerHTML = axesDrawn(r) + lines.map(([a, b, c, d, bare]) =>
    `<path d="M${r(a)} ${r(b)}L${r(c)} ${r(d)}" stroke="#fffdf8" stroke-width="4"/>` +
    `<path d="M${r(a)} ${r(b)}L${r(c)} ${r(d)}" stroke="#2c3a39" stroke-width="1.5"/>` +
    (bare ? "" : `<circle cx="${r(a)}" cy="${r(b)}" r="4.5" fill="#1f2b2a" stroke="#fffdf8" stroke-width="1.5"/>`)).join("");
  label.lines = lines;
  label.shown = shown;
}
