// The viewer keeps an empty renderer of its own beside the one that holds the parts.
const scenery = () => window.global.renderWindow.getRenderers()
  .find((each) => each.getActors().length === plan.seen.length);

function start() {
  window3d = window.global.renderWindow;
  renderer = scenery();
  const interactor = window3d.getInteractor();
  if (interactor && interactor.unbindEvents) interactor.unbindEvents();
  byId("wait").hidden = true;
  listen();
  show();
  look(suited(), true);
  window3d.render();
  label();
  document.body.dataset.ready = "yes";
}

let waited = 0;
(function ready() {
  const made = window.global && window.global.renderWindow;
  if (made && scenery()) return start();
  waited += 50;
  if (waited > 30000) {
    // On a slow machine it may come all the same.
    byId("wait").textContent = "The picture cannot be shown in this browser. All numbers are here beside it.";
  }
  return setTimeout(ready, 50);
})();
