// The view "slice": an upright plane is moved through the patio, across it or along the house, and
// what is nearer is left out.
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

// The way of the cut that is shown, or null.
const cutting = () => (state.view === "slice" && here().slices[state.way]) || null;

function cut() {
  const slices = cutting();
  byId("cut").hidden = slices === null;
  const actors = renderer.getActors();
  if (slices) {
    state.at = Math.min(state.at, slices.stations.length - 1);
    byId("cut-at").max = slices.stations.length - 1;
    byId("cut-at").value = state.at;
    byId("cut-words").textContent = "Cut " + slices.words[state.at];
    byId("cut-at").setAttribute("aria-valuetext", byId("cut-words").textContent);
    press("ways", slices.name);
  }
  const names = here().slices.map((each) => state.scene + ":" + each.name);
  plan.seen.forEach((where, i) => {
    if (!names.some((name) => where.includes(name))) return;
    const mapper = actors[i].getMapper();
    mapper.removeAllClippingPlanes();
    if (!slices) return;
    const station = slices.stations[state.at];
    mapper.addClippingPlane(plane(slices.direction, station + (caps.has(i) ? plan.cap : 0), -1));
    if (caps.has(i)) mapper.addClippingPlane(plane(slices.direction, station - plan.cap, 1));
  });
}

// Every station is framed, unless the eye was placed by hand.
function cutAt(station) {
  state.at = station;
  cut();
  if (state.camera === null) place(); else look(state.camera, true);
}

const middle = (slices) => Math.round(slices.stations.length * 0.6);

function cutWay(name) {
  state.way = here().slices.findIndex((each) => each.name === name);
  state.at = middle(cutting());
  show();
  look(suited());
}

// What is written about a part that was cut away is cut away with it.
function left(each) {
  const slices = cutting();
  if (!slices) return each.views.includes(state.view);
  const { direction, stations, name } = slices;
  if (each.views.includes(name + ":" + state.at)) return true;
  return each.views.includes("slice") &&
    each.at[0] * direction[0] + each.at[1] * direction[1] <= stations[state.at] + 0.01;
}

// Points moved into what is left of the scene, for the eye to be placed by.
function kept(points) {
  const slices = cutting();
  if (!slices) return points;
  const { direction, stations } = slices;
  return points.map((point) => {
    const over = point[0] * direction[0] + point[1] * direction[1] - stations[state.at];
    return over > 0 ? add(point, [...direction, 0], -over) : point;
  });
}
