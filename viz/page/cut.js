// The view "slice": an upright plane is moved through the patio, across it or along the house, and
// what is nearer is left out.
const caps = new Set(plan.caps);
// The way of the cut that is shown, or null.
const cutting = () => (state.view === "slice" && here().slices[state.way]) || null;

function cut() {
  const slices = cutting();
  byId("cut").hidden = slices === null;
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
    const planes = [];
    if (slices) {
      const { direction } = slices;
      const station = slices.stations[state.at];
      planes.push({ direction, distance: station + (caps.has(i) ? plan.cap : 0), sign: -1 });
      if (caps.has(i)) planes.push({ direction, distance: station - plan.cap, sign: 1 });
    }
    space.cut(i, planes);
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
