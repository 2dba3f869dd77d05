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
  const wanted = state.scene + ":" + state.view + ":" + state.at;
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
      tag.textContent = each.text;
    }
    byId("labels").append(tag);
    return { each, tag, width: tag.offsetWidth, height: tag.offsetHeight };
  });
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
  return steps.map(([x, y], i) => ({ name: "xy"[i], x: (x * 34) / longest, y: (y * 34) / longest }));
}

function axesDrawn(r) {
  const x0 = box.clientWidth - 62;
  const y0 = 56;
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

const SIDES = [[0, -1], [1, -1], [-1, -1], [1, 0], [-1, 0], [0, 1], [1, 1], [-1, 1]];
function label() {
  makeTags();
  const wide = box.clientWidth;
  const high = box.clientHeight;
  const taken = [[wide - 112, 4, wide, 106]];
  const free = (b) => b[0] >= 4 && b[1] >= 4 && b[2] <= wide - 4 && b[3] <= high - 30 &&
    !taken.some((o) => b[0] < o[2] + 3 && o[0] < b[2] + 3 && b[1] < o[3] + 3 && o[1] < b[3] + 3);
  const lines = [];
  const shown = [];
  for (const item of tags) item.at = onScreen(item.each.at);
  for (const painted of here().painted[state.view] || []) {
    const seen = painted.map(onScreen);
    const part = (i) => seen.map((point) => point[i]);
    taken.push([Math.min(...part(0)), Math.min(...part(1)), Math.max(...part(0)), Math.max(...part(1))]);
  }
  for (const item of tags) if (item.each.number) {
    const half = wide < 640 ? 13 : 5;
    taken.push([item.at[0] - half, item.at[1] - half, item.at[0] + half, item.at[1] + half]);
  }
  const inColumn = column(taken, lines, shown);
  for (const item of tags) {
    if (inColumn && item.each.number) continue;
    const [x, y, depth] = item.at;
    const { width, height, tag } = item;
    let spot = null;
    if (width && depth > 0 && x > 0 && x < wide && y > 0 && y < high) {
      if (item.each.number) {
        // On a small screen the number alone stands on its layer.
        spot = [x - width / 2, y - height / 2, x + width / 2, y + height / 2];
        tag.style.visibility = "visible";
        tag.style.transform = `translate(${Math.round(spot[0])}px, ${Math.round(spot[1])}px)`;
        shown.push({ item, spot });
        continue;
      }
      for (const gap of [14, 34, 64]) {
        for (const [dx, dy] of SIDES) {
          const left = x - width / 2 + dx * (width / 2 + gap);
          const top = y - height / 2 + dy * (height / 2 + gap * (dx ? 0.7 : 1));
          const b = [left, top, left + width, top + height];
          if (free(b)) { spot = b; break; }
        }
        if (spot) break;
      }
    }
    tag.style.visibility = spot ? "visible" : "hidden";
    if (!spot) continue;
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
