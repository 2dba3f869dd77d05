// The scene is packed: it is unpacked by the browser itself, put in space, and shown.
async function unpacked() {
  const letters = atob(byId("packed").textContent.trim());
  const bytes = Uint8Array.from(letters, (letter) => letter.charCodeAt(0));
  const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return JSON.parse(await new Response(plain).text());
}

async function start() {
  // Asked of a canvas of its own: without WebGL nothing that draws is called at all.
  if (!document.createElement("canvas").getContext("webgl2")) throw new Error("no WebGL");
  const made = window.inSpace(byId("viewer"), await unpacked(), window.three);
  made.size(box.clientWidth, box.clientHeight);
  window.space = space = made; // whoever looks into the page may ask what it draws
  byId("wait").hidden = true;
  byId("still").hidden = true;
  listen();
  show();
  look(suited(), true);
  space.draw();
  label();
  document.body.dataset.ready = "yes";
}

// Without a picture that turns, all is there but that: the cut is drawn flat, beside it the numbers.
function withoutModel() {
  space = null;
  byId("wait").hidden = true;
  byId("viewer").hidden = true;
  byId("still").hidden = false;
  byId("still-words").textContent =
    "This browser cannot turn the picture, so it is drawn cut through the middle. All numbers are here.";
  for (const id of ["views", "cut", "cameras", "hint"]) byId(id).hidden = true;
  show();
  document.body.dataset.ready = "yes";
}

listenToButtons();
told();
start().catch(withoutModel);
