// The viewer keeps an empty renderer of its own beside the one that holds the parts.
const scenery = () => window.global.renderWindow.getRenderers()
  .find((each) => each.getActors().length === plan.seen.length);

function start() {
  window3d = window.global.renderWindow;
  renderer = scenery();
  const interactor = window3d.getInteractor();
  if (interactor && interactor.unbindEvents) interactor.unbindEvents();
  byId("wait").hidden = true;
  byId("still").hidden = true;
  listen();
  show();
  look(suited(), true);
  window3d.render();
  label();
  document.body.dataset.ready = "yes";
}

// Without a picture that turns, all is there but that: the cut is drawn flat, beside it the numbers.
function withoutModel() {
  byId("wait").hidden = true;
  byId("viewer").hidden = true; // what it shows without a scene is nothing of ours
  byId("still-words").textContent =
    "This browser cannot turn the picture, so it is drawn cut through the middle. All numbers are here.";
  for (const id of ["views", "cut", "cameras", "hint"]) byId(id).hidden = true;
  show();
  document.body.dataset.ready = "yes";
}

listenToButtons();
told();
let waited = 0;
(function ready() {
  if (!window.turns) return withoutModel();
  const made = window.global && window.global.renderWindow;
  if (made && scenery()) return start();
  waited += 50;
  // On a slow machine it may come all the same.
  if (waited > 30000) byId("wait").textContent = "Still building the picture that turns …";
  return setTimeout(ready, 50);
})();
