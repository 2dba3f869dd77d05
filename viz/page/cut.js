// The view "slice": an upright plane is moved along the patio, and what is nearer is left out.
const caps = new Set(plan.caps);
let changes = 1e9;

// All that the viewer asks of a plane to cut by.
function plane(direction, distance, sign) {
  const [x, y] = direction;
  const changed = ++changes;
  const normal = [sign * x, sign * y, 0];
  const origin = [x * distance, y * distance, 0];
  return {
    isA: (name) => name === "vtkPlane",
    getNormal: () => [...normal],
    getNormalByReference: () => normal,
    getOrigin: () => [...origin],
    getOriginByReference: () => origin,
    getMTime: () => changed,
  };
}

function cut() {
  const slices = here().slices;
  const on = state.view === "slice" && slices !== null;
  byId("cut").hidden = !on;
  const actors = renderer.getActors();
  if (on) {
    state.at = Math.min(state.at, slices.stations.length - 1);
    byId("cut-at").max = slices.stations.length - 1;
    byId("cut-at").value = state.at;
    byId("cut-words").textContent = "Cut " + slices.words[state.at];
    byId("cut-at").setAttribute("aria-valuetext", byId("cut-words").textContent);
  }
  plan.seen.forEach((where, i) => {
    if (!where.includes(state.scene + ":slice")) return;
    const mapper = actors[i].getMapper();
    mapper.removeAllClippingPlanes();
    if (!on) return;
    const station = slices.stations[state.at];
    mapper.addClippingPlane(plane(slices.direction, station + (caps.has(i) ? plan.cap : 0), -1));
    if (caps.has(i)) mapper.addClippingPlane(plane(slices.direction, station - plan.cap, 1));
  });
}

function cutAt(station) {
  state.at = station;
  cut();
  place();
}

// What is written about a part that was cut away is cut away with it.
function left(each) {
  if (state.view !== "slice" || !here().slices) return each.views.includes(state.view);
  const { direction, stations } = here().slices;
  if (each.views.includes("slice:" + state.at)) return true;
  return each.views.includes("slice") &&
    each.at[0] * direction[0] + each.at[1] * direction[1] <= stations[state.at] + 0.01;
}

// Points moved into what is left of the scene, for the eye to be placed by.
function kept(points) {
  if (state.view !== "slice" || !here().slices) return points;
  const { direction, stations } = here().slices;
  return points.map((point) => {
    const over = point[0] * direction[0] + point[1] * direction[1] - stations[state.at];
    return over > 0 ? add(point, [...direction, 0], -over) : point;
  });
}
